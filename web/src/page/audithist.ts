// The distribution of a reading over all cases, drawn against its limits.
import type { Schemas } from "./api";
import { svg } from "./dom";
import { number, unit } from "./format";
import { limitText } from "./ledger";
import { readingName, t } from "./text";

export type Summary = Schemas["Summary"];

const drawn = 3; // limits that are drawn; each has its words
const letter = 0.56; // of a letter's size: how wide it is, on average

/** edges are the limits that are drawn, each once. */
function edges(s: Summary): { at: number; text: string }[] {
  const out: { at: number; text: string }[] = [];
  for (const l of s.limits.slice(0, drawn)) {
    for (const side of [l.min === null ? null : { min: l.min }, l.max === null ? null : { max: l.max }]) {
      if (!side) continue;
      const at = (side as { min?: number }).min ?? (side as { max: number }).max;
      if (!out.some((e) => e.at === at)) out.push({ at, text: `${limitText({ ...side, source: "", status: "" }, s.digits)}${unit(s.unit)}` });
    }
  }
  return out;
}

/** histogram draws the bars with the limits in so many pixels; a large one has figures below. */
export function histogram(s: Summary, width: number, height: number, large: boolean): SVGElement {
  const box = { class: large ? "audit-hist large" : "audit-hist", viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": t("auditDistribution", { name: readingName(s.reading, s.name), n: s.values }) };
  if (s.bins.length === 0) return svg("svg", box);
  const limits = edges(s);
  const ends = [s.bins[0].from, s.bins.at(-1)!.to, ...limits.map((e) => e.at)];
  const [lo, hi] = [Math.min(...ends), Math.max(...ends)];
  const pad = (hi - lo || Math.abs(hi) || 1) * 0.04;
  const x = (v: number) => ((v - lo + pad) / (hi - lo + 2 * pad)) * width;
  const size = 15;
  const [top, foot] = [limits.length ? size * 1.5 : 2, large ? size * 1.6 : 1];
  const most = Math.max(...s.bins.map((b) => b.count));
  const tall = (n: number) => (n / most) * (height - top - foot);
  const bars = s.bins.map((b) => {
    const w = Math.max(x(b.to) - x(b.from) - 1, 3);
    const alone = b.from === b.to ? w * 2 : 0; // beside its limit, when it lies on it
    return svg("rect", { class: "audit-bar", x: x(b.from) - alone, y: height - foot - tall(b.count), width: w, height: tall(b.count) });
  });
  const lines = limits.map((e, i) => {
    const right = x(e.at) > width / 2;
    // the second one stands lower, so that two do not cover one another
    const y = size + (i % 2 ? size * 1.15 : 0);
    const wide = e.text.length * size * letter;
    const past = right ? Math.max(0, wide + 5 - x(e.at)) : Math.min(0, width - wide - 5 - x(e.at)); // a long one in the middle goes over its line rather than out of the drawing
    return svg("g", {}, svg("line", { class: "audit-limit", x1: x(e.at), x2: x(e.at), y1: 2, y2: height - foot }), svg("text", { class: "audit-word", x: x(e.at) + (right ? -5 : 5) + past, y, "text-anchor": right ? "end" : "start", "font-size": size }, e.text));
  });
  const base = svg("line", { class: "audit-base", x1: 0, x2: width, y1: height - foot + 0.5, y2: height - foot + 0.5 });
  const figures = large ? [0, 1, 2, 3, 4].map((k) => lo + ((hi - lo) * k) / 4).map((v, k) => svg("text", { class: "audit-figure", x: x(v), y: height - 3, "text-anchor": k === 0 ? "start" : k === 4 ? "end" : "middle", "font-size": size }, number(v, s.digits))) : [];
  return svg("svg", box, ...bars, base, ...lines, ...figures);
}
