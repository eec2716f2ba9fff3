// The one colour scale. Lightness rises evenly from a deep violet to a pale
// straw while the hue turns slowly, in a colour space made for even steps
// (Ottosson 2020, "A perceptual color space for image processing"), so that
// equal steps of a value look equal, to people with any kind of colour vision
// and on a grey print. docs/DESIGN-NOTES.md says why.

export type RGB = [number, number, number]; // 0 to 1, sRGB

/** fromOklch converts lightness, chroma and hue in degrees to sRGB. */
export function fromOklch(L: number, C: number, hue: number): RGB {
  const h = (hue * Math.PI) / 180;
  const a = C * Math.cos(h);
  const b = C * Math.sin(h);
  const l = (L + 0.3963377774 * a + 0.2158037573 * b) ** 3;
  const m = (L - 0.1055613458 * a - 0.0638541728 * b) ** 3;
  const s = (L - 0.0894841775 * a - 1.291485548 * b) ** 3;
  return [
    encode(4.0767416621 * l - 3.3077115913 * m + 0.2309699292 * s),
    encode(-1.2684380046 * l + 2.6097574011 * m - 0.3413193965 * s),
    encode(-0.0041960863 * l - 0.7034186147 * m + 1.707614701 * s),
  ];
}

function encode(x: number): number {
  const v = x <= 0.0031308 ? 12.92 * x : 1.055 * x ** (1 / 2.4) - 0.055;
  return Math.min(1, Math.max(0, v));
}

const dark = { L: 0.27, C: 0.085, hue: 305 };
const pale = { L: 0.92, C: 0.07, hue: 445 }; // 85 degrees, the way through rose and clay

/** scaleAt is the colour at t from 0 (least) to 1 (most). */
export function scaleAt(t: number): RGB {
  const u = Math.min(1, Math.max(0, t));
  const bow = 0.022 * Math.sin(Math.PI * u);
  return fromOklch(mix(dark.L, pale.L, u), mix(dark.C, pale.C, u) + bow, mix(dark.hue, pale.hue, u));
}

function mix(a: number, b: number, t: number): number {
  return a + (b - a) * t;
}

/** css writes a colour as CSS does. */
export function css([r, g, b]: RGB): string {
  return `rgb(${[r, g, b].map((v) => Math.round(255 * v)).join(" ")})`;
}

/** texels is the scale as n bytes RGBA, for the graphics card. */
export function texels(n: number): Uint8Array<ArrayBuffer> {
  const out = new Uint8Array(4 * n);
  for (let i = 0; i < n; i++) out.set([...scaleAt(i / (n - 1)).map((v) => Math.round(255 * v)), 255], 4 * i);
  return out;
}

export interface Range {
  min: number;
  max: number;
}

/**
 * rangeFor chooses what the scale spans: the values that are there, so far as
 * they help to judge against the limit. What is far beyond takes the end's colour.
 */
export function rangeFor(found: Range, limit: { min?: number; max?: number } | null): Range {
  const { min: lo, max: hi } = limit ?? {};
  if (found.min >= 0 && found.max <= 100 && (lo ?? 0) > 50) return { min: 0, max: 100 }; // shares in percent
  if (lo !== undefined && hi === undefined && lo > 0) return { min: Math.min(Math.max(found.min, -lo), 0), max: 2.5 * lo };
  if (hi !== undefined && lo === undefined && hi > 0) return { min: Math.min(0, Math.max(found.min, -hi)), max: Math.max(2 * hi, Math.min(found.max, 4 * hi)) };
  if (found.max > found.min) return found;
  return { min: found.min - 0.5, max: found.min + 0.5 };
}
