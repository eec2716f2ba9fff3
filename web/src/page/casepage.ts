// One case: hold points, ledger, view, strip and slice, following one another.
import { api, type Case, got, type MapInfo, type Redrawn, Refused, type Role, roles, type Settings, type Slice } from "./api";
import { Away } from "./away";
import { Book, type Standing } from "./book";
import { type Mesh, readMap, readMesh } from "./binary";
import { Cut, inPlane } from "./cut";
import { el } from "./dom";
import { digitsOf, number, unit } from "./format";
import { Found } from "./found";
import { azimuthAt, type Frame, frameOf, fromScene, round, sectorAt, toScene } from "./frame";
import { Key } from "./key";
import { type Changed, Ledger, valueText } from "./ledger";
import { LineEditor } from "./lineedit";
import { Luting } from "./luting";
import { Marks } from "./marks";
import { cutQuery, mostShift, mostTilt } from "./plane";
import { counts, type HoldPoint, holdPoints, ledger, type Reading, type Record_, redrawn, type Verdict } from "./record";
import { rangeFor, type Range } from "./scale";
import { Shared } from "./state";
import { Strip } from "./strip";
import { decided, language, material, readingName, say, sector, see, t, toothName, word } from "./text";
import { toothNumber } from "./tooth";
import { View } from "./view";
import { Work } from "./work";

/** Bench is how the bench is set, and what changes that. */
export interface Bench {
  now(): Settings;
  change(s: Settings): void;
}

export class CasePage {
  readonly root = el("main", { id: "content", class: "case", tabindex: "-1" });
  private record: Record_ | null = null;
  private frame: Frame | null = null; // of the tooth, as measured last
  private scene: Frame | null = null; // in whose axes the view is drawn
  private maps: MapInfo[] = [];
  private reading = new Shared<Reading | null>(null);
  private azimuth = new Shared(0);
  private lean = new Shared({ tilt: 0, shift: 0 }); // of the section, see Plane
  private pointed = new Shared<number | null>(null);
  private hold = new Shared<HoldPoint>("preparation");
  private seen = new Set<Role>(["prepared"]);
  private ledger = new Ledger((r) => this.choose(r));
  private strip = new Strip({ point: (a) => this.pointed.set(a), cut: (a) => this.azimuth.set(a) });
  private cut = new Cut();
  private view: View | null = null;
  private marks: Marks | null = null;
  private slice: Slice | null = null;
  private sliceWanted = 0;
  private key = new Key();
  private editor: LineEditor | null = null;
  private work: Work;
  private away: Away;
  private book: Book;
  private found: Found;
  private luting: Luting;
  private standing: Standing = { confirmed: new Map(), lots: new Map(), overrides: new Map() };
  private changed = new Map<string, Changed>();
  private opened = performance.now();
  private early: Promise<Mesh> | null = null;
  private ended = false;

  // The parts of the page that are written into.
  private holds = el("nav", { class: "holds" });
  private sentence = el("p", { class: "sentence", lang: "en", dir: "auto" });
  private title = el("div", { class: "who" });
  private toggles = el("div", { class: "toggles", role: "group" });
  private stripTitle = el("h2");
  private stripNow = el("output", { class: "now", dir: "ltr" });
  private sliceTitle = el("h2");
  private viewTitle = el("h2");
  private turner = el("input", { type: "range", min: "0", max: "359", step: "1", class: "turner" });
  private leaner = el("div", { class: "lean", hidden: true });
  private tools = el("div", { class: "linetools" });

  constructor(
    private kase: Case,
    private tell: (message: string) => void,
    private bench: Bench,
  ) {
    this.away = new Away(kase.id, tell, () => this.bench.now().paper ?? "a4", () => this.mapped());
    const initials = { now: () => bench.now().operator, keep: (who: string) => bench.change({ ...bench.now(), operator: who }) };
    this.book = new Book(kase.id, tell, initials, (s) => this.stands(s));
    this.found = new Found(kase.id, tell, initials.now, () => void this.book.load().catch((e: Error) => tell(e.message)));
    this.luting = new Luting(kase.id, tell, initials, () => this.book.load());
    this.work = new Work(kase, tell, () => void this.measured(), () => void this.firstReadings());
    see(kase.iso);
    this.azimuth.follow(() => void this.cutAnew());
    this.lean.follow(() => void this.cutAnew());
    this.pointed.follow((a) => this.followPointer(a));
    this.turner.addEventListener("input", () => this.azimuth.set(Number(this.turner.value)));
    this.cut.point = (x, y) => this.pointedInSlice(x, y);
    this.layout();
  }

  private layout(): void {
    this.turner.setAttribute("aria-label", t("turnSlice"));
    this.toggles.setAttribute("aria-label", t("surfaces"));
    this.holds.setAttribute("aria-label", t("holds"));
    const step = (by: number, label: string, sign: string) => el("button", { type: "button", class: "small", "aria-label": label, onclick: () => this.turnBy(by) }, sign);
    const parts = el("div", { class: "case-parts" });
    parts.append(
      el("header", { class: "case-head" }, this.title, this.holds, this.work.root),
      el("section", { class: "say", "aria-live": "polite", "aria-label": t("next") }, this.sentence),
      el("section", { class: "panel ledger-panel", "aria-label": t("ledger") }, this.ledger.root),
      el("section", { class: "panel view-panel", "aria-label": t("view") }, el("div", { class: "bar-head" }, this.viewTitle, this.toggles), el("div", { class: "view-slot" }, el("p", { class: "empty later" }, t("pictureLater"))), el("div", { class: "view-foot" }, this.key.root, this.tools)),
      el("section", { class: "panel slice-panel", "aria-label": t("slice") }, el("div", { class: "bar-head" }, this.sliceTitle), this.cut.root, el("div", { class: "turn" }, step(-1, t("earlier"), "−"), this.turner, step(1, t("later"), "+"), el("button", { type: "button", class: "small lean-on", "aria-expanded": "false", onclick: () => this.leanOn(this.leaner.hidden) }, t("lean"))), this.leaner),
      el("section", { class: "panel strip-panel", "aria-label": t("strip") }, el("div", { class: "bar-head" }, this.stripTitle, this.stripNow), this.strip.root),
    );
    this.root.replaceChildren(parts, el("footer", { class: "case-foot" }, this.book.line, this.luting.line, this.found.on, this.away.root), this.luting.root, this.book.root, this.found.root);
  }

  /** leanOn shows what tilts and moves the section, or takes it away and cuts through the axis again. */
  private leanOn(on: boolean): void {
    this.leaner.hidden = !on;
    this.root.querySelector(".lean-on")?.setAttribute("aria-expanded", String(on));
    if (on) this.drawLean();
    else this.lean.set({ tilt: 0, shift: 0 });
  }

  private drawLean(): void {
    const now = this.lean.get();
    const slide = (name: "tilt" | "shift", most: number, step: number) => {
      const text = name === "tilt" ? `${number(now.tilt, 0)}°` : `${number(now.shift, 2)}${unit("mm")}`;
      const old = this.leaner.querySelector<HTMLInputElement>(`#${name}`);
      if (old) {
        if (document.activeElement !== old) old.value = String(now[name]);
        old.setAttribute("aria-valuetext", text);
        old.nextElementSibling!.replaceChildren(text);
        return;
      }
      const input = el("input", { type: "range", id: name, min: String(-most), max: String(most), step: String(step), "aria-valuetext": text, oninput: (e: Event) => this.lean.set({ ...this.lean.get(), [name]: Number((e.target as HTMLInputElement).value) }) });
      input.value = String(now[name]);
      this.leaner.append(el("label", { for: name }, t(name)), input, el("output", { for: name, dir: "ltr" }, text));
    };
    slide("tilt", mostTilt, 1);
    slide("shift", mostShift, 0.05);
  }

  /** leanBy tilts the section by degrees and moves it by mm. */
  private leanBy(tilt: number, shift: number): void {
    if (this.leaner.hidden) this.leanOn(true);
    const l = this.lean.get();
    const within = (v: number, most: number) => Math.max(-most, Math.min(most, v));
    this.lean.set({ tilt: within(l.tilt + tilt, mostTilt), shift: within(l.shift + shift, mostShift) });
  }

  private async mesh(role: Role): Promise<Mesh> {
    const body = await got(api.GET("/api/cases/{id}/surfaces/{role}", { params: { path: { id: this.kase.id, role } }, parseAs: "arrayBuffer" }));
    return readMesh(body as unknown as ArrayBuffer);
  }

  /** load fetches the record and what is drawn; it may be called again after a change. */
  async load(): Promise<void> {
    this.head();
    this.work.show(this.kase);
    if (this.kase.run && !this.work.busy) {
      this.early = this.mesh("prepared"); // on its way while the record is read
      this.early.catch(() => {}); // whoever waits for it is told
    }
    try {
      const p = { params: { path: { id: this.kase.id } } };
      const [record, changes] = await Promise.all([got(api.GET("/api/cases/{id}/record", p)), got(api.GET("/api/cases/{id}/changes", p))]);
      this.changed = new Map(changes.changes.filter((c) => shown(c.old, c.unit) !== shown(c.new, c.unit)).map((c) => [c.reading, { text: t("changedTo", { old: shown(c.old, c.unit), new: shown(c.new, c.unit) }), by: c.old === null || c.new === null || c.old_verdict !== c.new_verdict ? Infinity : Math.abs(c.new - c.old) }]));
      this.take(record as unknown as Record_);
      if (this.ended) return;
      await this.picture();
      await this.book.load();
    } catch (e) {
      if (e instanceof Refused && e.status === 404) this.bare();
      else throw e;
    }
  }

  /** bare is the page of a case that has no readings: it says so, or how far measuring is. */
  private bare(): void {
    this.root.classList.add("bare");
    this.root.dataset.ready = "bare";
    this.sentence.lang = language();
    this.sentence.replaceChildren(this.work.busy ? t("measuring") : t("noRecord"));
  }

  private head(): void {
    const k = this.kase;
    const about = [material(k.material), k.patient, k.title].filter(Boolean).join(" · ");
    this.title.replaceChildren(el("span", { class: "number" }, toothNumber(k)), el("div", {}, el("h1", {}, toothName(k.iso)), el("p", { class: "quiet" }, about)));
  }

  /** take shows a record. */
  private take(record: Record_): void {
    this.record = record;
    this.root.classList.remove("bare");
    if (record.frame) this.frame = frameOf(record.frame as unknown as Parameters<typeof frameOf>[0]);
    this.root.dataset.ready = "record";
    const had = this.reading.get();
    const at = had?.hold_point ?? worstHold(record);
    this.hold.set(at);
    this.drawHolds();
    this.drawLedger();
    const list = ledger(record, at);
    const again = had ? record.readings.find((r) => r.id === had.id) : undefined;
    const first = again ?? list[0];
    if (first) this.choose(first, !had);
  }

  private drawHolds(): void {
    const r = this.record!;
    const steps = holdPoints.map((h) => {
      const all = ledger(r, h);
      const n = counts(all);
      const worst = (["fails", "undecided", "unmeasured", "conforms", "informs"] as Verdict[]).find((v) => n[v] > 0);
      const passed = this.standing.confirmed.has(h) ? [t("confirmedHold")] : [];
      const what = worst ? [...passed, decided(worst, n[worst])].join(", ") : t("nothing");
      return el(
        "li",
        {},
        el("button", { type: "button", class: `hold ${worst ?? "none"}`, "data-hold": h, "aria-pressed": String(h === this.hold.get()), disabled: all.length === 0, onclick: () => this.goTo(h) }, el("span", { class: "dot", "aria-hidden": "true" }), el("span", { class: "hold-name" }, word("holds", h)), el("span", { class: "hold-what" }, what)),
      );
    });
    this.holds.replaceChildren(el("ol", {}, ...steps));
  }

  private drawLedger(): void {
    const readings = ledger(this.record!, this.hold.get());
    this.ledger.show(readings, this.changed, this.record!.notes, this.standing.overrides);
    this.book.learn(this.record!.readings);
    this.book.show({ hold: this.hold.get(), readings, reading: this.reading.get() });
  }

  /** stands takes up what the record says beside the readings. */
  private stands(s: Standing): void {
    this.standing = s;
    this.luting.refresh();
    if (!this.record) return;
    this.drawHolds();
    this.drawLedger();
  }

  /** goTo shows another hold point with its worst reading. */
  goTo(h: HoldPoint): void {
    const list = ledger(this.record!, h);
    if (list.length === 0) return;
    this.hold.set(h);
    this.drawHolds();
    this.drawLedger();
    this.choose(list[0]);
  }

  private say(): void {
    const r = this.record!;
    const worst = ledger(r, this.hold.get())[0];
    const first = worst && (worst.verdict === "fails" || worst.verdict === "undecided") ? worst.next : "";
    const text = worst?.hold_point === worstHold(r) ? r.headline || first : first;
    const s = text ? say(text) : { text: t("allDone"), lang: language() };
    this.sentence.lang = s.lang;
    this.sentence.replaceChildren(s.text);
  }

  /** mapped is the chosen reading, if a surface can be coloured by it. */
  private mapped(): { id: string; name: string } | null {
    const r = this.reading.get();
    return r && this.maps.some((m) => m.reading === r.id) ? { id: r.id, name: readingName(r.id, r.name) } : null;
  }

  /** choose shows a reading in all parts. */
  choose(r: Reading, turn = true): void {
    this.reading.set(r);
    this.ledger.mark(r.id, true);
    this.book.show({ hold: r.hold_point, readings: ledger(this.record!, r.hold_point), reading: r });
    this.say();
    const name = readingName(r.id, r.name);
    this.stripTitle.replaceChildren(name);
    this.strip.root.setAttribute("aria-label", t("stripLabel", { reading: name }));
    this.strip.show(r, this.record!.readings.find((x) => x.id === "finish_line.legible"), this.frame?.named ?? false);
    if (turn && !this.leaner.hidden) this.leanOn(false);
    if (r.at?.azimuth != null && turn) this.azimuth.set(Math.round(r.at.azimuth) % 360);
    this.now(null);
    if (this.slice) this.drawSlice();
    void this.drawMap(r);
    if (turn) this.turnTo(r);
    this.marks?.draw();
  }

  private turnTo(r: Reading): void {
    if (!this.view || !this.frame) return;
    const from = lookAt(r.id);
    const place = r.at ? toScene(this.scene!, r.at.point) : null;
    const near = place && Math.hypot(place[0], place[1]) < 9 ? place : null;
    this.view.turn(r.at?.azimuth ?? (this.frame.named ? 90 : null), from.up, near ? [near[0] * 0.35, near[1] * 0.35, 2.2] : [0, 0, 2.2], near ? 1.25 : 1.05);
  }

  private wanted(r: Reading): Set<Role> {
    const has = new Set((this.record?.surfaces ?? []).map((s) => s.role as Role));
    const m = this.maps.find((x) => x.reading === r.id);
    const main = (m?.role as Role | undefined) ?? (r.id.startsWith("crown.") ? "crown" : r.id.startsWith("finished.") ? "finished" : r.id.startsWith("existing.") ? "before" : "prepared");
    return new Set<Role>([has.has(main) ? main : "prepared", ...(main === "crown" || main === "finished" ? (["prepared"] as Role[]) : [])]);
  }

  /** picture fetches surfaces: the prepared arch first, so that something is seen at once. */
  private async picture(): Promise<void> {
    if (!this.frame || this.view) return;
    const begun = this.opened;
    const slot = this.root.querySelector(".view-slot")!;
    const view = (this.view = new View(this.frame));
    const scene = (this.scene = this.frame);
    this.marks = new Marks(view, scene);
    slot.replaceChildren(view.root);
    this.listen(view);
    const [prepared, maps] = await Promise.all([this.early ?? this.mesh("prepared"), got(api.GET("/api/cases/{id}/maps", { params: { path: { id: this.kase.id } } })).catch(() => ({ maps: [] as MapInfo[] }))]);
    if (this.ended) return;
    this.maps = maps.maps;
    view.add("prepared", prepared);
    view.finish(this.record!.finish_line as unknown as number[][]);
    let mapped = false;
    view.after = () => {
      this.marks?.draw();
      this.root.dataset.picture ??= String(Math.round(performance.now() - begun));
      if (mapped) this.root.dataset.ready = "view";
    };
    const r = this.reading.get();
    if (r) {
      this.turnTo(r); // seen at once, its map a moment later
      await this.drawMap(r);
    }
    this.drawToggles();
    mapped = true;
    view.draw();
    this.tools.replaceChildren();
    this.editor = new LineEditor(this.kase.id, view, scene, this.tools, (part, trying) => this.remeasured(part, trying), this.tell);
    const first = [...this.seen];
    const others = this.record!.surfaces.map((s) => s.role as Role).filter((role) => role !== "prepared");
    for (const role of others.sort((a, c) => Number(first.includes(c)) - Number(first.includes(a)))) void this.further(role).catch((e: Error) => this.tell(e.message));
    await this.cutAnew();
  }

  /** further fetches another surface, with the map of the reading that is chosen where it has that. */
  private async further(role: Role): Promise<void> {
    const view = this.view;
    const m = await this.mesh(role);
    if (this.ended || !view || view !== this.view) return;
    view.add(role, m);
    view.show(this.seen);
    const r = this.reading.get();
    if (r && this.maps.some((x) => x.reading === r.id && x.role === role)) await this.drawMap(r, false);
  }

  /** remeasured takes up what a moved finish line has changed. While it is still being moved, only figures and the strip follow. */
  private remeasured(part: Redrawn, trying: boolean): void {
    const r = (this.record = redrawn(this.record!, part));
    const now = r.readings.find((x) => x.id === this.reading.get()?.id) ?? null;
    this.reading.set(now);
    this.drawLedger();
    if (now) this.strip.follow(now);
    this.now(null);
    if (trying) return;
    this.view?.finish(r.finish_line as unknown as number[][]);
    this.drawHolds();
    this.say();
    void this.lineKept(part);
    void this.book.load().catch((e: Error) => this.tell(e.message));
  }

  /** lineKept draws anew what costs more, once the line is let go. The scene keeps the axes it was drawn in; places follow the frame as it is now. */
  private async lineKept(part: Redrawn): Promise<void> {
    if (part.frame) this.frame = frameOf(part.frame as unknown as Parameters<typeof frameOf>[0]);
    const r = this.reading.get();
    if (r && part.readings.some((x) => x.id === r.id)) await this.drawMap(r, false);
    await this.cutAnew();
  }

  /** pictureAnew draws everything from the beginning, as about another axis. */
  private async pictureAnew(): Promise<void> {
    this.view?.dispose();
    this.view?.root.remove();
    this.view = null;
    this.slice = null;
    this.opened = performance.now();
    delete this.root.dataset.picture;
    this.early = null;
    await this.load();
  }

  private async drawMap(r: Reading, fresh = true): Promise<void> {
    const name = readingName(r.id, r.name);
    this.viewTitle.replaceChildren(name);
    this.view?.canvas.setAttribute("aria-label", t("viewLabel", { reading: name }));
    if (!this.view) return;
    if (fresh) {
      this.seen = this.wanted(r);
      this.view.show(this.seen);
      this.drawToggles();
    }
    const info = this.maps.find((m) => m.reading === r.id && this.view!.has(m.role as Role)) ?? this.maps.find((m) => m.reading === r.id);
    if (!info) return this.unmapped(r);
    try {
      const body = await got(api.GET("/api/cases/{id}/maps/{role}/{reading}", { params: { path: { id: this.kase.id, role: info.role as Role, reading: r.id } }, parseAs: "arrayBuffer" }));
      if (this.reading.get()?.id !== r.id || !this.view) return;
      const map = readMap(body as unknown as ArrayBuffer);
      const limit = info.unit === r.unit ? r.limit : null; // some maps show another quantity than the reading
      const range: Range = rangeFor({ min: map.min, max: map.max }, limit);
      this.view.map(info.role as Role, map, range, limit);
      this.key.show(range, info.unit, limit);
      this.marks?.set(r, limit ? this.view.contour(info.role as Role, limit.min ?? limit.max!) : []);
    } catch (e) {
      this.unmapped(r);
      if (!(e instanceof Refused)) this.tell((e as Error).message);
    }
    this.view.draw();
  }

  private unmapped(r: Reading): void {
    this.view?.map(null, null, null, null);
    this.key.none(r.id === "finish_line.legible");
    this.marks?.set(r, []);
  }

  private drawToggles(): void {
    const has = new Set((this.record?.surfaces ?? []).map((s) => s.role as Role));
    const buttons = roles.filter((r) => has.has(r)).map((role) => el("button", { type: "button", class: "toggle", "data-role": role, "aria-pressed": String(this.seen.has(role)), onclick: () => this.toggle(role) }, word("roles", role)));
    this.toggles.replaceChildren(...buttons);
  }

  /** toggle shows or hides a surface. */
  toggle(role: Role): void {
    if (!this.record?.surfaces.some((s) => s.role === role)) return;
    if (!this.seen.delete(role)) this.seen.add(role);
    this.view?.show(this.seen);
    this.drawToggles();
    if (this.slice) this.view?.section(this.slice, this.seen);
  }

  private async cutAnew(): Promise<void> {
    const a = this.azimuth.get();
    this.turner.value = String(Math.round(a));
    this.turner.setAttribute("aria-valuetext", this.words(a));
    this.strip.cut(a);
    this.now(this.pointed.get());
    this.sliceTitle.replaceChildren(`${t("slice")} `, el("span", { class: "where" }, this.words(a)));
    if (!this.leaner.hidden) this.drawLean();
    if (!this.frame) return;
    const mine = ++this.sliceWanted;
    try {
      const s = await got(api.GET("/api/cases/{id}/slice", { params: { path: { id: this.kase.id }, query: cutQuery({ azimuth: a, ...this.lean.get() }, this.frame) } }));
      if (mine !== this.sliceWanted || this.ended) return;
      this.slice = s;
      this.drawSlice();
    } catch (e) {
      if (mine === this.sliceWanted) this.tell((e as Error).message);
    }
  }

  private drawSlice(): void {
    const all = new Set<string>((this.record?.surfaces ?? []).map((s) => s.role));
    this.cut.show(this.slice!, this.reading.get(), all, fromScene(this.frame!, [0, 0, 3.3]));
    this.cut.say(this.whereCut());
    this.cut.root.dataset.azimuth = String(this.azimuth.get());
    this.cut.root.dataset.tilt = String(this.lean.get().tilt);
    this.view?.section(this.slice!, this.seen);
  }

  /** whereCut says in words where the section is. */
  private whereCut(): string {
    const { tilt, shift } = this.lean.get();
    const out = [this.words(this.azimuth.get())];
    if (tilt !== 0) out.push(t("tilted", { a: `${number(tilt, 0)}°` }));
    if (shift !== 0) out.push(t("shifted", { a: `${number(shift, 2)}${unit("mm")}` }));
    return out.join(" · ");
  }

  private words(a: number): string {
    const deg = `${number(a, 0)}°`;
    return this.frame?.named ? `${deg} ${sector(sectorAt(a))}` : deg;
  }

  private turnBy(d: number): void {
    this.azimuth.set(round(this.azimuth.get() + d));
  }

  private listen(view: View): void {
    let last = 0;
    view.canvas.addEventListener("pointermove", (e) => {
      if (e.buttons !== 0 || performance.now() - last < 30) return;
      last = performance.now();
      const p = view.pick(e.offsetX, e.offsetY);
      this.marks?.point(p ? p.hit.point.toArray() : null, p && !Number.isNaN(p.hit.value) ? this.valueOf(p.hit.value) : "");
      this.pointed.set(p && this.frame ? azimuthAt(this.frame, toScene(this.frame, p.file)) : null);
    });
    view.canvas.addEventListener("pointerleave", () => {
      this.marks?.point(null, "");
      this.pointed.set(null);
    });
    let pressed = { x: 0, y: 0 };
    view.canvas.addEventListener("pointerdown", (e) => (pressed = { x: e.offsetX, y: e.offsetY }));
    view.canvas.addEventListener("pointerup", (e) => {
      if (Math.hypot(e.offsetX - pressed.x, e.offsetY - pressed.y) > 6 || this.editor?.active) return;
      const p = view.pick(e.offsetX, e.offsetY);
      if (p && this.frame) this.azimuth.set(Math.round(azimuthAt(this.frame, toScene(this.frame, p.file))) % 360);
    });
  }

  private valueOf(v: number): string {
    const r = this.reading.get();
    return r ? `${number(v, digitsOf(r.unit, r.uncertainty))}${unit(r.unit)}` : "";
  }

  private followPointer(a: number | null): void {
    this.strip.point(a);
    this.marks?.azimuth(a);
    this.now(a);
  }

  private pointedInSlice(x: number | null, y: number): void {
    if (x === null || !this.slice || !this.frame) {
      this.marks?.point(null, "");
      return this.pointed.set(null);
    }
    const s = this.slice;
    const p = [0, 1, 2].map((i) => s.origin[i] + x * s.right[i] + y * s.up[i]);
    if (this.scene) this.marks?.point(toScene(this.scene, p), "");
    this.pointed.set(azimuthAt(this.frame, toScene(this.frame, p)));
  }

  /** now says the reading's value at the azimuth that is pointed at, else at the section. */
  private now(pointed: number | null): void {
    const r = this.reading.get();
    const a = pointed ?? this.azimuth.get();
    if (!r || r.profile.length === 0) return this.stripNow.replaceChildren(r ? valueText(r) : "");
    const v = at(r, a);
    this.stripNow.replaceChildren(`${this.words(Math.round(a) % 360)}: ${v === null ? "–" : this.valueOf(v)}`);
  }

  /** key does what a key or a pedal asks for. @returns whether it was one of this page's. */
  onKey(e: KeyboardEvent): boolean {
    const list = this.record ? ledger(this.record, this.hold.get()) : [];
    const i = list.findIndex((r) => r.id === this.reading.get()?.id);
    const go = (j: number) => list[j] && this.choose(list[j]);
    if (["j", "PageDown", " ", "ArrowDown"].includes(e.key)) go(Math.min(i + 1, list.length - 1));
    else if (["k", "PageUp", "ArrowUp"].includes(e.key)) go(Math.max(i - 1, 0));
    else if (e.key === "h") this.nextHold();
    else if (e.key === "r") this.book.open(!this.book.opened);
    else if (e.key === "o") this.toggle("opposing");
    else if (/^[1-6]$/.test(e.key)) this.toggle(roles[Number(e.key) - 1]);
    else if (e.key === "ArrowLeft") this.turnBy(-5);
    else if (e.key === "ArrowRight") this.turnBy(5);
    else if (e.key === "[") this.leanBy(-5, 0);
    else if (e.key === "]") this.leanBy(5, 0);
    else if (e.key === ",") this.leanBy(0, -0.25);
    else if (e.key === ".") this.leanBy(0, 0.25);
    else if (e.key === "Escape" && this.editor?.active) this.editor.leave();
    else if (e.key === "w") this.backToFinding();
    else if (e.key === "+") this.view?.nudge(1.25);
    else if (e.key === "-") this.view?.nudge(0.8);
    else return false;
    return true;
  }

  private backToFinding(): void {
    const r = this.reading.get();
    if (r) this.choose(r);
  }

  private nextHold(): void {
    if (!this.record) return;
    const with_ = holdPoints.filter((h) => ledger(this.record!, h).length > 0);
    this.goTo(with_[(with_.indexOf(this.hold.get()) + 1) % with_.length]);
  }

  private async firstReadings(): Promise<void> {
    const job = this.work.job;
    if (!job) return;
    const first = await got(api.GET("/api/jobs/{job}/record", { params: { path: { job } } })).catch(() => null);
    if (first && !this.ended) this.take(first as unknown as Record_);
  }

  /** measured takes up a case after its job has ended. */
  private async measured(): Promise<void> {
    this.kase = await got(api.GET("/api/cases/{id}", { params: { path: { id: this.kase.id } } }));
    await this.pictureAnew();
  }

  /** restyle follows a change of colours or size of text. */
  restyle(): void {
    this.view?.colours();
    this.strip.redraw();
    this.key.redraw();
  }

  end(): void {
    this.ended = true;
    this.work.end();
    this.away.end();
    this.book.end();
    this.luting.end();
    this.view?.dispose();
    this.strip.dispose();
  }

  /** inSection tells whether a place lies in the section shown, for tests and marks. */
  inSection(p: readonly number[]): boolean {
    return this.slice !== null && inPlane(this.slice, p).off < 0.35;
  }
}

/** at is the profile's value at the degree that holds an azimuth. */
export function at(r: Reading, azimuth: number): number | null {
  const a = Math.round(azimuth) % 360;
  return r.profile.find((p) => Math.round(p.azimuth) % 360 === a)?.value ?? null;
}

/** worstHold is the hold point whose worst reading is the worst; of equal ones the latest of the visit. */
export function worstHold(r: Record_): HoldPoint {
  const order: Verdict[] = ["fails", "undecided", "unmeasured", "conforms", "informs"];
  const has = holdPoints.filter((h) => r.readings.some((x) => x.hold_point === h));
  for (const v of order.slice(0, 2)) {
    const h = has.find((x) => r.readings.some((y) => y.hold_point === x && y.verdict === v));
    if (h) return h;
  }
  return has.at(-1) ?? "preparation";
}

function lookAt(id: string): { up: number } {
  if (/clearance|reduction\.occlusal|room|occlusal|line_angle/.test(id)) return { up: 62 };
  if (/convergence|resistance|placement|retention|scan\.|length/.test(id)) return { up: 48 };
  return { up: 24 };
}

function shown(v: number | null, u: string): string {
  return v === null ? "–" : `${number(v, digitsOf(u, null))}${unit(u)}`;
}
