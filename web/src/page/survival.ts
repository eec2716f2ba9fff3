// How long the practice's crowns last: the share in use over time with those
// at risk below, what was lost for which kind of reason, groups side by side.
import { api, got, type Schemas } from "./api";
import { Chart, type Line } from "./chart";
import { el } from "./dom";
import { number } from "./format";
import { familyName } from "./luting";
import { material, t } from "./text";

type Survival = Schemas["Survival"];
type Lasting = Schemas["Lasting"];
type Step = Schemas["Step"];
type By = Survival["by"];

const percent = (share: number): string => number(100 * share, share < 1 && (share > 0.99 || (share > 0 && share < 0.1)) ? 1 : 0);
const dashes = [[], [10, 5], [3, 4], [14, 4, 3, 4], [6, 3]];

export class SurvivalPage {
  readonly root = el("main", { id: "content", class: "practice survival-page", tabindex: "-1" });
  private by: By = "material";
  private sentence = el("p", { class: "sentence", role: "status" });
  private inUse = new Chart("tall");
  private lost = new Chart();
  private groups = new Chart();
  private risk = el("div", { class: "risk" });
  private table = el("div");
  private choose = el("select", { id: "survival-by", onchange: () => ((this.by = this.choose.value as By), void this.ask()) });

  constructor(private tell: (message: string) => void) {}

  async load(): Promise<void> {
    this.choose.replaceChildren(...(["material", "luting", "said"] as const).map((b) => el("option", { value: b }, t(`survivalBy_${b}`))));
    this.root.replaceChildren(
      el("h1", {}, t("survival")),
      this.sentence,
      el("p", { class: "quiet" }, t("survivalNote")),
      el("section", { class: "panel" }, el("h2", {}, t("survivalInUse")), this.inUse.root, this.risk),
      el(
        "div",
        { class: "charts" },
        el("section", { class: "panel" }, el("div", { class: "bar-head plain" }, el("h2", {}, t("survivalGroups")), el("div", { class: "field inline" }, el("label", { for: "survival-by" }, t("survivalBy")), this.choose)), this.groups.root, this.table),
        el("section", { class: "panel" }, el("h2", {}, t("survivalLost")), this.lost.root, el("p", { class: "quiet" }, t("survivalCauses"))),
      ),
    );
    await this.ask();
    this.root.dataset.ready = "survival";
  }

  private async ask(): Promise<void> {
    try {
      this.show(await got(api.GET("/api/practice/survival", { params: { query: { by: this.by } } })));
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  private show(s: Survival): void {
    const all = s.all;
    for (const p of this.root.querySelectorAll<HTMLElement>(".panel")) p.hidden = all.crowns === 0;
    const last = all.years.at(-1);
    this.sentence.replaceChildren(all.crowns === 0 ? t("survivalNone") : last && last.time > 0 ? t(all.ended === 1 ? "survivalOne" : "survivalSays", { n: all.crowns, ended: all.ended, years: last.time === 1 ? t("survivalYear") : t("survivalYearsOf", { n: number(last.time, 0) }), share: percent(last.share), low: percent(last.low), high: percent(last.high) }) : t("survivalShort", { n: all.crowns, ended: all.ended }));
    if (all.crowns === 0) return;
    this.drawInUse(s);
    this.drawLost(all);
    this.drawGroups(s);
  }

  private drawInUse(s: Survival): void {
    const end = Math.max(1, s.all.longest);
    const { x, at } = steps(s.all.in_use, 1, end);
    const floor = 100 * Math.min(0.9, Math.floor(20 * Math.min(...s.all.in_use.map((p) => p.low), 1)) / 20);
    const published = s.published.filter((p) => p.years <= Math.max(5, end));
    const reach = [...x];
    this.inUse.show({
      says: t("survivalInUse"),
      x: reach,
      lines: [
        { name: "", values: at((p) => 100 * p.high), tone: "quiet", width: 1, stepped: true },
        { name: "", values: at((p) => 100 * p.low), tone: "quiet", width: 1, stepped: true },
        { name: t("survivalOwn"), values: at((p) => 100 * p.share), stepped: true, width: 3 },
      ],
      bands: [[0, 1]],
      y: [floor, 100.5],
      xName: t("survivalYears"),
      yName: t("survivalShare"),
      xs: (v) => number(v, v % 1 ? 1 : 0),
      ys: (v) => number(v, 0),
    });
    this.risk.replaceChildren(
      el(
        "table",
        { class: "table" },
        el("thead", {}, el("tr", {}, el("th", {}, t("survivalAfter")), ...s.all.years.map((y) => el("th", { class: "figure" }, number(y.time, 0))))),
        el(
          "tbody",
          {},
          el("tr", {}, el("th", {}, t("survivalRisk")), ...s.all.years.map((y) => el("td", { class: "figure" }, String(y.risk)))),
          el("tr", {}, el("th", {}, t("survivalOwn")), ...s.all.years.map((y) => el("td", { class: "figure" }, t("survivalCell", { share: percent(y.share), low: percent(y.low), high: percent(y.high) })))),
        ),
      ),
      el("p", { class: "quiet" }, t("survivalPublished"), " ", ...published.map((p) => el("span", { class: "published" }, t("survivalFigure", { what: t(`survivalPublished_${p.name.replace("-", "") as "zirconia"}`), share: number(100 * p.share, 1), years: p.years }))), el("span", { lang: "en" }, ` (${published[0]?.source ?? ""})`)),
    );
  }

  private drawLost(all: Lasting): void {
    const end = Math.max(1, all.longest);
    const times = [...new Set([0, ...all.lost.flatMap((l) => l.steps).map((p) => p.time), end])].sort((a, b) => a - b);
    const most = Math.max(0.02, ...all.lost.flatMap((l) => l.steps).map((p) => p.share));
    const lines: Line[] = all.lost.map((l, k) => ({ name: t(`survivalCause_${l.cause}`), values: times.map((x) => 100 * (l.steps.filter((p) => p.time <= x).at(-1)?.share ?? 0)), stepped: true, dash: dashes[k] }));
    this.lost.show({ says: t("survivalLost"), x: times, lines, y: [0, 115 * most], xName: t("survivalYears"), yName: t("survivalLostShare"), xs: (v) => number(v, v % 1 ? 1 : 0), ys: (v) => number(v, 1) });
  }

  private drawGroups(s: Survival): void {
    const name = (g: Lasting) => (g.name === "" ? t("survivalUnknown") : s.by === "material" ? material(g.name) : s.by === "said" ? t(`survivalSaid_${g.name as "fails"}`) : familyName(g.name));
    const end = Math.max(1, s.all.longest);
    const times = [...new Set([0, ...s.groups.flatMap((g) => g.in_use.map((p) => p.time)), end])].sort((a, b) => a - b);
    const low = Math.min(0.95, ...s.groups.flatMap((g) => g.in_use.map((p) => p.share)));
    this.groups.show({
      says: t("survivalGroups"),
      x: times,
      lines: s.groups.map((g, k) => ({ name: name(g), values: times.map((x) => (x > g.longest ? null : 100 * (g.in_use.filter((p) => p.time <= x).at(-1)?.share ?? 1))), stepped: true, dash: dashes[k % dashes.length] })),
      y: [100 * Math.floor(20 * low) / 20, 100.5],
      xName: t("survivalYears"),
      yName: t("survivalShare"),
      xs: (v) => number(v, v % 1 ? 1 : 0),
      ys: (v) => number(v, 0),
    });
    const rows = s.groups.map((g) => {
      const y = g.years.at(-1)!;
      return el("tr", {}, el("td", {}, name(g)), el("td", { class: "figure" }, String(g.crowns)), el("td", { class: "figure" }, String(g.ended)), el("td", { class: "figure" }, number(y.time, 0)), el("td", { class: "figure" }, t("survivalCell", { share: percent(y.share), low: percent(y.low), high: percent(y.high) })));
    });
    const d = s.difference;
    this.table.replaceChildren(
      el("table", { class: "table" }, el("thead", {}, el("tr", {}, el("th", {}, t(`survivalBy_${s.by}`)), ...[t("survivalCrowns"), t("survivalEnded"), t("survivalAfter"), t("survivalCellHead")].map((h) => el("th", { class: "figure" }, h)))), el("tbody", {}, ...rows)),
      el("p", { class: "quiet" }, d ? t("survivalDifference", { chi: number(d.chi_sq, 2), freedom: d.freedom, p: number(d.p, 3) }) : t("survivalNoDifference")),
    );
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {
    for (const c of [this.inUse, this.lost, this.groups]) c.redraw();
  }
  end(): void {
    for (const c of [this.inUse, this.lost, this.groups]) c.end();
  }
}

/** steps are the times of a curve from 0 to its end, and its values there. */
function steps(curve: readonly Step[], start: number, end: number): { x: number[]; at: (of: (p: Step) => number) => number[] } {
  const first: Step = { time: 0, risk: 0, lost: 0, share: start, se: 0, low: start, high: start };
  const all = [first, ...curve];
  const x = [...all.map((p) => p.time), end];
  return { x, at: (of) => [...all, all.at(-1)!].map(of) };
}
