// Tooth numbers in the system that the bench is set to.
import type { Case } from "./api";

let system: "iso3950" | "universal" = "iso3950";

export function useNumbering(s: "iso3950" | "universal"): void {
  system = s;
}
export const numbering = (): "iso3950" | "universal" => system;

/** toothNumber is a case's tooth in the system in use. */
export function toothNumber(k: Pick<Case, "iso" | "universal">): string {
  return system === "universal" ? String(k.universal) : k.iso;
}

/** universalOf turns an ISO 3950 number of a permanent tooth into a Universal one: 1 is upper right, then around. */
export function universalOf(iso: string): number {
  const [q, n] = [Number(iso[0]), Number(iso[1])];
  return [9 - n, 8 + n, 25 - n, 24 + n][q - 1];
}
