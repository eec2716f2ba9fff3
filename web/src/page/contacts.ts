// What the practice's own contacts tell: the design that needs no adjusting,
// what makes contacts tighter, and whether they have changed over time.
import type uPlot from "uplot";
import { api, got, type Schemas } from "./api";
import { Chart, upright } from "./chart";
import { el } from "./dom";
import { day, number } from "./format";
import { material, t } from "./text";

type Report = Schemas["ContactReport"];
type Reason = NonNullable<Report["advice"]>["not"][number];

const felts = ["open", "light", "right", "heavy"] as const;
const um = (mm: number): string => number(Math.round(1000 * mm), 0);

/** tight is a tightness in words. */
function tight(mm: number): string {
  const v = Math.round(1000 * mm);
  if (v === 0) return t("contactsTouching");
  return t(v > 0 ? "contactsOverlap" : "contactsGap", { um: number(Math.abs(v), 0) });
}

/** between is an interval of tightness in words. */
const between = (low: number, high: number): string => (low > 0.0005 && high > 0.0005 ? t("contactsBetween", { low: um(low), high: um(high) }) : t("contactsFromTo", { low: tight(low), high: tight(high) }));

export class ContactsPage {
  readonly root = el("main", { id: "content", class: "practice contacts-page", tabindex: "-1" });
  private sentence = el("p", { class: "sentence", role: "status" });
  private more = el("p", { class: "quiet" });
  private shares = new Chart();
  private losses = new Chart("low");
  private drift = new Chart("low");
  private driftSays = el("p", {});
  private effects = el("div");
  private asked = { scale: "designed" as "designed" | "setting", side: "" as "" | "mesial" | "distal", jaw: "" as "" | "upper" | "lower", material: "" };
  private filters = el("form", { class: "filters" });
  private costs = el("form", { class: "costs" });
  private allEffects = false;
  private asking = new AbortController();

  constructor(private tell: (message: string) => void) {}

  async load(): Promise<void> {
    this.root.replaceChildren(
      el("h1", {}, t("contacts")),
      this.sentence,
      this.more,
      this.filters,
      el("div", { class: "charts" }, el("section", { class: "panel" }, el("h2", {}, t("contactsFeltAt")), this.shares.root), el("section", { class: "panel" }, el("h2", {}, t("contactsLossAt")), this.losses.root, this.costs)),
      el("section", { class: "panel" }, el("h2", {}, t("contactsDrift")), this.driftSays, this.drift.root),
      el("section", { class: "panel" }, el("h2", {}, t("contactsEffects")), this.effects),
    );
    await this.ask();
    this.root.dataset.ready = "contacts";
  }

  /** ask asks anew; what was asked before is given up. Learning from many contacts takes seconds, once. */
  private async ask(): Promise<void> {
    this.asking.abort();
    const { signal } = (this.asking = new AbortController());
    const wait = window.setTimeout(() => this.more.replaceChildren(t("contactsLearning")), 300);
    this.root.setAttribute("aria-busy", "true");
    try {
      this.show(await got(api.GET("/api/practice/contacts", { params: { query: this.asked }, signal })));
    } catch (e) {
      if (!signal.aborted) this.tell((e as Error).message);
    } finally {
      clearTimeout(wait);
      if (!signal.aborted) this.root.setAttribute("aria-busy", "false");
    }
  }

  private show(r: Report): void {
    const a = r.advice;
    this.drawFilters(r);
    this.drawCosts(r.losses);
    this.sentence.replaceChildren(this.says(r));
    this.more.replaceChildren([r.contacts ? t("contactsKnown", { n: r.contacts }) : "", r.unknown ? t("contactsUnknown", { n: r.unknown }) : "", a?.edge && a.not.length === 0 ? t("contactsEdge") : ""].filter(Boolean).join(" "));
    for (const c of this.root.querySelectorAll<HTMLElement>(".panel")) c.hidden = !a;
    if (!a) return;
    const x = a.curve.map((p) => 1000 * p.tightness);
    const frame = { x, xName: t("contactsAxis"), xs: (v: number) => number(v, 0) };
    const best = (u: uPlot, color: string, font: string) => a.not.length === 0 && upright(u, 1000 * a.best, t("contactsBest", { um: um(a.best) }), color, font);
    this.shares.show({
      ...frame,
      says: t("contactsFeltAt"),
      lines: felts.map((f, k) => ({ name: t(`contacts_${f}`), values: a.curve.map((p) => 100 * p.share[k]), tone: f === "right" ? "accent" : "ink", width: f === "right" ? 4 : 2, dash: [[2, 4], [8, 4], [], [14, 4, 2, 4]][k] })),
      y: [0, 100],
      yName: t("contactsShare"),
      ys: (v) => number(v, 0),
      mark: (u, c, font) => best(u, c.accent, font),
    });
    const most = Math.max(...a.curve.map((p) => p.high));
    this.losses.show({
      ...frame,
      says: t("contactsLossAt"),
      lines: [
        { name: "", values: a.curve.map((p) => p.high), tone: "quiet", width: 1 },
        { name: "", values: a.curve.map((p) => p.low), tone: "quiet", width: 1 },
        { name: "", values: a.curve.map((p) => p.loss) },
      ],
      bands: [[0, 1]],
      y: [0, 1.05 * most],
      yName: t("contactsLoss"),
      ys: (v) => number(v, 1),
      mark: (u, c, font) => best(u, c.accent, font),
    });
    this.drawDrift(r);
    this.drawEffects(r);
  }

  /** says is the answer in a sentence. */
  private says(r: Report): string {
    const a = r.advice;
    if (!a) return t("contactsNone");
    if (a.not.length > 0) return t("contactsNot", { why: a.not.map((n) => this.reason(n, r)).join("; ") });
    return t(r.scale === "designed" ? "contactsDesign" : "contactsSet", { best: tight(a.best), interval: between(a.low, a.high) });
  }

  private reason(n: Reason, r: Report): string {
    const a = r.advice!;
    if (n === "contacts") return t("contactsFew", { n: a.contacts, wanted: a.wanted });
    if (n === "wide") return t("contactsWide", { interval: between(a.low, a.high) });
    return t(({ level: "contactsOneLevel", design: "contactsOneDesign", slope: "contactsNoSlope" } as const)[n as "level"]);
  }

  private drawFilters(r: Report): void {
    const choice = (key: "scale" | "side" | "jaw" | "material", label: string, options: [string, string][]) => {
      const s = el("select", { id: `contacts-${key}`, onchange: (e: Event) => (Object.assign(this.asked, { [key]: (e.target as HTMLSelectElement).value }), void this.ask()) }, ...options.map(([v, name]) => el("option", { value: v }, name)));
      s.value = this.asked[key];
      return el("div", { class: "field" }, el("label", { for: s.id }, label), s);
    };
    const on = document.activeElement?.id;
    this.filters.replaceChildren(
      choice("scale", t("contactsScale"), [["designed", t("contactsByDesign")], ["setting", t("contactsBySetting")]]),
      choice("side", t("contactsSide"), [["", t("contactsBoth")], ["mesial", t("contactsMesial")], ["distal", t("contactsDistal")]]),
      choice("jaw", t("contactsJaw"), [["", t("contactsBoth")], ["upper", t("contactsUpper")], ["lower", t("contactsLower")]]),
      choice("material", t("material"), [["", t("contactsAnyMaterial")], ...r.materials.map((m): [string, string] => [m, material(m)])]),
    );
    if (on?.startsWith("contacts-")) document.getElementById(on)?.focus();
  }

  private drawCosts(losses: number[]): void {
    if (this.costs.contains(document.activeElement)) return;
    const inputs = felts.map((f, k) => el("input", { id: `cost-${f}`, type: "number", min: "0", step: "any", value: String(losses[k]) }));
    const keep = async () => {
      try {
        await got(api.PUT("/api/practice/losses", { body: { losses: inputs.map((i) => i.valueAsNumber) } }));
        await this.ask();
      } catch (e) {
        this.tell((e as Error).message);
      }
    };
    for (const i of inputs) i.addEventListener("change", () => void keep());
    this.costs.replaceChildren(el("p", {}, t("contactsCosts")), ...felts.map((f, k) => el("div", { class: "field" }, el("label", { for: inputs[k].id }, t(`contacts_${f}`)), inputs[k])));
    this.costs.onsubmit = (e) => e.preventDefault();
  }

  private drawDrift(r: Report): void {
    const d = r.drift;
    if (!d) return;
    const parts: string[] = [];
    if (d.out >= 0) parts.push(t(d.points[d.out].average > 0 ? "contactsTighter" : "contactsLooser", { since: day(d.points[d.since].date), seen: day(d.points[d.out].date) }));
    if (d.with) parts.push(t(d.with.surprise > 0 ? "contactsWithTighter" : "contactsWithLooser", { what: t(d.with.what === "tool" ? "thingTool" : "block"), name: d.with.name, n: d.with.contacts }));
    this.driftSays.replaceChildren(parts.join(" ") || t("contactsSteady"));
    const x = d.points.map((p, i) => Date.parse(p.date) / 1000 + i * 1e-3); // two contacts of a day stand beside one another
    const reach = Math.max(...d.points.map((p) => Math.max(Math.abs(p.average), p.high))) * 1.15;
    this.drift.show({
      says: t("contactsDrift"),
      x,
      time: true,
      lines: [
        { name: "", values: d.points.map((p) => p.high), tone: "quiet", width: 1.5, dash: [6, 4] },
        { name: t("contactsLimits"), values: d.points.map((p) => p.low), tone: "quiet", width: 1.5, dash: [6, 4] },
        { name: "", values: d.points.map((p) => p.average) },
      ],
      bands: [[0, 1]],
      y: [-reach, reach],
      xName: "",
      yName: t("contactsSurprise"),
      xs: (v) => day(new Date(1000 * v).toISOString()),
      ys: (v) => number(v, 1),
      mark: (u, c, font) => d.out >= 0 && upright(u, x[d.since], t("contactsSince"), c.accent, font, [3, 4]),
    });
  }

  private drawEffects(r: Report): void {
    const what: Record<string, string> = { side: t("contactsSide"), jaw: t("contactsJaw"), material: t("material"), tool: t("thingTool"), block: t("block") };
    const name = (e: Report["effects"][number]) => (e.what === "material" ? material(e.name) : e.what === "side" ? t("contactsDistalMesial") : e.what === "jaw" ? t("contactsUpperLower") : e.name);
    const sure = (e: Report["effects"][number]) => e.low > 0 || e.high < 0;
    const told = r.effects.filter((e) => this.allEffects || sure(e) || !["tool", "block"].includes(e.what));
    const more = el("button", { type: "button", class: "small", onclick: () => ((this.allEffects = true), this.drawEffects(r)) }, t("contactsMore", { n: r.effects.length - told.length }));
    const rows = told.map((e) =>
      el("tr", { class: sure(e) ? "sure" : "" }, el("td", {}, what[e.what]), el("td", {}, name(e)), el("td", { class: "figure" }, String(e.contacts)), el("td", { class: "figure" }, um(e.mm)), el("td", { class: "figure" }, t("contactsInterval", { low: um(e.low), high: um(e.high) }))),
    );
    this.effects.replaceChildren(
      rows.length ? el("table", { class: "table" }, el("thead", {}, el("tr", {}, el("th", { colspan: "2" }, t("contactsWhat")), ...[t("contactsN"), t("contactsTighterBy"), t("contacts95")].map((h) => el("th", { class: "figure" }, h)))), el("tbody", {}, ...rows)) : el("p", { class: "quiet" }, t("contactsNoEffects")),
      told.length < r.effects.length ? more : "",
      el("p", { class: "quiet" }, t("contactsEffectsNote")),
    );
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {
    for (const c of [this.shares, this.losses, this.drift]) c.redraw();
  }
  end(): void {
    this.asking.abort();
    for (const c of [this.shares, this.losses, this.drift]) c.end();
  }
}
