import { readFileSync } from "node:fs";
import openapiTS, { astToString } from "openapi-typescript";
import { describe, expect, it } from "vitest";
import { spanOf } from "../page/bar";
import { type Entry, standing } from "../page/book";
import { readMap, readMesh } from "../page/binary";
import { de } from "../page/de";
import { en } from "../page/en";
import { counts, ledger, type Reading, type Record_ } from "../page/record";
import { arcs, clearing } from "../page/strip";
import { rightToLeft } from "../page/text";
import { universalOf } from "../page/tooth";
import { spots } from "../page/arches";
import { thin } from "../page/lineedit";

const here = new URL(".", import.meta.url);

describe("the client", () => {
  it("is made from the description that the server has", async () => {
    const made = astToString(await openapiTS(new URL("../../openapi.json", here)));
    expect(readFileSync(new URL("../page/schema.ts", here), "utf8")).toContain(made.trim());
  });
});

describe("binary bodies", () => {
  const mesh = (n: number, m: number, bytes: number) => {
    const b = new ArrayBuffer(bytes);
    new Uint8Array(b).set([0x43, 0x41, 0x4d, 0x31]);
    new DataView(b).setUint32(4, n, true);
    new DataView(b).setUint32(8, m, true);
    return b;
  };
  it("reads a triangle as the server's comment lays it out", () => {
    const b = mesh(3, 1, 16 + 36 + 12);
    const v = new DataView(b);
    v.setFloat32(16 + 12, 2.5, true); // x of vertex 1
    v.setUint32(16 + 36 + 8, 2, true); // third corner
    const m = readMesh(b);
    expect(m.positions[3]).toBe(2.5);
    expect([...m.indices]).toEqual([0, 0, 2]);
  });
  it.each([[3, 1, 63], [1 << 30, 1, 64], [3, 1 << 30, 64], [0, 0, 15]])("refuses %i vertices and %i triangles in %i bytes", (n, m, bytes) => {
    expect(() => readMesh(mesh(n, m, bytes))).toThrow();
  });
  it("refuses a mesh as a map", () => expect(() => readMap(mesh(0, 0, 16))).toThrow("CAV1"));
});

describe("the text", () => {
  const blanks = (s: string) => [...s.matchAll(/\{\w+\}/g)].map((m) => m[0]).sort();
  it("has the same keys and blanks in both languages", () => {
    expect(Object.keys(de.page).sort()).toEqual(Object.keys(en.page).sort());
    for (const k of Object.keys(en.page) as (keyof typeof en.page)[]) expect(blanks(de.page[k]), k).toEqual(blanks(en.page[k]));
  });
  it("knows languages written from the right (Unicode CLDR, character order)", () => {
    expect(["ar", "he-IL", "fa"].map(rightToLeft)).toEqual([true, true, true]);
    expect(["en", "de-AT", "ja"].map(rightToLeft)).toEqual([false, false, false]);
  });
});

describe("tooth numbers", () => {
  // Common practice: Universal 1 is the upper right third molar, 16 the upper
  // left, 17 the lower left, 32 the lower right.
  it.each([["18", 1], ["11", 8], ["21", 9], ["28", 16], ["38", 17], ["31", 24], ["41", 25], ["46", 30], ["48", 32]])("%s is %i", (iso, n) => expect(universalOf(iso as string)).toBe(n));
  it("every tooth stands once on the drawing, the patient's right on the left", () => {
    const all = [...spots("upper"), ...spots("lower")];
    expect(new Set(all.map((s) => universalOf(s.iso))).size).toBe(32);
    for (const s of all) expect(s.x < 0).toBe(["1", "4"].includes(s.iso[0]));
  });
});

describe("the ledger", () => {
  const reading = (id: string, verdict: Reading["verdict"]): Reading => ({ id, name: id, hold_point: "preparation", value: 1, unit: "mm", uncertainty: 0, limit: null, verdict, at: null, profile: [], subs: [], note: "", reason: "", next: "" });
  const given = [reading("a", "informs"), reading("b", "conforms"), reading("c", "fails"), reading("d", "unmeasured"), reading("e", "undecided"), reading("f", "fails")];
  it("is worst first and keeps the record's order among equals", () => {
    expect(ledger({ readings: given } as unknown as Record_, "preparation").map((r) => r.id).join("")).toBe("cfedba");
  });
  it("counts verdicts", () => expect(counts(given)).toEqual({ fails: 2, undecided: 1, unmeasured: 1, conforms: 1, informs: 1 }));
  it("has a bar that holds value, uncertainty and limits", () => {
    for (const [v, u, l] of [[0.6, 0.04, { min: 1 }], [25, 1, { min: 10, max: 20 }], [0, 0, { max: 0 }]] as const) {
      const [lo, hi] = spanOf(v, u, { ...l, source: "", status: "" });
      for (const x of [v - u, v + u, ...Object.values(l)]) expect(x > lo && x < hi).toBe(true);
    }
  });
});

describe("what the record comes to", () => {
  const entry = (number: number, kind: Entry["kind"], part: Entry["entry"], corrected_by = 0): Entry => ({ number, kind, corrected_by, at: "2026-01-02T03:04:05Z", who: "AB", hash: "", entry: part });
  const judged = (run: number, to: "conforms" | "fails") => ({ override: { reading: "a", run, from: "fails", to, reason: "" } }) as Entry["entry"];
  const confirmed = (run: number) => ({ confirmation: { hold_point: "design", run, fails: 0, undecided: 0, unmeasured: 0, overridden: 0, remark: "" } }) as Entry["entry"];
  const run: Entry["entry"] = { run: { surfaces: [] } };
  it("is of the newest run: what was said of an older one is not shown as if it held", () => {
    const old = [entry(1, "run", run), entry(2, "override", judged(1, "conforms")), entry(3, "confirmation", confirmed(1))];
    expect([standing(old).overrides.get("a")?.number, standing(old).confirmed.get("design")?.number]).toEqual([2, 3]);
    const now = standing([...old, entry(4, "run", run)]);
    expect([now.overrides.size, now.confirmed.size]).toEqual([0, 0]);
  });
  it("leaves out what does not hold", () => {
    const s = standing([entry(1, "run", run), entry(2, "override", judged(1, "conforms")), entry(3, "override", judged(1, "fails"), 4), entry(4, "correction", { correction: { entry: 3, reason: "" } })]);
    expect(s.overrides.get("a")?.number).toBe(2);
  });
});

describe("the strip and the line", () => {
  it("gathers degrees into arcs", () => {
    const on = Array<boolean>(360).fill(false);
    for (const i of [0, 1, 2, 200, 359]) on[i] = true;
    expect(arcs(on)).toEqual([[0, 3], [200, 201], [359, 360]]);
  });
  it("keeps a limit's label out of the curve's way", () => {
    const profile = Array.from({ length: 360 }, (_x, azimuth) => ({ azimuth, value: azimuth < 180 ? 1.01 : 0.2 }));
    const at = clearing({ profile } as unknown as Reading, 1, 1.2);
    expect(at.azimuth).toBeGreaterThanOrEqual(180);
    expect(at.side).toBe(-1); // the curve is below the limit there, so the label is above it
  });
  it("thins a circle to points a spacing apart", () => {
    const ring = Array.from({ length: 720 }, (_x, i): [number, number, number] => [5 * Math.cos((i * Math.PI) / 360), 5 * Math.sin((i * Math.PI) / 360), 0]);
    const few = thin(ring, 1.6);
    // Its circumference is 10 pi mm.
    expect(few.length).toBeGreaterThan(17);
    expect(few.length).toBeLessThanOrEqual(Math.floor((10 * Math.PI) / 1.6) + 1);
  });
});
