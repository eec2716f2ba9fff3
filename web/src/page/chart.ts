// A chart of the practice's pages: lines over a figure or a day, each named
// beside it, bands of uncertainty, and what is marked on it.
import uPlot from "uplot";
import { el } from "./dom";
import { type Look, look } from "./look";

export interface Line {
  name: string; // written at its end; empty for none
  values: (number | null)[];
  tone?: "ink" | "quiet" | "accent";
  width?: number;
  dash?: number[];
  stepped?: boolean;
  points?: boolean; // points alone
}

export interface Chart_ {
  says: string; // for who does not see it
  x: number[];
  lines: Line[];
  bands?: [number, number][]; // lines between which is shaded, upper first
  y: [number, number];
  time?: boolean;
  xName: string;
  yName: string;
  xs: (v: number) => string;
  ys: (v: number) => string;
  mark?: (u: uPlot, c: Look, font: string) => void;
}

export class Chart {
  readonly root = el("div", { class: "chart", role: "img" });
  private plot: uPlot | null = null;
  private shown: Chart_ | null = null;
  private seen = new ResizeObserver(() => this.fit());

  constructor(kind = "") {
    if (kind) this.root.classList.add(kind);
    this.seen.observe(this.root);
  }

  private fit(): void {
    const { clientWidth: width, clientHeight: height } = this.root;
    if (this.plot && width > 40 && height > 40) this.plot.setSize({ width, height });
  }

  show(c: Chart_): void {
    this.shown = c;
    this.root.setAttribute("aria-label", c.says);
    this.redraw();
    if (document.fonts.status === "loading") void document.fonts.ready.then(() => this.redraw()); // letters on a canvas stay as they were drawn
  }

  /** redraw draws anew, as after a change of colours. */
  redraw(): void {
    this.plot?.destroy();
    this.plot = null;
    const s = this.shown;
    if (!s) return;
    this.root.replaceChildren();
    this.plot = new uPlot(this.options(s), [s.x, ...s.lines.map((l) => l.values)] as uPlot.AlignedData, this.root);
  }

  private options(s: Chart_): uPlot.Options {
    const c = look();
    const size = parseFloat(getComputedStyle(this.root).fontSize) * 0.8;
    const font = `500 ${size}px ${c.font}`;
    const axis = { font, labelFont: font, labelSize: size * 1.7, gap: size * 0.4, grid: { stroke: c.rule, width: 1 }, ticks: { show: false } };
    const [first, last] = [s.x[0] ?? 0, s.x.at(-1) ?? 1];
    return {
      width: Math.max(this.root.clientWidth, 200),
      height: Math.max(this.root.clientHeight, 120),
      legend: { show: false },
      cursor: { show: false },
      padding: [size, size * (1.5 + 0.56 * Math.max(0, ...s.lines.map((l) => l.name.length))), 0, 0], // names of lines stand on the right
      scales: { x: { time: s.time ?? false, range: [first, last > first ? last : first + 1] }, y: { auto: false, range: s.y } },
      axes: [
        { ...axis, stroke: c.ink, label: s.xName || undefined, size: size * 2, space: size * 6, values: (_u, v) => v.map(s.xs) },
        { ...axis, stroke: c.quiet, label: s.yName, size: size * 4, space: size * 3, values: (_u, v) => v.map(s.ys) },
      ],
      series: [{}, ...s.lines.map((l) => series(l, c))],
      bands: (s.bands ?? []).map(([a, b]) => ({ series: [a + 1, b + 1] as [number, number], fill: c.well })),
      hooks: {
        draw: [
          (u) => names(u, s.lines, c, font),
          (u) => s.mark?.(u, c, font),
        ],
      },
    };
  }

  end(): void {
    this.seen.disconnect();
    this.plot?.destroy();
    this.plot = this.shown = null;
  }
}

const tone = (l: Line, c: Look): string => c[l.tone ?? "ink"];

function series(l: Line, c: Look): uPlot.Series {
  const stepped = l.stepped ? { paths: uPlot.paths.stepped!({ align: 1 }) } : {};
  if (l.points) return { stroke: tone(l, c), width: 0, paths: () => null, points: { show: true, size: 5, fill: tone(l, c) } };
  return { stroke: tone(l, c), width: l.width ?? 2.5, dash: l.dash, points: { show: false }, spanGaps: true, ...stepped };
}

/** names writes each line's name at its last value, those too near one another apart. */
function names(u: uPlot, lines: Line[], c: Look, font: string): void {
  const dpr = devicePixelRatio;
  const ends = lines
    .map((l) => ({ l, i: l.values.findLastIndex((v) => v !== null) }))
    .filter(({ l, i }) => l.name && i >= 0)
    .map(({ l, i }) => ({ l, x: u.valToPos(u.data[0][i], "x", true), y: u.valToPos(l.values[i]!, "y", true) }))
    .sort((a, b) => a.y - b.y);
  u.ctx.save();
  u.ctx.font = font.replace(/([\d.]+)px/, (_m, px: string) => `${Number(px) * dpr}px`);
  u.ctx.textBaseline = "middle";
  u.ctx.textAlign = "left";
  const gap = parseFloat(font.slice(4)) * 1.15 * dpr;
  let last = -Infinity;
  for (const e of ends) {
    const y = Math.max(e.y, last + gap);
    last = y;
    u.ctx.fillStyle = tone(e.l, c);
    u.ctx.fillText(e.l.name, Math.min(e.x, u.bbox.left + u.bbox.width) + 6 * dpr, y);
  }
  u.ctx.restore();
}

/** upright marks a place on the x axis by a line with a word on it. */
export function upright(u: uPlot, at: number, text: string, color: string, font: string, dash: number[] = []): void {
  const dpr = devicePixelRatio;
  const x = u.valToPos(at, "x", true);
  u.ctx.save();
  u.ctx.strokeStyle = color;
  u.ctx.fillStyle = color;
  u.ctx.lineWidth = 2 * dpr;
  u.ctx.setLineDash(dash.map((d) => d * dpr));
  u.ctx.beginPath();
  u.ctx.moveTo(x, u.bbox.top);
  u.ctx.lineTo(x, u.bbox.top + u.bbox.height);
  u.ctx.stroke();
  u.ctx.font = font.replace(/([\d.]+)px/, (_m, px: string) => `${Number(px) * dpr}px`);
  u.ctx.textBaseline = "top";
  const right = x + u.ctx.measureText(text).width + 10 * dpr < u.bbox.left + u.bbox.width;
  u.ctx.textAlign = right ? "left" : "right";
  u.ctx.fillText(text, x + (right ? 6 : -6) * dpr, u.bbox.top + 4 * dpr);
  u.ctx.restore();
}
