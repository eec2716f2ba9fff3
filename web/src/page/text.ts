// All text of the page: one catalogue, a file a language.
import { de } from "./de";
import { en, type Catalogue } from "./en";

const catalogues: Record<string, Catalogue> = { en, de };
export const languages: readonly { code: string; name: string }[] = [
  { code: "en", name: "English" },
  { code: "de", name: "Deutsch" },
];

let now = "en";

/** speak chooses the language: the one set, else the browser's, else English. */
export function speak(set: string, browser: readonly string[]): void {
  const wanted = [set, ...browser].filter(Boolean).map((l) => l.toLowerCase().split("-")[0]);
  now = wanted.find((l) => l in catalogues) ?? "en";
}

/** language is the code in use, as lang attributes and number formats want it. */
export const language = (): string => now;

/** rightToLeft says whether a language is written from the right. */
export function rightToLeft(code: string): boolean {
  return ["ar", "fa", "he", "ur", "ps", "yi", "dv", "sd", "ug", "ckb"].includes(code.toLowerCase().split("-")[0]);
}

/** t is a text with its blanks filled: {name} from the values. */
export function t(key: keyof Catalogue["page"], values: Record<string, string | number> = {}): string {
  return catalogues[now].page[key].replace(/\{(\w+)\}/g, (whole: string, name: string) => String(values[name] ?? whole));
}

/** word is a term of the trade: a verdict, a role, a sector, a hold point. */
export function word<G extends "verdicts" | "roles" | "sectors" | "holds" | "decided">(group: G, key: keyof Catalogue[G] & string): string {
  return catalogues[now][group][key] as string;
}

/** readingName is a reading's name: the page's own where it has one, else the server's, which is English. */
export function readingName(id: string, name: string): string {
  return catalogues[now].readings[id] ?? name;
}
