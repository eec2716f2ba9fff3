import { converter, differenceEuclidean, filterDeficiencyDeuter, filterDeficiencyProt, filterDeficiencyTrit, formatCss } from "culori";
import { describe, expect, it } from "vitest";
import { fromOklch, rangeFor, scaleAt } from "../page/scale";

// The reference is culori, a general-purpose library of colour spaces.
const oklab = converter("oklab");
const rgb = converter("rgb");
const colour = (t: number) => ({ mode: "rgb" as const, r: scaleAt(t)[0], g: scaleAt(t)[1], b: scaleAt(t)[2] });
const steps = Array.from({ length: 33 }, (_x, i) => i / 32);

describe("the scale", () => {
  it("converts colours as the reference library does", () => {
    for (const [L, C, h] of [[0.3, 0.08, 305], [0.6, 0.1, 20], [0.9, 0.07, 85]]) {
      const want = rgb({ mode: "oklch", l: L, c: C, h });
      const have = fromOklch(L, C, h);
      [want.r, want.g, want.b].forEach((v, i) => expect(have[i], formatCss(want)).toBeCloseTo(v, 4));
    }
  });

  it("is inside sRGB, so that nothing is clipped", () => {
    for (const t of steps) for (const v of scaleAt(t)) expect(v > 0 && v < 1).toBe(true);
  });

  it("has even steps: no step differs from their mean by more than a quarter", () => {
    const apart = differenceEuclidean("oklab");
    const d = steps.slice(1).map((t, i) => apart(colour(steps[i]), colour(t)));
    const mean = d.reduce((a, b) => a + b, 0) / d.length;
    for (const x of d) expect(Math.abs(x - mean) / mean).toBeLessThan(0.25);
  });

  it.each([["protanopia", filterDeficiencyProt(1)], ["deuteranopia", filterDeficiencyDeuter(1)], ["tritanopia", filterDeficiencyTrit(1)]])("rises in lightness with %s too", (_name, filter) => {
    const L = steps.map((t) => oklab(filter(colour(t)))!.l);
    for (let i = 1; i < L.length; i++) expect(L[i]).toBeGreaterThan(L[i - 1]);
  });
});

describe("the range of a map", () => {
  it("holds the limit with room on both sides", () => {
    const r = rangeFor({ min: 0.2, max: 7 }, { min: 1 });
    expect(r.min).toBeLessThan(1);
    expect(r.max).toBeGreaterThan(1);
  });
  it("is never empty", () => {
    const r = rangeFor({ min: 3, max: 3 }, null);
    expect(r.max).toBeGreaterThan(r.min);
  });
});
