// Numbers as people read them.
import { figure } from "./figure";
import { locale } from "./text";

/** number writes a value with its decimals in the page's language. */
export const number = (v: number, digits: number): string => figure(locale(), v, digits);

const units: Record<string, string> = { mm: "mm", deg: "°", "%": "%", "1": "", "mm^2": "mm²", N: "N", um: "µm" };
/** unit is how a unit is written after a number, with the space that belongs there. */
export function unit(u: string): string {
  const s = units[u] ?? u;
  return s === "" || s === "°" ? s : `\u202f${s}`;
}

/** digitsOf is the number of decimals that fit an uncertainty: its second digit, no more than 3. */
export function digitsOf(u: string, uncertainty: number | null): number {
  if (u === "1" && !uncertainty) return 0;
  if (u === "%" || u === "N") return 0;
  if (u === "deg" || u === "mm^2") return 1;
  return uncertainty !== null && uncertainty > 0 && uncertainty < 0.01 ? 3 : 2;
}

/** when writes a time of the store in the page's language. */
export function when(iso: string): string {
  return new Intl.DateTimeFormat(locale(), { dateStyle: "medium", timeStyle: "short" }).format(new Date(iso));
}

/** day writes a date in the page's language. */
export function day(iso: string): string {
  return new Intl.DateTimeFormat(locale(), { dateStyle: "medium", timeZone: "UTC" }).format(new Date(iso));
}
