import { describe, expect, it } from "vitest";
import { azimuthAt, dot, frameOf, fromScene, sectorAt, toScene, towards } from "../page/frame";

// The convention is the project's: 0 mesial, 90 buccal, 180 distal, 270
// lingual. The two hands are the two kinds of quadrants.
const both = [
  { origin: [1, 2, 3], placement: [0, 0, 1], zero: [1, 0, 0], turn: [0, 1, 0], mesial: [1, 0, 0] },
  { origin: [1, 2, 3], placement: [0, 0, 1], zero: [1, 0, 0], turn: [0, -1, 0], mesial: [1, 0, 0] },
];

describe.each(both)("a frame that turns to $turn", (record) => {
  const f = frameOf(record);

  it("gives azimuth 0 and 90 to the directions that the record gives", () => {
    const at = (d: number[]) => azimuthAt(f, toScene(f, d.map((v, i) => v + record.origin[i])));
    expect(at(record.zero)).toBeCloseTo(0, 9);
    expect(at(record.turn)).toBeCloseTo(90, 9);
  });

  it("never mirrors: the scene's axes are right-handed", () => {
    const [x, y, z] = [f.x, f.y, f.z];
    expect(dot([x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]], z)).toBeCloseTo(1, 12);
  });

  it("goes to the scene and back", () => {
    fromScene(f, toScene(f, [4, -5, 6])).forEach((v, i) => expect(v).toBeCloseTo([4, -5, 6][i], 12));
  });

  it("points where the azimuth says", () => {
    for (const a of [0, 30, 200, 359]) expect(azimuthAt(f, towards(f, a))).toBeCloseTo(a, 9);
  });
});

describe("sectors", () => {
  it.each([[0, "M"], [22.4, "M"], [22.6, "MB"], [90, "B"], [180, "D"], [225, "DL"], [270, "L"], [337.4, "ML"], [337.6, "M"], [-1, "M"]])("%s degrees is %s", (a, s) => expect(sectorAt(a as number)).toBe(s));
});
