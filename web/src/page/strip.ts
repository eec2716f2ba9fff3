// The strip: the reading unrolled around the tooth, its limit drawn, the arcs
// where the finish line is not legible shaded.
import uPlot from "uplot";
import { el } from "./dom";
import { digitsOf, number, unit } from "./format";
import { type Sector, sectors } from "./frame";
import { look } from "./look";
import type { Reading } from "./record";
import { limitText } from "./ledger";
import { sector, t } from "./text";

export interface Pointing {
  point(azimuth: number | null): void; // while the pointer is over the strip
  cut(azimuth: number): void; // when it is pressed
}

interface Drawing {
  reading: Reading;
  unreadable: boolean[]; // by degree
  named: boolean;
}

export class Strip {
  readonly root = el("div", { class: "strip-plot", role: "img" });
  private plot: uPlot | null = null;
  private shown: Drawing | null = null;
  private cutAt = 0;
  private pointedAt: number | null = null;
  private silent = false;

  constructor(private to: Pointing) {
    new ResizeObserver(() => this.fit()).observe(this.root);
  }

  private fit(): void {
    const { clientWidth: width, clientHeight: height } = this.root;
    if (this.plot && width > 40 && height > 40) this.plot.setSize({ width, height });
  }

  /** show draws a reading's profile. */
  show(reading: Reading, legible: Reading | undefined, named: boolean): void {
    const unreadable = Array<boolean>(360).fill(false);
    for (const p of legible?.profile ?? []) if (p.value === 0) unreadable[Math.round(p.azimuth) % 360] = true;
    this.shown = { reading, unreadable, named };
    this.redraw();
  }

  /** follow takes the same reading's new values without drawing the rest anew. */
  follow(reading: Reading): void {
    const d = this.shown;
    if (!d || d.reading.id !== reading.id || !this.plot || (reading.profile.length === 0) !== (d.reading.profile.length === 0)) {
      if (d) this.shown = { ...d, reading };
      return this.redraw();
    }
    this.shown = { ...d, reading };
    const data = columns(reading);
    const [lo, hi] = reach(data[1], reading);
    const y = this.plot.scales.y;
    this.plot.setData(data, false);
    this.plot.setScale("y", { min: Math.min(lo, y.min ?? lo), max: Math.max(hi, y.max ?? hi) });
  }

  /** redraw draws anew, as after a change of colours or language. */
  redraw(): void {
    this.plot?.destroy();
    this.plot = null;
    const d = this.shown;
    if (!d) return;
    if (d.reading.profile.length === 0) {
      this.root.replaceChildren(el("p", { class: "empty" }, t("noProfile")));
      return;
    }
    const data = columns(d.reading);
    this.root.replaceChildren();
    this.plot = new uPlot(this.options(d, data[1]), data, this.root);
    this.listen(this.plot);
  }

  private options(d: Drawing, ys: (number | null)[]): uPlot.Options {
    const c = look();
    const size = parseFloat(getComputedStyle(this.root).fontSize) * 0.78;
    const font = `500 ${size}px ${c.font}`;
    const digits = digitsOf(d.reading.unit, d.reading.uncertainty);
    const [lo, hi] = reach(ys, d.reading);
    return {
      width: Math.max(this.root.clientWidth, 200),
      height: Math.max(this.root.clientHeight, 120),
      legend: { show: false },
      cursor: { x: true, y: false, drag: { x: false, y: false }, points: { size: 9, fill: c.paper, stroke: c.ink, width: 2 } },
      scales: { x: { time: false, range: [0, 360] }, y: { auto: false, min: lo, max: hi } },
      axes: [
        { stroke: c.ink, font, size: size * 2.2, gap: size * 0.5, grid: { stroke: c.rule, width: 1 }, ticks: { show: false }, splits: () => [0, 45, 90, 135, 180, 225, 270, 315, 360], values: (_u, s) => s.map((a) => label(a, d.named, this.root.clientWidth > 760)) },
        { stroke: c.quiet, font, size: size * 4, gap: size * 0.5, grid: { show: false }, ticks: { show: false }, space: size * 2.6, values: (_u, s) => s.map((v) => number(v, Math.min(digits, 2))) },
      ],
      series: [{}, { stroke: c.ink, width: 2.5, points: { show: false }, spanGaps: false }],
      hooks: { drawClear: [(u) => this.shade(u, this.shown ?? d, c.well, c.quiet)], draw: [(u) => this.mark(u, this.shown ?? d, font)] },
    };
  }

  private listen(u: uPlot): void {
    const over = u.over;
    const at = (e: PointerEvent) => Math.max(0, Math.min(360, u.posToVal(e.clientX - over.getBoundingClientRect().left, "x"))) % 360;
    over.addEventListener("pointermove", (e) => !this.silent && this.to.point(at(e)));
    over.addEventListener("pointerleave", () => this.to.point(null));
    over.addEventListener("pointerdown", (e) => this.to.cut(Math.round(at(e))));
  }

  /** shade hatches the arcs where the finish line cannot be read. */
  private shade(u: uPlot, d: Drawing, fill: string, stroke: string): void {
    const ctx = u.ctx;
    const { top, height } = u.bbox;
    for (const [from, to] of arcs(d.unreadable)) {
      const x0 = u.valToPos(from, "x", true);
      const x1 = u.valToPos(to, "x", true);
      ctx.save();
      ctx.beginPath();
      ctx.rect(x0, top, x1 - x0, height);
      ctx.clip();
      ctx.fillStyle = fill;
      ctx.fill();
      ctx.strokeStyle = stroke;
      ctx.globalAlpha = 0.5;
      for (let x = x0 - height; x < x1; x += 9 * devicePixelRatio) line(ctx, x, top + height, x + height, top);
      ctx.restore();
    }
  }

  private mark(u: uPlot, d: Drawing, font: string): void {
    const ctx = u.ctx;
    const c = look();
    const { left, top, width, height } = u.bbox;
    const px = devicePixelRatio;
    ctx.save();
    ctx.font = font.replace(/([\d.]+)px/, (_m, n: string) => `${parseFloat(n) * px}px`);
    const l = d.reading.limit;
    for (const edge of [l?.min, l?.max]) {
      if (edge === undefined) continue;
      const y = u.valToPos(edge, "y", true);
      if (y < top - 1 || y > top + height + 1) continue;
      ctx.strokeStyle = c.accent;
      ctx.lineWidth = 2 * px;
      ctx.setLineDash([7 * px, 5 * px]);
      line(ctx, left, y, left + width, y);
      ctx.setLineDash([]);
      const from = clearing(d.reading, edge, u.scales.y.max! - u.scales.y.min!);
      const side = edge === l?.min ? { min: edge } : { max: edge };
      tag(ctx, `${limitText({ ...side, source: "", status: "" }, digitsOf(d.reading.unit, d.reading.uncertainty))}${unit(d.reading.unit)}`, u.valToPos(from.azimuth, "x", true) + 8 * px, y + (y - top < 22 * px ? 1 : top + height - y < 22 * px ? -1 : from.side) * 12 * px, c.accent, c.paper);
    }
    this.cutLine(u, ctx, c, px);
    ctx.restore();
  }

  private cutLine(u: uPlot, ctx: CanvasRenderingContext2D, c: ReturnType<typeof look>, px: number): void {
    const { top, height } = u.bbox;
    const x = u.valToPos(this.cutAt, "x", true);
    ctx.strokeStyle = c.accent;
    ctx.lineWidth = 2 * px;
    line(ctx, x, top, x, top + height);
    ctx.fillStyle = c.accent;
    ctx.beginPath();
    ctx.moveTo(x - 7 * px, top);
    ctx.lineTo(x + 7 * px, top);
    ctx.lineTo(x, top + 10 * px);
    ctx.fill();
    if (this.pointedAt === null) return;
    const xp = u.valToPos(this.pointedAt, "x", true);
    ctx.strokeStyle = c.quiet;
    ctx.lineWidth = px;
    line(ctx, xp, top, xp, top + height);
  }

  /** cut moves the mark of the section. */
  cut(azimuth: number): void {
    this.cutAt = azimuth;
    this.plot?.redraw(false);
  }

  /** point shows where another part is pointed. */
  point(azimuth: number | null): void {
    this.pointedAt = azimuth;
    this.plot?.redraw(false);
  }

  dispose(): void {
    this.plot?.destroy();
  }
}

/** columns are a profile as it is plotted, closed at 360 degrees. */
function columns(r: Reading): [number[], (number | null)[]] {
  return [[...r.profile.map((p) => p.azimuth), 360], [...r.profile.map((p) => p.value), r.profile[0].value]];
}

/** arcs gathers degrees that are set into [from, to) runs. */
export function arcs(on: readonly boolean[]): [number, number][] {
  const out: [number, number][] = [];
  on.forEach((v, i) => {
    if (!v) return;
    const last = out.at(-1);
    if (last && last[1] === i) last[1] = i + 1;
    else out.push([i, i + 1]);
  });
  return out;
}

/**
 * clearing is where a limit's label is out of the curve's way: of the arcs of 50
 * degrees the one from which the curve keeps farthest, and the side (1 below, -1
 * above, as pixels count) that it leaves free.
 */
export function clearing(r: Reading, edge: number, span: number): { azimuth: number; side: 1 | -1 } {
  let best = { azimuth: 0, side: -1 as 1 | -1, room: -1 };
  for (let from = 0; from <= 300; from += 15) {
    const v = r.profile.filter((p) => p.azimuth >= from && p.azimuth < from + 50 && p.value !== null).map((p) => p.value! - edge);
    const above = v.length === 0 ? span : Math.min(...v);
    const below = v.length === 0 ? span : Math.min(...v.map((x) => -x));
    const room = Math.min(Math.max(above, below), 0.25 * span);
    if (room > best.room + 1e-9) best = { azimuth: from, side: above >= below ? 1 : -1, room };
  }
  return { azimuth: best.azimuth, side: best.side };
}

function reach(ys: readonly (number | null)[], r: Reading): [number, number] {
  const seen = [...ys.filter((y): y is number => y !== null), ...[r.limit?.min, r.limit?.max].filter((v): v is number => v !== undefined)];
  let [lo, hi] = [Math.min(...seen), Math.max(...seen)];
  if (r.unit === "%") [lo, hi] = [Math.min(0, lo), Math.max(100, hi)];
  const room = 0.12 * (hi - lo) || 0.5;
  return [lo >= 0 && lo < 0.4 * hi ? 0 : lo - room, hi + room];
}

function label(a: number, named: boolean, long: boolean): string {
  if (!named) return `${a}°`;
  const s = sectors[(a / 45) % 8] as Sector;
  return long && s.length === 1 ? sector(s) : s;
}

function line(ctx: CanvasRenderingContext2D, x0: number, y0: number, x1: number, y1: number): void {
  ctx.beginPath();
  ctx.moveTo(x0, y0);
  ctx.lineTo(x1, y1);
  ctx.stroke();
}

function tag(ctx: CanvasRenderingContext2D, text: string, x: number, y: number, ink: string, paper: string): void {
  ctx.textBaseline = "middle";
  ctx.textAlign = "left";
  ctx.strokeStyle = paper;
  ctx.lineWidth = 5 * devicePixelRatio;
  ctx.lineJoin = "round";
  ctx.strokeText(text, x, y);
  ctx.fillStyle = ink;
  ctx.fillText(text, x, y);
}
