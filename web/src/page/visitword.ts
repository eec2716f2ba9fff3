// Words and times of visits.
import type { Schemas } from "./api";
import { visits as own } from "./en.visits";
import { number } from "./format";
import { locale, t } from "./text";

export type Forecast = Schemas["Forecast"];
export type Outlook = Schemas["Outlook"];
export type Plan = Schemas["PlanOutputBody"];

type Key = Parameters<typeof t>[0];

/** named is the page's own word for a row of the plan, unless the practice has given it another title. */
function named(group: "Stage" | "Back", name: string, title: string): string {
  const key = `visits${group}_${name}` as keyof typeof own;
  return own[key] === title ? t(key as Key) : title;
}

export const stageName = (name: string, title: string): string => named("Stage", name, title);
export const backName = (name: string, title: string): string => named("Back", name, title);

/** resourceName is a resource in a sentence: mill, chair 2, dentist AB. */
export function resourceName(resource: string): string {
  const [name, of] = resource.split(" ", 2);
  if (name === "dentist" && of) return t("visitsDentistOf", { code: of });
  const key = `visitsResource_${name}`;
  return key in own ? t(key as Key, { n: of ?? "" }) : resource;
}

/** span is a length of time in words: 1 h 24 min. */
export function span(minutes: number): string {
  const n = Math.max(0, Math.round(minutes));
  return n < 60 ? t("visitsMin", { n }) : t("visitsHours", { h: Math.floor(n / 60), n: n % 60 });
}

/** clock is a time of day. */
export function clock(iso: string | Date): string {
  return new Intl.DateTimeFormat(locale(), { hour: "2-digit", minute: "2-digit" }).format(new Date(iso));
}

/** percent is a probability. */
export const percent = (p: number): string => `${number(100 * p, 0)}\u202f%`;
