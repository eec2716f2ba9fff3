// The page of visits: chairs side by side, one tap a stage, when each will be
// ready, who waits for whom, how long to book.
import { api, got } from "./api";
import { el } from "./dom";
import { said, material, t } from "./text";
import { bookForm, type Choices, learned, type Start, startForm, usual } from "./visitforms";
import { line, rangeOf } from "./visitline";
import { backName, clock, type Forecast, type Outlook, percent, type Plan, resourceName, span, stageName } from "./visitword";

/** How often the plan is asked for again, and how long after a tap another one is a bounce of the pedal, milliseconds. */
const again = 20_000;
const bounce = 1000;

export class VisitsPage {
  readonly root = el("main", { id: "content", class: "practice visits", tabindex: "-1" });
  private chairs = el("div", { class: "visit-chairs" });
  private beside = el("div", { class: "visit-beside" });
  private told = el("p", { class: "visit-told", role: "alert", hidden: true });
  private forms = new Map<number, HTMLElement>();
  private now: Forecast = { at: "", draws: 0, visits: [], windows: [], conflicts: [], over: [] };
  private plan: Plan = { resources: [], stages: [], backs: [] };
  private choices: Choices = { cases: [], materials: [] };
  private marked = 1; // the chair that the pedal is for
  private opened = 0; // the visit whose ways back are shown
  private tapped = 0;
  private busy = false;
  private timers: number[] = [];
  private sized = new ResizeObserver(() => this.drawLines());

  async load(): Promise<void> {
    const [plan, { materials }, { cases }] = await Promise.all([got(api.GET("/api/visits/plan")), got(api.GET("/api/limits")), got(api.GET("/api/cases"))]);
    this.plan = plan;
    this.choices = { cases, materials };
    const below = el("div", { class: "visit-below" });
    this.root.replaceChildren(el("h1", {}, t("visits")), this.told, this.chairs, el("p", { class: "quiet visit-keys" }, t("visitsKeys")), this.beside, below);
    this.show(await got(api.GET("/api/visits/now")));
    const lessons = await got(api.GET("/api/visits/learned"));
    below.append(bookForm(plan, this.choices, usual(lessons), (e) => this.fail(e)), learned(lessons, plan));
    this.sized.observe(this.chairs);
    this.timers.push(window.setInterval(() => this.tick(), 1000), window.setInterval(() => void this.refresh(), again));
    this.root.dataset.ready = "visits";
  }

  private async refresh(): Promise<void> {
    if (this.busy || document.hidden) return;
    const f = await got(api.GET("/api/visits/now")).catch(() => null);
    if (f && !this.busy) this.show(f);
  }

  private fail(e: Error | null): void {
    this.told.hidden = !e;
    this.told.replaceChildren(e ? said("span", e.message) : "");
  }

  /** show draws a forecast. What is being typed on a free chair stays. */
  private show(f: Forecast): void {
    this.now = f;
    const n = Math.max(this.plan.resources.find((r) => r.name === "chair")?.count ?? 1, ...f.visits.map((v) => v.chair));
    if (!f.visits.some((v) => v.chair === this.marked) && f.visits.length) this.marked = f.visits[0].chair;
    const cards: HTMLElement[] = [];
    for (let chair = 1; chair <= n; chair++) {
      const here = f.visits.filter((v) => v.chair === chair);
      if (here.length) this.forms.delete(chair);
      cards.push(...(here.length ? here.map((v) => this.card(v)) : [this.free(chair)]));
    }
    this.chairs.style.setProperty("--chairs", String(cards.length));
    if (!cards.every((c, i) => this.chairs.children[i] === c) || this.chairs.children.length !== cards.length) this.chairs.replaceChildren(...cards);
    this.drawBeside();
    this.drawLines();
    this.tick();
  }

  private free(chair: number): HTMLElement {
    let card = this.forms.get(chair);
    if (!card) {
      card = el("section", { class: "panel visit-card free", "aria-label": t("visitsChair", { n: chair }) }, el("h2", {}, t("visitsChair", { n: chair })), el("p", { class: "quiet" }, t("visitsFree")), startForm(chair, this.choices, (s) => void this.start(s)));
      this.forms.set(chair, card);
    }
    return card;
  }

  private card(v: Outlook): HTMLElement {
    const title = (name: string) => stageName(name, this.plan.stages.find((s) => s.name === name)?.title ?? name);
    const about = [v.material && material(v.material), v.dentist && t("visitsDentistOf", { code: v.dentist })].filter(Boolean).join(" · ");
    const small = (text: string, name: string, act: () => void) => el("button", { type: "button", class: `small ${name}`, onclick: act }, text);
    const marked = v.chair === this.marked;
    return el(
      "section",
      { class: marked ? "panel visit-card marked" : "panel visit-card", "data-visit": v.visit, "aria-label": t("visitsChair", { n: v.chair }) },
      el("div", { class: "visit-head" }, el("h2", {}, t("visitsChair", { n: v.chair })), el("span", { class: "quiet" }, about), v.case ? el("a", { href: `#/case/${v.case}` }, `${t("visitsCase")} ${v.case}`) : "", el("button", { type: "button", class: "small visit-mark-on", "aria-pressed": String(marked), onclick: () => this.mark(v.chair) }, t("visitsPedal"))),
      el("p", { class: "visit-stage" }, el("strong", {}, v.stage ? title(v.stage) : t("visitsWaiting")), " ", el("span", { class: "visit-for" })),
      v.ready ? el("p", { class: "visit-ready" }, t("visitsReady", { time: clock(v.ready.p90) }), " ", el("span", { class: "quiet" }, t("visitsMiddle", { time: clock(v.ready.p50) }))) : el("p", { class: "visit-ready" }, `${t("visitsStale")}: `, said("span", v.stale)),
      el("button", { type: "button", class: "primary visit-next", onclick: () => void this.tap(v) }, v.next ? t("visitsNext", { stage: title(v.next) }) : t("visitsEndNext")),
      el("div", { class: "visit-more" }, v.stage ? small(t("visitsWait"), "visit-wait", () => void this.tap(v, { kind: "wait" })) : "", small(t("visitsUndo"), "visit-undo", () => void this.undo(v)), el("button", { type: "button", class: "small visit-back-on", "aria-expanded": String(this.opened === v.visit), onclick: () => this.open(v) }, t("visitsBack"))),
      this.opened === v.visit ? this.ways(v) : "",
      el("div", { class: "visit-slot", dir: "ltr" }),
    );
  }

  /** ways are the kinds of going back, each with what it costs, and the ways out. */
  private ways(v: Outlook): HTMLElement {
    const leave = el("button", { type: "button", class: "small visit-leave" }, t("visitsLeave"));
    leave.addEventListener("click", () => {
      if (leave.dataset.sure) return void this.tap(v, { kind: "leave" });
      leave.dataset.sure = "yes";
      leave.replaceChildren(t("visitsLeaveSure"));
    });
    return el(
      "div",
      { class: "visit-ways", role: "group", "aria-label": t("visitsBackHead") },
      ...v.backs.map((b) => el("button", { type: "button", class: "visit-way", "data-back": b.back, onclick: () => void this.tap(v, { kind: "back", back: b.back }) }, t("visitsBackLater", { back: backName(b.back, b.title), middle: span(b.later.p50), ninety: span(b.later.p90) }))),
      el("div", { class: "visit-more" }, v.next ? el("button", { type: "button", class: "small visit-end", onclick: () => void this.tap(v, { kind: "end" }) }, t("visitsEnd")) : "", leave),
    );
  }

  private open(v: Outlook): void {
    this.opened = this.opened === v.visit ? 0 : v.visit;
    this.show(this.now);
    this.root.querySelector<HTMLElement>(`[data-visit="${v.visit}"] .visit-back-on`)?.focus();
  }

  private mark(chair: number): void {
    this.marked = chair;
    this.show(this.now);
    this.root.querySelector<HTMLElement>(".marked .visit-next")?.focus(); // where the pedal's Space does what is meant
  }

  /** keep sends a tap and draws what the server answers. */
  private async keep(send: () => Promise<Forecast>): Promise<void> {
    if (this.busy) return;
    this.busy = true;
    try {
      const f = await send();
      this.fail(null);
      this.opened = 0;
      this.show(f);
    } catch (e) {
      this.fail(e as Error);
      const f = await got(api.GET("/api/visits/now")).catch(() => null);
      if (f) this.show(f);
    } finally {
      this.busy = false;
    }
  }

  private start(s: Start): Promise<void> {
    return this.keep(async () => {
      const f = await got(api.POST("/api/visits", { body: s }));
      this.marked = s.chair;
      return f;
    });
  }

  private async tap(v: Outlook, what: { kind?: "wait" | "back" | "end" | "leave"; back?: string } = {}): Promise<void> {
    if (Date.now() - this.tapped < bounce) return;
    this.tapped = Date.now();
    this.marked = v.chair;
    await this.keep(() => got(api.POST("/api/visits/{visit}/taps", { params: { path: { visit: v.visit } }, body: { last: v.last, ...what } })));
  }

  private undo(v: Outlook): Promise<void> {
    return this.keep(() => got(api.POST("/api/visits/{visit}/undo", { params: { path: { visit: v.visit } }, body: { last: v.last } })));
  }

  /** tick writes how long each stage has been running. */
  private tick(): void {
    for (const v of this.now.visits) {
      const at = this.root.querySelector(`[data-visit="${v.visit}"] .visit-for`);
      const text = v.since ? t("visitsRunning", { time: span((Date.now() - Date.parse(v.since)) / 60_000 - 0.5) }) : "";
      if (at && at.textContent !== text) at.replaceChildren(text);
    }
  }

  private drawLines(): void {
    const at = Date.parse(this.now.at);
    const range = rangeOf(this.now.visits, at);
    for (const v of this.now.visits) {
      const slot = this.root.querySelector<HTMLElement>(`[data-visit="${v.visit}"] .visit-slot`);
      if (slot && slot.clientWidth > 100) slot.replaceChildren(line(v, range, slot.clientWidth, at, parseFloat(getComputedStyle(slot).fontSize)), el("p", { class: "quiet visit-line-key" }, t("visitsLineKey")));
    }
  }

  /** drawBeside says in words what the visits have to do with one another. */
  private drawBeside(): void {
    const f = this.now;
    if (!f.visits.length) return this.beside.replaceChildren();
    const name = (stage: string, title: string) => stageName(stage, title);
    const figures = (c: Forecast["conflicts"][number]) => ({ chance: percent(c.chance), mean: span(c.mean), ninety: span(c.ninety) });
    const waits = [
      ...f.over.map((o) => t("visitsOver", { held: o.held, count: o.count, resource: resourceName(o.resource) })),
      ...f.conflicts.slice(0, 6).map((c) => (c.chair === c.held_in ? t("visitsConflictSame", { chair: c.chair, visit: c.holder, ...figures(c) }) : t("visitsConflict", { chair: c.chair, holder: c.held_in, stage: name(c.stage, c.title), resource: resourceName(c.resource), ...figures(c) }))),
    ];
    const windows = f.windows.map((w) => {
      const values = { who: w.dentist ? t("visitsDentistOf", { code: w.dentist }) : t("visitsTheDentist"), from: clock(w.from), sure: span(w.sure), middle: span(w.middle), stage: name(w.stage, w.title), chair: w.chair };
      if (w.sure < 0.5) return t("visitsWindowUnsure", values);
      return Date.parse(w.from) - Date.parse(f.at) < 30_000 ? t("visitsWindowNow", values) : t("visitsWindow", values);
    });
    const list = (lines: string[], none: string) => el("ul", {}, ...(lines.length ? lines : [none]).map((s) => el("li", {}, s)));
    const planned = f.visits.length > 1 || waits.length > 0;
    this.beside.replaceChildren(
      planned ? el("section", { class: "panel visit-panel visit-waits" }, el("h2", {}, t("visitsHead")), list(waits, t("visitsNoConflict")), el("p", { class: "quiet" }, t("visitsFirst"))) : "",
      el("section", { class: "panel visit-panel visit-windows" }, el("h2", {}, t("visitsWindowHead")), list(windows, t("visitsNoWindow"))),
    );
  }

  /** onKey: a pedal sends Space or Page Down. */
  onKey(e: KeyboardEvent): boolean {
    const v = this.now.visits.find((o) => o.chair === this.marked);
    if (/^[1-9]$/.test(e.key)) {
      if (this.now.visits.some((o) => o.chair === Number(e.key))) this.mark(Number(e.key));
      return true;
    }
    if (!v || e.repeat) return [" ", "PageDown"].includes(e.key);
    if (e.key === " " || e.key === "PageDown") void this.tap(v);
    else if (e.key === "u") void this.undo(v);
    else if (e.key === "w" && v.stage) void this.tap(v, { kind: "wait" });
    else return false;
    return true;
  }

  restyle(): void {
    this.drawLines();
  }

  end(): void {
    this.timers.forEach(clearInterval);
    this.sized.disconnect();
  }
}
