// The small bar of a reading: a line with the limit as a gate, the value as a
// mark and its uncertainty as a band. No colour says anything here.
import { svg } from "./dom";
import type { Limit } from "./record";

const width = 120;
const height = 22;

/** spanOf chooses the ends of the bar so that limit, value and uncertainty are within. */
export function spanOf(value: number, u: number, limit: Limit | null): [number, number] {
  const marks = [value - u, value + u, limit?.min ?? value, limit?.max ?? value];
  const lo = Math.min(...marks);
  const hi = Math.max(...marks);
  const room = 0.22 * (hi - lo) || Math.max(Math.abs(value), 1) * 0.5;
  return [lo - room, hi + room];
}

/** bar draws a reading against its limit; it is a picture of words that stand beside it. */
export function bar(value: number, uncertainty: number | null, limit: Limit | null): SVGElement {
  const u = uncertainty ?? 0;
  const [lo, hi] = spanOf(value, u, limit);
  const x = (v: number) => (width * (v - lo)) / (hi - lo);
  const mid = height / 2;
  const out = svg("svg", { viewBox: `0 0 ${width} ${height}`, class: "bar", "aria-hidden": "true" });
  const from = limit?.min !== undefined ? x(limit.min) : 0;
  const to = limit?.max !== undefined ? x(limit.max) : width;
  out.append(svg("line", { x1: 0, x2: width, y1: mid, y2: mid, class: "bar-axis" }));
  if (limit) out.append(svg("rect", { x: from, y: mid - 4, width: Math.max(to - from, 0), height: 8, class: "bar-allowed" }));
  for (const edge of [limit?.min, limit?.max]) if (edge !== undefined) out.append(svg("line", { x1: x(edge), x2: x(edge), y1: 1, y2: height - 1, class: "bar-limit" }));
  if (u > 0) out.append(svg("rect", { x: x(value - u), y: mid - 2, width: Math.max(x(value + u) - x(value - u), 1), height: 4, class: "bar-band" }));
  out.append(svg("circle", { cx: x(value), cy: mid, r: 4.6, class: "bar-value" }));
  return out;
}
