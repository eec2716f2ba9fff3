// Where words stand in a drawing, so that they cover neither one another nor
// more of the lines than need be. Pixels, y downwards.

export interface Rect {
  x: number; // left
  y: number; // top
  w: number;
  h: number;
}

type At = readonly [number, number];

export function overlap(a: Rect, b: Rect): boolean {
  return a.x < b.x + b.w && b.x < a.x + a.w && a.y < b.y + b.h && b.y < a.y + a.h;
}

const gap = 9; // px between a line and its name
const lift = 5; // px the name keeps clear of what is beside it

/** Labels gives out places one after the other. */
export class Labels {
  private taken: Rect[] = [];

  constructor(
    private room: Rect,
    private ink: readonly At[], // points of all lines
  ) {}

  /** take keeps a place for something else. */
  take(r: Rect): void {
    this.taken.push(r);
  }

  /** beside finds a place for w by h pixels next to one of the points: within the room, on nothing else, on as little ink as can be; of equal places the first. Null when there is none. */
  beside(points: readonly At[], w: number, h: number): Rect | null {
    let best: Rect | null = null;
    let least = Infinity;
    for (const [x, y] of points) {
      for (const r of around(x, y, w, h)) {
        if (!inside(r, this.room) || this.taken.some((t) => overlap(grown(t), r))) continue;
        const n = this.covered(r);
        if (n < least) [least, best] = [n, r];
      }
      if (least === 0) break;
    }
    if (best) this.taken.push(best);
    return best;
  }

  private covered(r: Rect): number {
    let n = 0;
    for (const [x, y] of this.ink) if (x > r.x - 2 && x < r.x + r.w + 2 && y > r.y - 1 && y < r.y + r.h + 1) n++;
    return n;
  }
}

function* around(x: number, y: number, w: number, h: number): Generator<Rect> {
  yield { x: x - w / 2, y: y - h - gap, w, h };
  yield { x: x - w / 2, y: y + gap, w, h };
  yield { x: x + gap, y: y - h / 2, w, h };
  yield { x: x - w - gap, y: y - h / 2, w, h };
}

function inside(r: Rect, o: Rect): boolean {
  return r.x >= o.x && r.y >= o.y && r.x + r.w <= o.x + o.w && r.y + r.h <= o.y + o.h;
}

function grown(r: Rect): Rect {
  return { x: r.x - lift, y: r.y - lift, w: r.w + 2 * lift, h: r.h + 2 * lift };
}

/** along gives points of a polyline no farther apart than a step. */
export function along(pts: readonly At[], step: number): [number, number][] {
  const out: [number, number][] = [];
  for (let i = 1; i < pts.length; i++) {
    const [a, b] = [pts[i - 1], pts[i]];
    const n = Math.max(1, Math.ceil(Math.hypot(b[0] - a[0], b[1] - a[1]) / step));
    for (let k = 0; k < n; k++) out.push([a[0] + ((b[0] - a[0]) * k) / n, a[1] + ((b[1] - a[1]) * k) / n]);
  }
  return out;
}
