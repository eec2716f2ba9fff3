// The client of the server's interface, with types made from openapi.json.
import createClient from "openapi-fetch";
import type { components, paths } from "./schema";

export type Schemas = components["schemas"];
export type Case = Schemas["CaseOutput"];
export type Take = Schemas["TakeOutput"];
export type Job = Schemas["JobOutput"];
export type Settings = Schemas["SettingsOutput"];
export type Measurand = Schemas["MeasurandOutput"];
export type MapInfo = Schemas["MapOutput"];
export type Redrawn = Schemas["RedrawnOutputBody"];
export type Slice = Schemas["SliceOutputBody"];
export type Role = Exclude<Take["role"], "">;
export type Point = [number, number, number];

export const roles: readonly Role[] = ["prepared", "opposing", "before", "crown", "finished", "seated"];

export const api = createClient<paths>({ baseUrl: globalThis.location?.origin ?? "http://127.0.0.1", querySerializer: { array: { style: "form", explode: false } } });

/** Refused is what the server said no to, in its own words. */
export class Refused extends Error {
  constructor(
    message: string,
    readonly status: number,
  ) {
    super(message);
  }
}

interface Answer<T> {
  data?: T;
  error?: unknown;
  response: Response;
}

/** got returns the data of an answer. @throws Refused with the server's words. */
export async function got<T>(answer: Promise<Answer<T>>): Promise<T> {
  const a = await answer;
  if (a.data !== undefined && a.response.ok) return a.data;
  const e = a.error as { detail?: string; title?: string } | undefined;
  throw new Refused(e?.detail || e?.title || `${a.response.status} ${a.response.statusText}`, a.response.status);
}
