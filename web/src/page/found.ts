// What was found when a crown was tried in, and later: entered in seconds, one
// press a finding. It becomes an entry of the case's record.
import { api, got, type Schemas } from "./api";
import { el } from "./dom";
import { t } from "./text";

type TryIn = Schemas["TryInInputBody"];
type Recall = Schemas["RecallInputBody"];
type Texts = Parameters<typeof t>[0];

const felts = ["open", "light", "right", "heavy"] as const;
const sides = ["mesial", "distal"] as const;

/** Choice is a row of buttons of which one may be pressed; pressed once more it is nothing again. */
class Choice<V extends string> {
  readonly root: HTMLElement;
  private now: V | "" = "";
  private buttons: HTMLButtonElement[];

  constructor(label: string, options: readonly [V, string][], private changed: (v: V | "") => void = () => {}) {
    this.buttons = options.map(([v, name]) => el("button", { type: "button", class: "chip", "data-value": v, "aria-pressed": "false", onclick: () => this.set(this.now === v ? "" : v) }, name));
    this.root = el("div", { class: "choice", role: "group", "aria-label": label }, el("span", { class: "choice-name" }, label), el("span", { class: "chips" }, ...this.buttons));
  }

  get value(): V | "" {
    return this.now;
  }
  set(v: V | ""): void {
    this.now = v;
    for (const b of this.buttons) b.setAttribute("aria-pressed", String(b.dataset.value === v));
    this.changed(v);
  }
}

/** Measure is a length that is typed in micrometres or millimetres; empty when nobody said. */
class Measure {
  readonly root: HTMLElement;
  readonly input: HTMLInputElement;

  constructor(id: string, label: string, private scale: number, limits: { min: number; max: number; step: number }) {
    this.input = el("input", { id, type: "number", inputmode: "decimal", ...limits, autocomplete: "off" });
    this.root = el("label", { class: "measure" }, el("span", {}, label), this.input);
  }

  /** value is in millimetres. @throws when what stands there cannot be. */
  get value(): number | undefined {
    if (!this.input.reportValidity()) throw new Error(this.input.validationMessage);
    return this.input.value === "" ? undefined : this.input.valueAsNumber * this.scale;
  }
}

const words = <V extends string>(prefix: string, values: readonly V[]): [V, string][] => values.map((v) => [v, t(`${prefix}_${v.replace("-", "")}` as Texts)]);

export class Found {
  readonly root = el("section", { class: "found", "aria-label": t("outcomesFound"), hidden: true });
  readonly on = el("button", { type: "button", class: "small found-on", "aria-expanded": "false", onclick: () => this.open(this.root.hidden) }, t("outcomesFound"));

  constructor(
    private id: number,
    private tell: (message: string) => void,
    private initials: () => string,
    private kept: () => void,
  ) {}

  /** open shows the two forms, or takes them away. */
  open(on: boolean): void {
    this.root.hidden = !on;
    this.on.setAttribute("aria-expanded", String(on));
    if (!on) return;
    this.draw();
    this.root.scrollIntoView({ block: "start" });
  }

  private draw(): void {
    this.root.replaceChildren(el("div", { class: "found-parts" }, this.tryIn(), this.recall()));
  }

  private tryIn(): HTMLFormElement {
    const date = today("try-in-date");
    const contacts = sides.map((side) => {
      const removed = new Measure(`removed-${side}`, t("outcomesRemoved"), 1e-3, { min: 0, max: 1000, step: 1 });
      removed.root.hidden = true;
      const felt = new Choice(t(side === "mesial" ? "outcomesMesial" : "outcomesDistal"), words("contacts", felts), (v) => (removed.root.hidden = v !== "heavy"));
      return { side, felt, removed };
    });
    const ground = new Measure("ground", t("outcomesGround"), 1e-3, { min: 0, max: 1000, step: 1 });
    ground.root.hidden = true;
    const occlusion = new Choice(t("outcomesOcclusion"), words("outcomesOcclusion", ["out", "even", "high"] as const), (v) => (ground.root.hidden = v !== "high"));
    const seating = new Choice(t("outcomesSeating"), words("outcomesSeating", ["full", "after-adjusting", "not"] as const));
    const margin = new Choice(t("outcomesMargin"), words("outcomesMargin", ["smooth", "felt", "open"] as const));
    const setting = new Measure("setting", t("outcomesSetting"), 1e-3, { min: -1000, max: 1000, step: 1 });
    const remade = new Choice(t("outcomesRemade"), words("outcomesRemade", ["no", "yes"] as const));
    const why = el("input", { id: "try-in-why", maxlength: "2000", autocomplete: "off" });
    const dentist = el("input", { id: "try-in-dentist", maxlength: "40", autocomplete: "off", value: localStorage.getItem("dentist") ?? "" });
    return this.form(
      "try-in",
      t("outcomesTryIn"),
      [...contacts.flatMap((c) => [c.felt.root, c.removed.root]), setting.root, occlusion.root, ground.root, seating.root, margin.root, remade.root, field(t("outcomesWhy"), why), el("div", { class: "two" }, field(t("outcomesDate"), date), field(t("outcomesDentist"), dentist))],
      async () => {
        localStorage.setItem("dentist", dentist.value.trim());
        const body: TryIn = { ...said(this.initials()), date: date.value, dentist: dentist.value.trim(), contacts: contacts.filter((c) => c.felt.value).map((c) => ({ side: c.side, felt: c.felt.value as "open", removed: c.felt.value === "heavy" ? c.removed.value : undefined, setting: setting.value })), remade: remade.value === "yes", why: why.value.trim() };
        if (occlusion.value) body.occlusion = occlusion.value;
        if (occlusion.value === "high") body.ground = ground.value;
        if (seating.value) body.seating = seating.value;
        if (margin.value) body.margin = margin.value;
        await got(api.POST("/api/cases/{id}/entries/try-ins", { params: { path: { id: this.id } }, body }));
      },
    );
  }

  private recall(): HTMLFormElement {
    const date = today("recall-date");
    const bleeding = new Choice(t("outcomesBleeding"), words("outcomesRemade", ["no", "yes"] as const));
    const probing = new Measure("probing", t("outcomesProbing"), 1, { min: 0, max: 20, step: 0.5 });
    const retention = new Choice(t("outcomesRetention"), words("outcomesRetention", ["firm", "recemented", "lost"] as const));
    const fracture = new Choice(t("outcomesFracture"), words("outcomesFracture", ["none", "polished", "repairable", "lost"] as const));
    const caries = new Choice(t("outcomesCaries"), words("outcomesCaries", ["none", "watched", "treated", "deep"] as const));
    const margin = new Choice(t("outcomesMargin"), words("outcomesMargin", ["smooth", "felt", "open"] as const));
    const contacts = sides.map((side) => ({ side, felt: new Choice(t(side === "mesial" ? "outcomesMesial" : "outcomesDistal"), words("contacts", felts)) }));
    const end = el("select", { id: "recall-end" }, el("option", { value: "" }, t("outcomesInUse")), ...words("outcomesEnd", ["fracture", "caries", "loosening", "root", "periodontal", "tooth-lost", "wish"] as const).map(([v, name]) => el("option", { value: v }, name)));
    const remark = el("input", { id: "recall-remark", maxlength: "2000", autocomplete: "off" });
    return this.form(
      "recall",
      t("outcomesRecall"),
      [bleeding.root, probing.root, retention.root, fracture.root, caries.root, margin.root, ...contacts.map((c) => c.felt.root), field(t("outcomesEnd"), end), field(t("remark"), remark), field(t("outcomesDate"), date), el("p", { class: "quiet" }, t("outcomesCriteria"))],
      async () => {
        const body: Recall = { ...said(this.initials()), date: date.value, contacts: contacts.filter((c) => c.felt.value).map((c) => ({ side: c.side, felt: c.felt.value as "open" })), probing: probing.value, remark: remark.value.trim() };
        if (bleeding.value) body.bleeding = bleeding.value === "yes";
        if (retention.value) body.retention = retention.value;
        if (fracture.value) body.fracture = fracture.value;
        if (caries.value) body.caries = caries.value;
        if (margin.value) body.margin = margin.value;
        if (end.value) body.end = end.value as "wish";
        await got(api.POST("/api/cases/{id}/entries/recalls", { params: { path: { id: this.id } }, body }));
      },
    );
  }

  private form(name: string, title: string, parts: HTMLElement[], keep: () => Promise<void>): HTMLFormElement {
    const button = el("button", { type: "submit", class: "primary" }, t("keep"));
    const f = el("form", { class: `found-part ${name}`, novalidate: true }, el("h2", {}, title), ...parts, button);
    f.addEventListener("submit", (e) => {
      e.preventDefault();
      if (button.disabled) return;
      button.disabled = true;
      keep()
        .then(() => {
          this.tell(t("entryKept"));
          this.draw();
          this.kept();
        })
        .catch((err: Error) => this.tell(err.message))
        .finally(() => (button.disabled = false));
    });
    return f;
  }
}

/** said is who says so. @throws when nobody has entered initials. */
function said(who: string): { who: string } {
  if (who) return { who };
  throw new Error(t("whoFirst"));
}

const field = (label: string, input: HTMLElement): HTMLElement => el("div", { class: "field" }, el("label", { for: input.id }, label), input);

/** today is an input of a date, with today's in it. */
function today(id: string): HTMLInputElement {
  const d = new Date();
  return el("input", { id, type: "date", required: true, value: new Date(d.getTime() - 60000 * d.getTimezoneOffset()).toISOString().slice(0, 10) });
}
