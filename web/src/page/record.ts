// The parts of a record that the page shows.
import type { Redrawn, Schemas } from "./api";

export type Verdict = "conforms" | "fails" | "undecided" | "unmeasured" | "informs";
export type HoldPoint = "preparation" | "design" | "try-in" | "recall";
export const holdPoints: readonly HoldPoint[] = ["preparation", "design", "try-in", "recall"];

export interface Limit {
  min?: number;
  max?: number;
  source: string;
  status: string;
}

export type Place = Schemas["RecordPlace"];

/** Reading is a reading of the record; a limit's form is a union that the made types leave open. */
export interface Reading {
  id: string;
  name: string;
  hold_point: HoldPoint;
  value: number | null;
  unit: string;
  uncertainty: number | null;
  limit: Limit | null;
  verdict: Verdict;
  at: Place;
  profile: { azimuth: number; value: number | null }[];
  subs: { name: string; value: number | null; unit: string; limit: Limit | null; verdict: Verdict | null; at: Place }[];
  note: string;
  reason: string;
  next: string;
}

export type Record_ = Omit<Schemas["Record"], "readings"> & { readings: Reading[] };

const rank: Record<Verdict, number> = { fails: 0, undecided: 1, unmeasured: 2, conforms: 3, informs: 4 };

/** ledger returns the readings of a hold point, worst first; within a verdict the record's own order stands. */
export function ledger(r: Record_, at: HoldPoint): Reading[] {
  return r.readings.filter((x) => x.hold_point === at).sort((a, b) => rank[a.verdict] - rank[b.verdict]);
}

/** redrawn is a record with what another finish line has changed of it. */
export function redrawn(r: Record_, part: Redrawn): Record_ {
  const by = new Map(r.readings.map((x) => [x.id, x]));
  for (const x of part.readings as unknown as Reading[]) by.set(x.id, x);
  const readings = part.order.map((id) => by.get(id)).filter((x): x is Reading => x !== undefined);
  return { ...r, headline: part.headline, frame: part.frame, finish_line: part.finish_line, readings } as Record_;
}

/** counts says how often each verdict is given at a hold point. */
export function counts(readings: readonly Reading[]): Record<Verdict, number> {
  const n: Record<Verdict, number> = { fails: 0, undecided: 0, unmeasured: 0, conforms: 0, informs: 0 };
  for (const r of readings) n[r.verdict]++;
  return n;
}
