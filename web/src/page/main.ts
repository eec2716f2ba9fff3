// The page: which part is shown, how the bench is set, keys and messages.
import "@fontsource-variable/atkinson-hyperlegible-next";
import "uplot/dist/uPlot.min.css";
import "./style.css";
import { AddPage } from "./addcase";
import { AuditPage } from "./audit";
import { api, got, type Settings } from "./api";
import { CaseList } from "./caselist";
import { CasePage } from "./casepage";
import { ContactsPage } from "./contacts";
import { el } from "./dom";
import { dropped } from "./files";
import { OutcomesPage } from "./outcomes";
import { help, settings as settingsSheet } from "./sheets";
import { SurvivalPage } from "./survival";
import { TakesPage } from "./takes";
import { language, learnNames, rightToLeft, say, speak, t } from "./text";
import { useNumbering } from "./tooth";
import { VisitsPage } from "./visits";

interface Part {
  root: HTMLElement;
  load(): Promise<void>;
  onKey(e: KeyboardEvent): boolean;
  restyle(): void;
  end(): void;
}

/** The pages of the practice, in the order of the line on top. */
const ofPractice: Record<"visits" | "outcomes" | "contacts" | "survival" | "audit", new (tell: (text: string) => void) => Part> = { visits: VisitsPage, outcomes: OutcomesPage, contacts: ContactsPage, survival: SurvivalPage, audit: AuditPage };
type PracticeName = keyof typeof ofPractice;

const page = document.getElementById("page")!;
let set: Settings = { operator: "", numbering: "iso3950", material: "", language: "", scheme: "auto", contrast: "auto", text: "normal", paper: "a4" };
let part: Part | null = null;
let brought: File[] = [];
let silence = 0;
const message = el("div", { class: "message", role: "status" });

/** tell shows a message for a while; an empty one takes it away. */
function tell(text: string): void {
  const s = say(text);
  message.lang = s.text === text ? "" : s.lang;
  message.replaceChildren(s.text);
  message.classList.toggle("shown", text !== "");
  clearTimeout(silence);
  if (text) silence = window.setTimeout(() => tell(""), 4000 + 60 * text.length);
}

function apply(s: Settings): void {
  set = s;
  speak(s.language, navigator.languages);
  useNumbering(s.numbering);
  const root = document.documentElement;
  root.lang = language();
  root.dir = rightToLeft(s.language || language()) ? "rtl" : "ltr";
  root.dataset.scheme = s.scheme;
  root.dataset.contrast = s.contrast;
  root.dataset.text = s.text;
  document.title = t("title");
}

async function change(s: Settings): Promise<void> {
  const spoken = [set.language, set.numbering].join();
  apply(s);
  if ([s.language, s.numbering].join() !== spoken) await show();
  else part?.restyle();
  await got(api.PUT("/api/settings", { body: s })).catch((e: Error) => tell(e.message));
}

function frame(): void {
  const tool = (label: string, open: () => unknown, name: string) => el("button", { type: "button", class: `small ${name}`, onclick: open }, label);
  const at = location.hash.slice(2).split("/")[0];
  const ways = el("nav", { class: "ways", "aria-label": t("ways") }, ...(["", ...Object.keys(ofPractice)] as ("" | PracticeName)[]).map((w) => el("a", { class: "way", href: `#/${w}`, "aria-current": w === at && "page" }, t(w || "cases"))));
  page.replaceChildren(
    el("a", { class: "skip", href: "#content", onclick: (e: Event) => { e.preventDefault(); document.getElementById("content")?.focus(); } }, t("skip")),
    el("header", { class: "top" }, el("a", { class: "home", href: "#/" }, el("img", { src: "/mark.svg", alt: "", width: "28", height: "28" }), el("span", {}, location.hash.startsWith("#/case") || location.hash === "#/add" ? t("back") : t("title"))), ways, el("div", { class: "top-tools" }, tool(t("help"), help, "help"), tool(t("settings"), () => settingsSheet(set, (s) => void change({ ...s })), "settings"))),
    part!.root,
    el("footer", { class: "caution" }, t("caution")),
    message,
  );
}

async function made(hash: string): Promise<Part> {
  const m = /^#\/case\/(\d+)(\/takes|\/edit)?$/.exec(hash);
  const way = hash.slice(2).split("/")[0];
  if (way in ofPractice) return new ofPractice[way as PracticeName](tell);
  if (hash === "#/add") return new AddPage(tell, set.material, brought.splice(0));
  if (!m) return new CaseList();
  const k = await got(api.GET("/api/cases/{id}", { params: { path: { id: Number(m[1]) } } }));
  if (m[2] === "/edit") return new AddPage(tell, "", [], k);
  return m[2] ? new TakesPage(k, tell) : new CasePage(k, tell, { now: () => set, change: (s) => void change(s) });
}

let turn = 0;
async function show(): Promise<void> {
  const mine = ++turn;
  try {
    const next = await made(location.hash);
    if (mine !== turn) return next.end();
    part?.end();
    part = next;
    frame();
    window.scrollTo(0, 0);
    await part.load();
  } catch (e) {
    tell(e instanceof TypeError ? t("offline") : (e as Error).message);
    throw e;
  }
}

/** writing tells whether a key belongs to a field; of a slider only those that move it do. */
function writing(on: HTMLElement, key: string): boolean {
  if (on instanceof HTMLInputElement && on.type === "range") return /^(Arrow|Page|Home|End)/.test(key);
  return /^(INPUT|SELECT|TEXTAREA)$/.test(on.tagName);
}

function onKey(e: KeyboardEvent): void {
  const on = e.target as HTMLElement;
  if (e.ctrlKey || e.altKey || e.metaKey || document.querySelector("dialog[open]") || writing(on, e.key)) return;
  if (e.key === " " && /^(BUTTON|A|SUMMARY)$/.test(on.tagName) && !on.classList.contains("row")) return;
  if (on.classList.contains("tooth") || (on.classList.contains("handle") && e.key !== "Escape")) return;
  if (e.key === "?") help();
  else if (e.key === "l") void change({ ...set, text: set.text === "large" ? "normal" : "large" });
  else if (part?.onKey(e)) return e.preventDefault();
  else if (e.key === "Escape") location.hash = "#/";
  else return;
  e.preventDefault();
}

/** A drop anywhere on the list of cases begins a new case. */
function onDrop(e: DragEvent): void {
  e.preventDefault();
  if (!e.dataTransfer || /^#\/case/.test(location.hash)) return;
  void dropped(e.dataTransfer).then((files) => {
    brought = files;
    if (location.hash === "#/add") void show();
    else location.hash = "#/add";
  });
}

addEventListener("hashchange", () => void show());
addEventListener("keydown", onKey);
addEventListener("dragover", (e) => e.preventDefault());
addEventListener("drop", onDrop);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => part?.restyle());
apply(set);
void got(api.GET("/api/readings")).then((r) => learnNames(r.readings), () => {});
got(api.GET("/api/settings"))
  .then(apply)
  .catch(() => {})
  .finally(() => void show());
