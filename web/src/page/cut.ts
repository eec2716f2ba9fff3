// The slice: the section as a drawing with a scale, the surfaces named at their
// lines, the place of the finding and the reading there.
import type { Point, Slice } from "./api";
import { el, svg } from "./dom";
import { dot } from "./frame";
import { readingName, t, word } from "./text";
import { valueText } from "./ledger";
import type { Reading } from "./record";

interface Box {
  x0: number;
  x1: number;
  y0: number;
  y1: number;
}

/** inPlane gives a point of the files in a section's coordinates, and how far it is from the plane, mm. */
export function inPlane(s: Slice, p: readonly number[]): { x: number; y: number; off: number } {
  const d: Point = [0, 1, 2].map((i) => p[i] - s.origin[i]) as Point;
  const x = dot(d, s.right);
  const y = dot(d, s.up);
  return { x, y, off: Math.sqrt(Math.max(0, dot(d, d) - x * x - y * y)) };
}

export class Cut {
  readonly root = el("div", { class: "cut", role: "img" });
  private slice: Slice | null = null;
  private box: Box = { x0: -7, x1: 7, y0: -2.5, y1: 9 };
  /** point is told the place in the section that is pointed at. */
  point: (x: number | null, y: number) => void = () => {};

  constructor() {
    new ResizeObserver(() => this.slice && this.draw()).observe(this.root);
    this.root.addEventListener("pointermove", (e) => {
      const p = this.place(e);
      if (p) this.point(p[0], p[1]);
    });
    this.root.addEventListener("pointerleave", () => this.point(null, 0));
  }

  private place(e: PointerEvent): [number, number] | null {
    const d = this.root.querySelector("svg");
    if (!d) return null;
    const r = d.getBoundingClientRect();
    const k = (this.box.x1 - this.box.x0) / r.width;
    return [this.box.x0 + (e.clientX - r.left) * k, this.box.y1 - (e.clientY - r.top) * k];
  }

  private reading: Reading | null = null;
  private seen: ReadonlySet<string> = new Set();

  /** show draws a section, with the chosen reading where it lies in it. */
  show(s: Slice, r: Reading | null, seen: ReadonlySet<string>): void {
    this.slice = s;
    this.reading = r;
    this.seen = seen;
    this.draw();
  }

  /** fit chooses what is seen: the preparation with what is above it, in the panel's own shape. */
  private fit(): Box {
    const { clientWidth: w, clientHeight: h } = this.root;
    const [y0, y1] = [-2.6, 9.2];
    const wide = ((y1 - y0) * Math.max(w, 1)) / Math.max(h, 1);
    if (wide >= 13) return { x0: -wide / 2, x1: wide / 2, y0, y1 };
    const tall = (13 * h) / Math.max(w, 1);
    return { x0: -6.5, x1: 6.5, y0: 3.3 - tall / 2, y1: 3.3 + tall / 2 };
  }

  private draw(): void {
    const s = this.slice!;
    const { clientWidth: w, clientHeight: h } = this.root;
    if (w < 40 || h < 40) return;
    const b = (this.box = this.fit());
    const k = w / (b.x1 - b.x0);
    const X = (x: number) => (x - b.x0) * k;
    const Y = (y: number) => (b.y1 - y) * k;
    const d = svg("svg", { viewBox: `0 0 ${w} ${h}`, width: w, height: h });
    d.append(svg("line", { x1: X(0), x2: X(0), y1: 0, y2: h, class: "cut-axis" }));
    const named = new Set<string>();
    for (const l of s.lines) {
      if (!this.seen.has(l.role)) continue;
      const pts = (l.points ?? []) as [number, number][];
      d.append(svg("path", { d: path(pts, l.closed, X, Y), class: `cut-line ${l.role}` }));
    }
    for (const l of [...s.lines].sort((a, c) => (c.points?.length ?? 0) - (a.points?.length ?? 0))) {
      if (!this.seen.has(l.role) || named.has(l.role)) continue;
      const at = this.spot(l.points as [number, number][], b, named.size);
      if (!at) continue;
      named.add(l.role);
      d.append(svg("text", { x: X(at[0]), y: Y(at[1]) - 8, class: "cut-name", "text-anchor": "middle" }, word("roles", l.role as "prepared")));
    }
    d.append(this.scale(k, h), this.finding(s, X, Y, w));
    this.root.replaceChildren(d);
  }

  /** spot chooses where along a line its name is written. */
  private spot(pts: [number, number][], b: Box, n: number): [number, number] | null {
    const inside = pts.filter(([x, y]) => x > b.x0 + 2.2 && x < b.x1 - 2.2 && y > b.y0 + 0.6 && y < b.y1 - 0.9);
    if (inside.length === 0) return null;
    const side = n % 2 === 0 ? -1 : 1;
    return inside.reduce((a, c) => (Math.abs(c[0] - side * (b.x1 - 3)) < Math.abs(a[0] - side * (b.x1 - 3)) ? c : a));
  }

  private scale(k: number, h: number): SVGElement {
    const y = h - 16;
    return svg("g", { class: "cut-scale" }, svg("path", { d: `M14 ${y - 5}v10M14 ${y}h${k}m0 -5v10` }), svg("text", { x: 22 + k, y: y + 5 }, t("perMm")));
  }

  private finding(s: Slice, X: (v: number) => number, Y: (v: number) => number, w: number): SVGElement {
    const g = svg("g", { class: "cut-finding" });
    const r = this.reading;
    if (!r?.at || r.value === null) return g;
    const p = inPlane(s, r.at.point);
    if (p.off > 0.35) return g;
    const other = this.across(s, r, p);
    if (other) g.append(svg("line", { x1: X(p.x), y1: Y(p.y), x2: X(other[0]), y2: Y(other[1]), class: "cut-dimension" }), svg("circle", { cx: X(other[0]), cy: Y(other[1]), r: 3.5, class: "cut-end" }));
    g.append(svg("circle", { cx: X(p.x), cy: Y(p.y), r: 9, class: "cut-ring halo" }), svg("circle", { cx: X(p.x), cy: Y(p.y), r: 9, class: "cut-ring" }));
    const right = X(p.x) < w / 2;
    const x = Math.min(Math.max(X(p.x) + (right ? 18 : -18), 10), w - 10);
    g.append(svg("text", { x, y: Y(p.y) + 6, class: "cut-value", "text-anchor": right ? "start" : "end" }, valueText(r)), svg("title", {}, readingName(r.id, r.name)));
    return g;
  }

  /** across is the end of a dimension on the surface that the reading is taken to: the place nearest to the finding. */
  private across(s: Slice, r: Reading, p: { x: number; y: number }): [number, number] | null {
    const role = partner(r.id);
    if (!role || r.unit !== "mm") return null;
    let best: [number, number] | null = null;
    let least = Infinity;
    for (const l of s.lines) {
      if (l.role !== role) continue;
      for (const q of l.points as [number, number][]) {
        const d = Math.hypot(q[0] - p.x, q[1] - p.y);
        if (d < least) [least, best] = [d, q];
      }
    }
    return least < 4 ? best : null;
  }

  /** say sets the words that stand for the drawing. */
  say(azimuth: string, sector: string): void {
    this.root.setAttribute("aria-label", t("sliceLabel", { a: azimuth, sector }));
  }
}

/** partner is the surface to which a reading's distance is taken. */
export function partner(id: string): string | null {
  if (id.startsWith("preparation.clearance")) return "opposing";
  if (id.startsWith("preparation.reduction")) return "before";
  if (/^(crown|finished)\.fit/.test(id)) return "prepared";
  return null;
}

function path(pts: readonly (readonly number[])[], closed: boolean, X: (v: number) => number, Y: (v: number) => number): string {
  return pts.map(([x, y], i) => `${i ? "L" : "M"}${X(x).toFixed(1)} ${Y(y).toFixed(1)}`).join("") + (closed ? "Z" : "");
}
