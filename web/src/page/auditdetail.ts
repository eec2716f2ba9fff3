// One reading of the audit looked at closely: its distribution, over time, by
// month, dentist and tooth.
import type uPlot from "uplot";
import type { Schemas } from "./api";
import { histogram } from "./audithist";
import { caseName, fails } from "./auditword";
import { Chart, type Line } from "./chart";
import { el } from "./dom";
import { day, number, unit } from "./format";
import type { Look } from "./look";
import { locale, readingName, said, t } from "./text";
import { toothNumber, universalOf } from "./tooth";

type Detail = Schemas["Detail"];
type Point = Schemas["Point"];
type Texts = Parameters<typeof t>[0];

const listed = 12; // cases outside that are listed

const outside = (p: Point): boolean => p.out || p.average_out;
const toothOf = (iso: string): string => toothNumber({ iso, universal: universalOf(iso) });

export class AuditDetail {
  readonly root = el("section", { class: "panel audit-detail", "aria-live": "polite" });
  private time = new Chart();
  private months = new Chart("low");
  private shown: Detail | null = null;

  show(d: Detail): void {
    this.shown = d;
    const s = d.summary;
    this.root.replaceChildren(
      el("h2", {}, readingName(s.reading, s.name)),
      ...this.says(d).map((text) => el("p", {}, text)),
      s.bins.length ? el("div", { class: "audit-slot", dir: "ltr" }, histogram(s, 760, 190, true)) : "",
      s.further_limits ? el("p", { class: "quiet" }, t("auditFurther", { n: s.further_limits })) : "",
      ...(s.reasons.length ? [el("h3", {}, t("auditReasons")), el("ul", {}, ...s.reasons.slice(0, 4).map((r) => el("li", {}, said("span", r.text), ` (${r.count})`)))] : []),
      ...(s.values ? this.overTime(d) : []),
      ...(s.fails.of ? [this.table(t("auditByDentist"), t("auditDentist"), d, d.dentists, (n) => n)] : []),
      ...(s.fails.of ? [this.table(t("auditByTooth"), t("auditTooth"), d, d.teeth, toothOf)] : []),
    );
    this.draw(d);
  }

  private says(d: Detail): string[] {
    const s = d.summary;
    const n = (v: number) => `${number(v, s.digits)}${unit(s.unit)}`;
    const { p5, p25, median, p75, p95 } = s.quantiles;
    const out = [t(s.values === 1 ? "auditCountsOne" : "auditCounts", { n: s.values, without: s.unmeasured })];
    if (median !== null) out.push(p25 !== null && p75 !== null ? t("auditMedian", { median: n(median), low: n(p25), high: n(p75) }) : t("auditMedianOnly", { median: n(median) }));
    if (p5 !== null && p95 !== null) out.push(t("auditMost", { low: n(p5), high: n(p95) }));
    const told = [out.join(" ")];
    if (s.fails.of) told.push([fails(s.fails) + ".", s.undecided.count ? `${t("auditUndecided", { n: s.undecided.count })}.` : "", t("auditInterval")].filter(Boolean).join(" "));
    return told;
  }

  private overTime(d: Detail): (HTMLElement | string)[] {
    if (!d.chart) return [el("h3", {}, t("auditOverTime")), el("p", { class: "quiet" }, t("auditNoChart"))];
    const out = d.chart.points.filter(outside);
    return [
      el("h3", {}, t("auditOverTime")),
      this.time.root,
      el("p", { class: "quiet" }, t("auditOverTimeKey")),
      ...(out.length ? [el("h3", {}, t("auditOut")), el("ul", {}, ...out.slice(-listed).map((p) => this.outCase(d, p)), out.length > listed ? el("li", { class: "quiet" }, t("auditMoreOut", { n: out.length - listed })) : "")] : []),
      ...(d.coincides.length ? [el("h3", {}, t("auditTogether")), el("ul", {}, ...d.coincides.slice(0, 5).map((c) => el("li", {}, together(c)))), el("p", { class: "quiet" }, t("auditTogetherNot"))] : []),
      ...(d.shares.length ? [el("h3", {}, t("auditByMonth")), this.months.root, el("p", { class: "quiet" }, t("auditByMonthKey"))] : []),
    ];
  }

  private outCase(d: Detail, p: Point): HTMLElement {
    const text = t("auditOutCase", { case: caseName(p.case), day: day(p.date), tooth: toothOf(p.tooth), value: `${number(p.value, d.summary.digits)}${unit(d.summary.unit)}` });
    const more = [p.dentist ? t("auditOutDentist", { code: p.dentist }) : "", p.out ? "" : t("auditAverageOut")].filter(Boolean);
    return el("li", {}, el("a", { href: `#/case/${p.case.replace("case ", "")}` }, text), more.length ? ` · ${more.join(" · ")}` : "");
  }

  private table(title: string, head: string, d: Detail, groups: Schemas["Group"][], name: (n: string) => string): HTMLElement {
    const s = d.summary;
    return el(
      "div",
      { class: "wide-table", role: "group", tabindex: "0", "aria-label": title },
      el("h3", {}, title),
      el(
        "table",
        { class: "table" },
        el("thead", {}, el("tr", {}, el("th", {}, head), ...(["auditValues", "auditMedianCol", "auditFailsCol", "auditUndecidedCol"] as const).map((k) => el("th", { class: "figure" }, t(k))))),
        el("tbody", {}, ...groups.map((g) => el("tr", {}, el("td", {}, g.name ? name(g.name) : t("auditUnknown")), el("td", { class: "figure" }, String(g.values)), el("td", { class: "figure" }, g.median === null ? "–" : `${number(g.median, s.digits)}${unit(s.unit)}`), el("td", { class: "figure" }, fails(g.fails), g.few && g.fails.of ? el("span", { class: "quiet" }, ` · ${t("auditFewCases")}`) : ""), el("td", { class: "figure" }, String(g.undecided.count))))),
      ),
    );
  }

  private draw(d: Detail): void {
    if (d.chart) this.drawTime(d, d.chart);
    if (d.chart && d.shares.length) this.drawMonths(d);
  }

  private drawTime(d: Detail, c: Schemas["Chart"]): void {
    const s = d.summary;
    const ps = c.points;
    const flat = (v: number) => ps.map(() => v);
    const lines: Line[] = [
      { name: "", values: ps.map((p) => p.value), points: true },
      { name: t("auditChance"), values: flat(c.high), tone: "quiet", width: 1.5, dash: [8, 6] },
      { name: t("auditChance"), values: flat(c.low), tone: "quiet", width: 1.5, dash: [8, 6] },
      { name: t("auditAverage"), values: ps.map((p) => p.average), width: 2.5 },
    ];
    const limit = s.limits.length === 1 && s.further_limits === 0 ? s.limits[0] : null;
    for (const v of [limit?.min, limit?.max]) if (v !== null && v !== undefined) lines.push({ name: t("auditLimit"), values: flat(v), tone: "accent", width: 2, dash: [14, 5] });
    const all = lines.flatMap((l) => l.values as number[]);
    this.time.show({
      says: `${t("auditOverTime")}: ${readingName(s.reading, s.name)}`,
      x: ps.map((_p, i) => i),
      lines,
      y: reach(all),
      xName: "",
      yName: `${readingName(s.reading, s.name)}${s.unit === "1" ? "" : `,${unit(s.unit)}`}`,
      xs: (v) => (Number.isInteger(v) && ps[v] ? short(ps[v].date) : ""),
      ys: (v) => number(v, Math.max(s.digits, 0)),
      mark: (u, look) => rings(u, look, ps.flatMap((p, i) => (outside(p) ? [[i, p.out ? p.value : p.average] as [number, number]] : []))),
    });
  }

  private drawMonths(d: Detail): void {
    const ms = d.shares;
    this.months.show({
      says: t("auditByMonth"),
      x: ms.map((_m, i) => i),
      lines: [
        { name: "", values: ms.map((m) => 100 * m.share), points: true },
        { name: "", values: ms.map((m) => 100 * m.share), width: 1.5 },
        { name: t("auditChance"), values: ms.map((m) => 100 * m.high), tone: "quiet", width: 1.5, dash: [8, 6] },
        { name: "", values: ms.map((m) => 100 * m.low), tone: "quiet", width: 1.5, dash: [8, 6] },
      ],
      y: [0, Math.min(105, 1.15 * Math.max(10, ...ms.flatMap((m) => [100 * m.high, 100 * m.share])))],
      xName: "",
      yName: t("auditShare"),
      xs: (v) => (Number.isInteger(v) && ms[v] ? short(`${ms[v].month}-01`) : ""),
      ys: (v) => number(v, 0),
      mark: (u, look) => rings(u, look, ms.flatMap((m, i) => (m.out ? [[i, 100 * m.share] as [number, number]] : []))),
    });
  }

  restyle(): void {
    if (this.shown) this.show(this.shown);
  }

  end(): void {
    this.time.end();
    this.months.end();
  }
}

/** together says what cases outside have in common. */
function together(c: Schemas["Coincidence"]): string {
  const [thing, ...lot] = c.name.split(" ");
  const name = c.what === "used" ? t(`auditThing_${thing}` as Texts, { lot: lot.join(" ") }) : c.what === "tooth" ? toothOf(c.name) : c.name;
  const key = { dentist: "auditTogetherDentist", tooth: "auditTogetherTooth", used: "auditTogetherUsed" } as const;
  return t(key[c.what], { name, out: c.out, outOf: c.out_of, in: c.in, inOf: c.in_of });
}

/** short is a day as a month and a year. */
const short = (date: string): string => new Intl.DateTimeFormat(locale(), { month: "short", year: "2-digit", timeZone: "UTC" }).format(new Date(date));

/** reach is the range of a chart with some room. */
function reach(all: number[]): [number, number] {
  const [lo, hi] = [Math.min(...all), Math.max(...all)];
  const room = (hi - lo || Math.abs(hi) || 1) * 0.08;
  return [lo - room, hi + room];
}

/** rings draws a ring round points. */
function rings(u: uPlot, c: Look, at: [number, number][]): void {
  const dpr = devicePixelRatio;
  u.ctx.save();
  u.ctx.strokeStyle = c.ink;
  u.ctx.lineWidth = 2.5 * dpr;
  for (const [x, y] of at) {
    u.ctx.beginPath();
    u.ctx.arc(u.valToPos(x, "x", true), u.valToPos(y, "y", true), 8 * dpr, 0, 2 * Math.PI);
    u.ctx.stroke();
  }
  u.ctx.restore();
}
