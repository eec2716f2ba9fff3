// The ledger: each reading with its value, limit, verdict in words and next step.
import { bar } from "./bar";
import { type Entry, judged } from "./book";
import { el } from "./dom";
import { digitsOf, number, unit } from "./format";
import type { Limit, Reading } from "./record";
import { readingName, said, say, sector, t, word } from "./text";

/** limitText says a limit in words, without unit. */
export function limitText(l: Limit, digits: number): string {
  const n = (v: number) => number(v, digits);
  if (l.min !== undefined && l.max !== undefined) return t("limitBoth", { a: n(l.min), b: n(l.max) });
  return l.min !== undefined ? t("limitMin", { a: n(l.min) }) : t("limitMax", { a: n(l.max ?? 0) });
}

/** valueText is the value with its uncertainty and unit. */
export function valueText(r: Reading): string {
  if (r.value === null) return "–";
  const d = digitsOf(r.unit, r.uncertainty);
  const pm = r.uncertainty ? `\u202f±\u202f${number(r.uncertainty, d === 0 && r.unit !== "1" ? 0 : d)}` : "";
  return `${number(r.value, d)}${pm}${unit(r.unit)}`;
}

function figures(r: Reading): HTMLElement {
  const d = digitsOf(r.unit, r.uncertainty);
  if (r.value === null) return el("span", { class: "figures" }, el("span", { class: "value none" }, "–"));
  const spread = r.uncertainty ? el("span", { class: "spread" }, ` ±\u202f${number(r.uncertainty, d)}`) : null;
  return el("span", { class: "figures", dir: "ltr" }, el("span", { class: "value" }, number(r.value, d)), spread, el("span", { class: "unit" }, unit(r.unit)));
}

/** Changed is how a reading differs from that of the last scan; by is infinite where the verdict is another one. */
export interface Changed {
  text: string;
  by: number;
}

function row(r: Reading, choose: (r: Reading) => void, changed: Map<string, Changed>, otherwise?: Entry): HTMLElement {
  const d = digitsOf(r.unit, r.uncertainty);
  const place = r.at?.sector ? el("span", { class: "place" }, sector(r.at.sector)) : null;
  const change = changed.get(r.id);
  const button = el(
    "button",
    { class: `row ${r.verdict}`, type: "button", "data-id": r.id, "aria-pressed": "false", onclick: () => choose(r) },
    el("span", { class: "name" }, readingName(r.id, r.name)),
    el("span", { class: `verdict ${r.verdict}` }, word("verdicts", r.verdict)),
    figures(r),
    el("span", { class: "against" }, r.value !== null && r.limit ? bar(r.value, r.uncertainty, r.limit) : null),
    el("span", { class: "bounds", dir: "auto" }, r.limit ? limitText(r.limit, d) : "", place && r.limit ? " · " : "", place),
    otherwise ? el("span", { class: "overridden" }, judged(otherwise)) : null,
    change ? el("span", { class: change.by > (r.uncertainty ?? 0) ? "changed" : "changed slight", dir: "ltr" }, change.text) : null,
  );
  return el("li", {}, button, el("div", { class: "more", hidden: true }));
}

/** detail is what the ledger adds below the chosen reading. */
export function detail(r: Reading, otherwise?: Entry): Node[] {
  const out: Node[] = [];
  if (otherwise) out.push(el("p", { class: "step", dir: "auto" }, `${t("reason")}: ${otherwise.entry.override!.reason}`));
  if (r.next) out.push(said("p", r.next, { class: "step" }));
  else if (r.reason) out.push(said("p", r.reason, { class: "step" }));
  if (r.note) out.push(said("p", r.note));
  if (r.limit) out.push(el("p", { class: "quiet", dir: "auto" }, `${t("limitBy")}: `, said("span", r.limit.source), ` (${say(r.limit.status).text}).`));
  return out;
}

export class Ledger {
  readonly root = el("ol", { class: "ledger" });
  private readings: Reading[] = [];
  private chosen = "";
  private overrides = new Map<string, Entry>();

  constructor(private choose: (r: Reading) => void) {}

  /** show draws the readings in the order given. */
  show(readings: Reading[], changed: Map<string, Changed>, notes: readonly string[] = [], overrides = new Map<string, Entry>()): void {
    this.readings = readings;
    this.overrides = overrides;
    const on = this.root.contains(document.activeElement) ? (document.activeElement as HTMLElement).dataset.id : undefined;
    this.root.replaceChildren(...readings.map((r) => row(r, this.choose, changed, overrides.get(r.id))), ...this.aside(notes));
    if (this.chosen) this.mark(this.chosen, false);
    if (on) this.root.querySelector<HTMLElement>(`[data-id="${on}"]`)?.focus({ preventScroll: true });
  }

  /** aside are what the run says beside its readings, such as what was mended of a file. */
  private aside(notes: readonly string[]): HTMLElement[] {
    return notes.length === 0 ? [] : [el("li", { class: "asides" }, ...notes.map((n) => said("p", n, { class: "quiet" })))];
  }

  /** mark shows which reading is chosen, with its details below. */
  mark(id: string, scroll: boolean): void {
    this.chosen = id;
    for (const li of this.root.children) {
      const b = li.querySelector<HTMLButtonElement>(".row");
      if (!b) continue;
      const on = b.dataset.id === id;
      b.setAttribute("aria-pressed", String(on));
      const more = li.querySelector<HTMLElement>(".more")!;
      more.hidden = !on;
      if (!on) continue;
      const r = this.readings.find((x) => x.id === id);
      if (r) more.replaceChildren(...detail(r, this.overrides.get(r.id)));
      if (more.childElementCount === 0) more.hidden = true;
      if (scroll) li.scrollIntoView({ block: "nearest" });
    }
  }
}
