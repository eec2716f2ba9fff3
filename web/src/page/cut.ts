// The slice: the section as a drawing with a scale, the surfaces named at their
// lines, the place of the finding and the reading there.
import type { Point, Slice } from "./api";
import { el, svg } from "./dom";
import { dot } from "./frame";
import { along, Labels } from "./labels";
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
  private middle = { x: 0, y: 3.3, off: 0 };
  private seen: ReadonlySet<string> = new Set();

  /** show draws a section about what is nearest in it to a place of the files, with the chosen reading where it lies in it. */
  show(s: Slice, r: Reading | null, seen: ReadonlySet<string>, about: Point): void {
    this.middle = inPlane(s, about);
    this.slice = s;
    this.reading = r;
    this.seen = seen;
    this.draw();
  }

  /** fit chooses what is seen: the preparation with what is above it, in the panel's own shape. */
  private fit(): Box {
    const { clientWidth: w, clientHeight: h } = this.root;
    const { x, y } = this.middle;
    const tall = Math.max(11.8, (13 * h) / Math.max(w, 1));
    const wide = (tall * Math.max(w, 1)) / Math.max(h, 1);
    return { x0: x - wide / 2, x1: x + wide / 2, y0: y - tall / 2, y1: y + tall / 2 };
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
    if (this.middle.off < 1e-3) d.append(svg("line", { x1: X(this.middle.x), x2: X(this.middle.x), y1: 0, y2: h, class: "cut-axis" }));
    const lines = s.lines.filter((l) => this.seen.has(l.role));
    for (const l of lines) d.append(svg("path", { d: path((l.points ?? []) as [number, number][], l.closed, X, Y), class: `cut-line ${l.role}` }));
    const ink = lines.map((l) => along(((l.points ?? []) as [number, number][]).map(([x, y]) => [X(x), Y(y)]), 4));
    const labels = new Labels({ x: 4, y: 4, w: w - 8, h: h - 8 }, ink.flat());
    labels.take({ x: 0, y: h - 34, w: k + 70, h: 34 }); // the scale
    d.append(this.scale(k, h), this.finding(s, X, Y, labels));
    d.append(...this.names(lines.map((l) => l.role), ink, labels, w, h));
    this.root.replaceChildren(d);
  }

  /** names writes at one line of each surface, the longest, what it is. */
  private names(roles: string[], ink: [number, number][][], labels: Labels, w: number, h: number): SVGElement[] {
    const em = parseFloat(getComputedStyle(this.root).fontSize) * 0.8;
    const out: SVGElement[] = [];
    const byLength = roles.map((role, i) => ({ role, ink: ink[i].filter(([x, y]) => x > 0 && x < w && y > 0 && y < h) })).sort((a, c) => c.ink.length - a.ink.length);
    const named = new Set<string>();
    for (const l of byLength) {
      if (named.has(l.role) || l.ink.length === 0) continue;
      named.add(l.role);
      const text = word("roles", l.role as "prepared");
      const r = labels.beside(spread(l.ink, named.size % 2 === 0, w), 0.56 * em * text.length + 6, 1.3 * em);
      if (r) out.push(svg("text", { x: r.x + r.w / 2, y: r.y + 0.78 * r.h, class: `cut-name ${l.role}`, "text-anchor": "middle" }, text));
    }
    return out;
  }

  private scale(k: number, h: number): SVGElement {
    const y = h - 16;
    return svg("g", { class: "cut-scale" }, svg("path", { d: `M14 ${y - 5}v10M14 ${y}h${k}m0 -5v10` }), svg("text", { x: 22 + k, y: y + 5 }, t("perMm")));
  }

  private finding(s: Slice, X: (v: number) => number, Y: (v: number) => number, labels: Labels): SVGElement {
    const g = svg("g", { class: "cut-finding" });
    const r = this.reading;
    if (!r?.at || r.value === null) return g;
    const p = inPlane(s, r.at.point);
    if (p.off > 0.35) return g;
    const other = this.across(s, r, p);
    const [x, y] = [X(p.x), Y(p.y)];
    if (other) g.append(svg("line", { x1: x, y1: y, x2: X(other[0]), y2: Y(other[1]), class: "cut-dimension" }), svg("circle", { cx: X(other[0]), cy: Y(other[1]), r: 3.5, class: "cut-end" }));
    g.append(svg("circle", { cx: x, cy: y, r: 9, class: "cut-ring halo" }), svg("circle", { cx: x, cy: y, r: 9, class: "cut-ring" }));
    labels.take({ x: x - 10, y: y - 10, w: 20, h: 20 });
    const em = parseFloat(getComputedStyle(this.root).fontSize);
    const text = valueText(r);
    const near = [0, 1, 2, 3].flatMap((k) => [[x + 14 * k, y], [x - 14 * k, y], [x, y - 14 * k], [x, y + 14 * k], [x + 12 * k, y - 12 * k], [x - 12 * k, y - 12 * k]] as [number, number][]);
    const at = labels.beside(near, 0.58 * em * text.length + 6, 1.25 * em);
    if (at) g.append(svg("text", { x: at.x + at.w / 2, y: at.y + 0.78 * at.h, class: "cut-value", "text-anchor": "middle" }, text));
    g.append(svg("title", {}, readingName(r.id, r.name)));
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
  say(where: string): void {
    this.root.setAttribute("aria-label", t("sliceLabel", { where }));
  }
}

/** spread orders the points of a line: outside ones first, from the left or the right, a few pixels apart. */
function spread(pts: [number, number][], right: boolean, w: number): [number, number][] {
  const goal = right ? 0.8 * w : 0.2 * w;
  return pts.filter((_p, i) => i % 4 === 0).sort((a, c) => Math.abs(a[0] - goal) - Math.abs(c[0] - goal));
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
