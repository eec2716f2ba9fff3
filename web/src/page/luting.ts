// By which family of luting material a crown can be fixed: what is entered of
// the mouth, the families with their reasons, the steps for one of them with
// timers, and the choice that is kept in the record.
import { api, got, Refused, type Schemas } from "./api";
import { el } from "./dom";
import { number } from "./format";
import { say, said, t } from "./text";
import { clock, follow, running, start } from "./timers";

type Judgement = Schemas["Judgement"];
type Answer = Schemas["Answer"];
type Reason = Schemas["Reason"];
type Step = Schemas["Treatment"];
type Key = Parameters<typeof t>[0];

/** Entered is what a person says of the mouth; what is empty was not entered. */
interface Entered {
  isolation: string;
  depth: string; // mm
  substrate: string;
  temporary: string;
}

const words: Record<"isolation" | "substrate" | "temporary", readonly (readonly [string, Key])[]> = {
  isolation: [["rubber-dam", "lutingDam"], ["rolls-and-suction", "lutingRolls"], ["not-possible", "lutingWet"]],
  substrate: [["enamel", "lutingEnamel"], ["dentine", "lutingDentine"], ["composite", "lutingComposite"], ["metal", "lutingMetal"]],
  temporary: [["none", "lutingNone"], ["eugenol-free", "lutingFree"], ["eugenol", "lutingEugenol"]],
};

const families: Record<string, Key> = {
  "adhesive-resin": "lutingAdhesive", "self-adhesive-resin": "lutingSelfAdhesive", "resin-modified-glass-ionomer": "lutingModified",
  "glass-ionomer": "lutingIonomer", "zinc-phosphate": "lutingPhosphate", temporary: "lutingTemporary",
};
const standings: Record<Answer["standing"], Key> = { supported: "lutingSupported", undecided: "lutingUndecided", "not-supported": "lutingNot" };
const statuses: Record<string, Key> = { read: "lutingRead", memory: "lutingMemory", computed: "lutingComputed", "common practice": "lutingCommon", practice: "lutingPractice" };

/** familyName is a family in words; a practice's own has the name that it gave. */
export const familyName = (name: string, title = name): string => (families[name] ? t(families[name]) : title);
/** standingName is what the program says of a family, in words. */
export const standingName = (s: string): string => (s in standings ? t(standings[s as Answer["standing"]]) : s);

/** What was entered of a case stays while the page is open. */
const had = new Map<number, Entered>();

export class Luting {
  readonly line = el("button", { type: "button", class: "small luting-on", "aria-expanded": "false", onclick: () => this.open(this.root.hidden) }, t("luting"));
  readonly root = el("section", { class: "luting", "aria-label": t("luting"), hidden: true });
  private entered: Entered;
  private answer: Judgement | null = null;
  private chosen = "";
  private asked = 0;
  private form = el("form", { class: "luting-entered", "aria-label": t("lutingEntered") });
  private head = el("p", { class: "luting-head", role: "status" });
  private list = el("div", { class: "luting-families", role: "group", "aria-label": t("lutingFamilies") });
  private detail = el("div", { class: "luting-detail" });
  private rules = el("div", { class: "luting-rules" });
  private who = el("input", { id: "luting-who", maxlength: "40", autocomplete: "off", class: "who-in" });
  private remark = el("input", { id: "luting-remark", maxlength: "2000", autocomplete: "off" });
  private unfollow: () => void;

  constructor(
    private id: number,
    private tell: (message: string) => void,
    private initials: { now(): string; keep(who: string): void },
    private kept: () => Promise<void>,
  ) {
    this.entered = had.get(id) ?? { isolation: "", depth: "", substrate: "", temporary: "" };
    had.set(id, this.entered);
    this.who.addEventListener("change", () => initials.keep(this.who.value.trim()));
    this.form.addEventListener("submit", (e) => e.preventDefault());
    this.unfollow = follow(() => this.drawTimers());
    this.drawForm();
    this.root.append(el("div", { class: "luting-top" }, el("h2", {}, t("luting")), el("strong", { class: "luting-maker" }, t("lutingMaker"))), this.form, this.head, el("div", { class: "luting-parts" }, this.list, this.detail), this.rules);
  }

  /** open shows the sheet, or takes it away. */
  open(on: boolean): void {
    this.root.hidden = !on;
    this.line.setAttribute("aria-expanded", String(on));
    if (!on) return;
    this.who.value = this.initials.now();
    void this.load();
    void this.loadRules();
    this.root.scrollIntoView({ block: "start" });
  }

  /** refresh asks anew where the sheet is open, as after another run. */
  refresh(): void {
    if (!this.root.hidden) void this.load();
  }

  private drawForm(): void {
    const pick = (name: keyof typeof words, label: Key) => {
      const s = el("select", { id: `luting-${name}`, onchange: () => this.enter(name, s.value) }, el("option", { value: "" }, t("lutingUnknown")), ...words[name].map(([v, key]) => el("option", { value: v, selected: v === this.entered[name] }, t(key))));
      return el("div", { class: "field" }, el("label", { for: `luting-${name}` }, t(label)), s);
    };
    const depth = el("input", { id: "luting-depth", type: "number", step: "0.1", min: "-10", max: "10", placeholder: t("lutingUnknown"), value: this.entered.depth, onchange: () => this.enter("depth", depth.value.trim()) });
    this.form.append(pick("isolation", "lutingIsolation"), el("div", { class: "field" }, el("label", { for: "luting-depth" }, t("lutingDepth")), depth), pick("substrate", "lutingSubstrate"), pick("temporary", "lutingBefore"));
  }

  private enter(name: keyof Entered, value: string): void {
    this.entered[name] = value;
    void this.load();
  }

  /** load asks anew what the rules say. */
  private async load(): Promise<void> {
    const asked = ++this.asked;
    try {
      const query = Object.fromEntries(Object.entries(this.entered).filter(([, v]) => v !== ""));
      const v = await got(api.GET("/api/cases/{id}/luting", { params: { path: { id: this.id }, query } }));
      if (asked !== this.asked || JSON.stringify(v) === JSON.stringify(this.answer)) return; // what has the focus stays
      this.answer = v;
      const first = v.answers.find((a) => a.standing === "supported") ?? v.answers[0];
      if (!v.answers.some((a) => a.family.name === this.chosen)) this.chosen = first?.family.name ?? "";
      this.draw();
    } catch (e) {
      if (asked !== this.asked) return;
      if (!(e instanceof Refused)) throw e;
      this.answer = null;
      this.list.replaceChildren();
      this.detail.replaceChildren();
      this.head.replaceChildren(said("span", e.message));
    }
  }

  private draw(): void {
    const v = this.answer!;
    this.head.replaceChildren(said("span", v.headline));
    this.list.replaceChildren(...v.answers.map((a) => this.family(a)));
    const a = v.answers.find((x) => x.family.name === this.chosen);
    if (a) this.drawDetail(a);
  }

  private family(a: Answer): HTMLElement {
    const why = a.reasons.find((r) => r.weight === "needed" && r.state !== "met") ?? a.reasons.find((r) => r.state === "not-met");
    return el(
      "button",
      { type: "button", class: `luting-family ${a.standing}`, "data-family": a.family.name, "aria-pressed": String(a.family.name === this.chosen), onclick: () => this.choose(a) },
      el("span", { class: "luting-name" }, familyName(a.family.name, a.family.title)),
      el("span", { class: "luting-standing" }, t(standings[a.standing])),
      why ? el("span", { class: "quiet luting-why" }, why.weight === "caution" ? `${t("lutingCaution")}: ` : "", said("span", why.found)) : sentence(a.family.says, "quiet luting-why"),
    );
  }

  private choose(a: Answer): void {
    this.chosen = a.family.name;
    for (const b of this.list.querySelectorAll<HTMLElement>(".luting-family")) b.setAttribute("aria-pressed", String(b.dataset.family === this.chosen));
    this.drawDetail(a);
  }

  private drawDetail(a: Answer): void {
    const name = familyName(a.family.name, a.family.title);
    this.detail.replaceChildren(
      el("h3", {}, name, ": ", t(standings[a.standing])),
      el("ul", { class: "luting-reasons" }, ...a.reasons.map((r) => this.reason(r))),
      el("h3", {}, t("lutingSteps")),
      el("strong", { class: "luting-maker" }, t("lutingMaker")),
      ...a.hazards.map((h) => el("p", { class: "luting-danger" }, el("strong", {}, t("lutingDanger")), " ", said("span", h.says))),
      ...a.refusals.map((r) => el("p", { class: "luting-never" }, said("span", r.says), from(r))),
      el("ol", { class: "luting-steps" }, ...a.steps.map((s) => this.step(a, s))),
      this.keeping(a, name),
    );
    this.drawTimers();
  }

  private reason(r: Reason): HTMLElement {
    const state: Key = r.state === "met" ? "lutingMet" : r.weight === "caution" ? (r.state === "open" ? "lutingNotKnown" : "lutingCaution") : r.state === "open" ? "lutingOpen" : "lutingNotMet";
    return el("li", { class: `luting-reason ${r.state} by-${r.weight}` }, el("strong", {}, t(state)), el("span", {}, said("span", r.found), " ", sentence(r.says), from(r)));
  }

  private step(a: Answer, s: Step): HTMLElement {
    const [least, most] = s.seconds;
    const key = `${this.id} ${a.family.name} ${s.name}`;
    const on = s.on === "both" ? "" : t(s.on === "crown" ? "lutingOnCrown" : "lutingOnTooth");
    if (least === undefined) return el("li", {}, el("span", { class: "luting-part" }, on), el("span", {}, said("span", s.says), from(s)));
    const own = el("input", { type: "number", min: "1", max: "3600", step: "1", class: "luting-seconds", "aria-label": t("lutingOwnTime") , placeholder: t("lutingOwnShort") });
    const begin = () => {
      const typed = own.value === "" ? NaN : Number(own.value);
      if (own.value !== "" && !(typed >= 1 && typed <= 3600)) return this.tell(t("lutingSecondsFirst"));
      start(key, s.says, typed || least, typed || most);
    };
    return el("li", { "data-step": s.name },
      el("span", { class: "luting-part" }, on),
      el("span", {}, said("span", s.says), " ", el("strong", {}, t("lutingTime", { time: times(least, most) })), from(s)),
      el("span", { class: "luting-start" }, own, el("button", { type: "button", class: "small luting-timer", "data-key": key, onclick: begin }, t("lutingTimerStart"))));
  }

  /** drawTimers says at each step whether its timer runs. */
  private drawTimers(): void {
    for (const b of this.detail.querySelectorAll<HTMLElement>(".luting-timer")) b.textContent = t(running(b.dataset.key!) ? "lutingTimerAgain" : "lutingTimerStart");
  }

  private keeping(a: Answer, name: string): HTMLElement {
    const form = el(
      "form",
      { class: "luting-keep" },
      el("div", { class: "field" }, el("label", { for: "luting-who" }, t("operator")), this.who),
      el("div", { class: "field" }, el("label", { for: "luting-remark" }, t("remark")), this.remark),
      el("button", { type: "submit", class: "primary luting-kept" }, t("lutingKeep", { family: name })),
      a.standing === "supported" ? "" : el("p", { class: "quiet" }, t("lutingKeepAnyway", { standing: t(standings[a.standing]) })),
    );
    form.addEventListener("submit", (e) => void this.keep(e, a, name));
    return form;
  }

  private async keep(e: Event, a: Answer, name: string): Promise<void> {
    e.preventDefault();
    const who = this.who.value.trim();
    if (!who) {
      this.who.focus();
      return this.tell(t("whoFirst"));
    }
    const button = (e.currentTarget as HTMLElement).querySelector<HTMLButtonElement>(".luting-kept")!;
    button.disabled = true;
    try {
      const { depth, ...rest } = this.entered;
      const body = { who, family: a.family.name, remark: this.remark.value.trim(), ...Object.fromEntries(Object.entries(rest).filter(([, v]) => v !== "")), ...(depth === "" ? {} : { depth: Number(depth) }) };
      await got(api.POST("/api/cases/{id}/entries/lutings", { params: { path: { id: this.id } }, body }));
      this.tell(t("lutingWasKept", { family: name }));
      this.remark.value = "";
      await this.kept();
    } catch (err) {
      this.tell(say((err as Error).message).text);
    } finally {
      button.disabled = false;
    }
  }

  /** loadRules shows whose rules hold, and takes the practice's own. */
  private async loadRules(): Promise<void> {
    const r = await got(api.GET("/api/luting-rules"));
    const file = el("input", { type: "file", accept: ".yaml,.yml", hidden: true, onchange: () => void taken() });
    const taken = async () => {
      const f = file.files?.[0];
      if (!f) return;
      const text = await f.text();
      file.value = ""; // so that the same file can be given again once it was put right
      await this.setRules(f.name, text);
    };
    this.rules.replaceChildren(
      el("span", { class: "quiet" }, r.file ? t("lutingOwnRules", { file: r.file }) : t("lutingBuiltIn")),
      file,
      el("button", { type: "button", class: "small luting-rules-in", onclick: () => file.click() }, t("lutingRulesChoose")),
      r.file ? el("button", { type: "button", class: "small luting-rules-out", onclick: () => void this.setRules("", "") }, t("lutingRulesAway")) : "",
    );
  }

  private async setRules(file: string, text: string): Promise<void> {
    try {
      await got(api.PUT("/api/luting-rules", { body: { file, text } }));
      this.tell(t(file ? "lutingRulesHold" : "lutingRulesGone"));
      await Promise.all([this.loadRules(), this.load()]);
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  end(): void {
    this.asked++;
    this.unfollow();
  }
}

/** span is a time with its unit: seconds, or minutes where they are whole. */
function span(seconds: number): [string, string] {
  if (seconds >= 120 && seconds % 60 === 0) return [number(seconds / 60, 0), "\u00a0min"];
  return seconds > 120 ? [clock(seconds), "\u00a0min"] : [number(seconds, 0), "\u00a0s"];
}

/** times is a range of times, with the unit once where it is the same. */
function times(from: number, to: number): string {
  const [least, unit] = span(from);
  const [most, other] = span(to);
  return from === to ? least + unit : t("lutingTimeTo", { least: unit === other ? least : least + unit, most: most + other });
}

/** sentence is a reason as a sentence. */
function sentence(text: string, as = ""): HTMLElement {
  const s = say(text);
  return el("span", { lang: s.lang, dir: "auto", class: as || undefined }, `${s.text[0].toUpperCase()}${s.text.slice(1)}.`);
}

/** The source of what has none: common practice says as much. */
const nobody = "held by the trade";

/** from says where a row comes from. */
function from(r: { source: string; status: string }): HTMLElement {
  const source = r.source === nobody ? [] : [": ", el("span", { lang: "en" }, r.source)];
  return el("span", { class: "quiet luting-from" }, " (", statuses[r.status] ? t(statuses[r.status]) : r.status, ...source, ")");
}
