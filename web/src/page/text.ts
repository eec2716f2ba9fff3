// All text of the page: one catalogue, a file a language.
import { de } from "./de";
import { sentences } from "./de.sentences";
import { el } from "./dom";
import { en, type Catalogue } from "./en";
import { figure } from "./figure";
import { type Said, Speaker } from "./say";

const catalogues: Record<string, Catalogue> = { en, de };
/** The program's own language needs no speaker. */
const speakers: Record<string, Speaker> = { de: new Speaker("de", sentences, (v, digits) => figure("de", v, digits)) };
export const languages: readonly { code: string; name: string }[] = [
  { code: "en", name: "English" },
  { code: "de", name: "Deutsch" },
];

let now = "en";
let regions: readonly string[] = [];

/** speak chooses the language: the one set, else the browser's, else English. */
export function speak(set: string, browser: readonly string[]): void {
  const wanted = [set, ...browser].filter(Boolean).map((l) => l.toLowerCase().split("-")[0]);
  now = wanted.find((l) => l in catalogues) ?? "en";
  regions = browser;
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
export function word<G extends "verdicts" | "roles" | "holds">(group: G, key: keyof Catalogue[G] & string): string {
  return catalogues[now][group][key] as string;
}

/** decided says how often a verdict is given. */
export function decided(v: keyof Catalogue["decided"], n: number): string {
  return n === 1 ? catalogues[now].decidedOne[v] : catalogues[now].decided[v].replace("{n}", String(n));
}

/** say is a sentence of the program in the language in use, or as it is, in English. */
export function say(text: string): Said {
  return speakers[now]?.say(text) ?? { text, lang: "en" };
}

/** said is an element with such a sentence. */
export function said<K extends keyof HTMLElementTagNameMap>(tag: K, text: string, props: Record<string, unknown> = {}): HTMLElementTagNameMap[K] {
  const s = say(text);
  return el(tag, { ...props, lang: s.lang, dir: "auto" }, s.text);
}

/** learnNames lets the names of readings be known within sentences. */
export function learnNames(readings: readonly { id: string; name: string }[]): void {
  for (const [lang, speaker] of Object.entries(speakers)) speaker.learn(readings.map((r) => [r.name, nameIn(lang, r.id) ?? r.name]));
}

/** toothName is a tooth in words, by its ISO 3950 number. */
export function toothName(iso: string): string {
  const c = catalogues[now].teeth;
  return c.order.replace("{side}", c.quadrants[Number(iso[0]) - 1]).replace("{tooth}", c.names[Number(iso[1]) - 1]);
}

/** material is a material's name: the page's own where it has one, else the server's. */
export function material(name: string, title = name): string {
  return catalogues[now].materials[name] ?? title;
}

/** locale is the language in use with the browser's own region, for numbers and times. */
export const locale = (): string => regions.find((l) => l.toLowerCase().split("-")[0] === now) ?? now;

let seen = "46";

/** see says which tooth is looked at, by its ISO 3950 number: its sides have names of their own. */
export function see(iso: string): void {
  seen = iso;
}

/** sector is the word for a sector of the tooth that is looked at: upper teeth have a palatal side, front teeth a facial one. */
export function sector(s: keyof Catalogue["sectors"]): string {
  const c = catalogues[now];
  const plain = c.sectors[s];
  const inner = Number(seen[0]) <= 2 ? plain.replace(c.sectors.L, c.sides.palatal) : plain;
  return Number(seen[1]) <= 3 ? inner.replace(c.sectors.B, c.sides.facial) : inner;
}

/** readingName is a reading's name: the page's own where it has one, else the server's, which is English. */
export function readingName(id: string, name: string): string {
  return nameIn(now, id) ?? name;
}

/** nameIn is the catalogue's own name of a reading; that of a crown as made is the design's. */
function nameIn(lang: string, id: string): string | undefined {
  const names = catalogues[lang].readings;
  return names[id] ?? names[id.replace(/^finished\./, "crown.")];
}
