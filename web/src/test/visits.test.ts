import { describe, expect, it } from "vitest";
import { marks, rangeOf, stepOf } from "../page/visitline";
import { clock, type Outlook, span } from "../page/visitword";

const at = (minutes: number) => new Date(Date.UTC(2026, 2, 2, 9, 0) + 60_000 * minutes).toISOString();
const visit = (...stages: [number, number, number][]) => ({ stages: stages.map(([from, to, late]) => ({ from: at(from), to: at(to), late: at(late) })) }) as unknown as Outlook;

describe("the line of a visit", () => {
  it("has one range for all chairs, with what is late, and no more than four hours that are over", () => {
    const now = Date.parse(at(30));
    expect(rangeOf([visit([0, 10, 10], [30, 50, 90]), visit([-20, 5, 5])], now)).toEqual({ from: Date.parse(at(-20)), to: Date.parse(at(90)) });
    expect(rangeOf([visit([-900, 10, 10])], now).from).toBe(Date.parse(at(30 - 240)));
    expect(rangeOf([], now)).toEqual({ from: now, to: now + 30 * 60_000 });
  });

  it.each([20, 70, 130, 300, 700, 3000])("has at most seven marks over %i minutes, on whole steps of the clock", (minutes) => {
    const r = { from: Date.parse(at(7)), to: Date.parse(at(7 + minutes)) };
    const all = marks(r);
    expect(all.length).toBeGreaterThan(0);
    expect(all.length).toBeLessThanOrEqual(7);
    for (const m of all) {
      const d = new Date(m);
      expect(((d.getHours() * 60 + d.getMinutes()) * 60_000) % Math.min(stepOf(r), 86_400_000)).toBe(0);
      expect(m >= r.from && m <= r.to).toBe(true);
    }
  });
});

describe("times of visits", () => {
  it("are spelt as people say them", () => expect([0.2, 59.4, 59.6, 84, -3].map(span)).toEqual(["0 min", "59 min", "1 h 0 min", "1 h 24 min", "0 min"]));
  it("stand on the clock of the place", () => {
    const d = new Date(2026, 2, 2, 9, 5);
    expect(clock(d)).toMatch(/09:05|9:05/);
  });
});
