// What try-ins and recalls of all crowns came to, the crowns themselves, and
// the table from which earlier ones are taken.
import { api, got, type Schemas } from "./api";
import { el, svg } from "./dom";
import { day, number } from "./format";
import { material, t, toothName, word } from "./text";
import { toothNumber, universalOf } from "./tooth";

type Outcomes = Schemas["Outcomes"];
type Counted = Schemas["Counted"];
type Crown = Schemas["CrownOutput"];
type Texts = Parameters<typeof t>[0];

const together = 40; // lines of a table that are taken at a time
const shownFirst = 40; // crowns of the list, until more are asked for

export class OutcomesPage {
  readonly root = el("main", { id: "content", class: "practice outcomes-page", tabindex: "-1" });
  private all = false;
  private taking: AbortController | null = null; // of a table
  private taken = el("div", { class: "taking" });

  constructor(private tell: (message: string) => void) {}

  async load(): Promise<void> {
    const { outcomes: o, crowns } = await got(api.GET("/api/practice/outcomes"));
    this.root.replaceChildren(
      el("div", { class: "cases-head" }, el("h1", {}, t("outcomes")), this.taken, this.importer()),
      el("p", { class: "sentence" }, o.at_once.of ? t("outcomesSays", { share: number(100 * o.at_once.share, 0), low: number(100 * o.at_once.low, 0), high: number(100 * o.at_once.high, 0) }) : t("outcomesNone")),
      ...(o.crowns ? [this.figures(o), this.list(crowns)] : []),
    );
    this.root.dataset.ready = "outcomes";
  }

  private figures(o: Outcomes): HTMLElement {
    const part = (title: string, rows: HTMLElement[]) => el("section", { class: "panel" }, el("h2", {}, title), el("dl", { class: "shares" }, ...rows));
    const named = (prefix: string, all: readonly Counted[]) => all.filter((c) => c.of > 0).flatMap((c) => share(t(`${prefix}_${c.name.replace("-", "")}` as Texts), c));
    const dl = (...r: HTMLElement[][]) => r.flat();
    return el(
      "div",
      { class: "charts" },
      part(t("outcomesTryIn"), dl(share(t("outcomesAtOnce"), o.at_once), share(t("outcomesAgain"), o.remade), named("outcomesSeating", o.seating), [el("dt", { class: "group" }, t("outcomesOcclusion"))], named("outcomesOcclusion", o.occlusion), [el("dt", { class: "group" }, t("outcomesMargin"))], named("outcomesMargin", o.margin))),
      part(t("contacts"), dl([el("dt", { class: "group" }, t("outcomesMesial"))], named("contacts", o.contacts.mesial ?? []), [el("dt", { class: "group" }, t("outcomesDistal"))], named("contacts", o.contacts.distal ?? []))),
      part(t("outcomesRecall"), dl(share(t("outcomesRecalled"), o.recalled), [el("dt", { class: "group" }, t("outcomesLast"))], named("outcomesAt", o.recall))),
      part(t("outcomesEnded"), dl(named("outcomesEnd", o.ended))),
    );
  }

  private list(crowns: Crown[]): HTMLElement {
    const rows = (this.all ? crowns : crowns.slice(0, shownFirst)).map((c) =>
      el(
        "tr",
        {},
        el("td", {}, day(c.date)),
        el("td", {}, el("a", { href: `#/case/${c.case}` }, el("strong", {}, toothNumber({ iso: c.iso, universal: universalOf(c.iso) })), ` ${toothName(c.iso)}`)),
        el("td", {}, c.patient),
        el("td", {}, material(c.material)),
        el("td", {}, c.dentist),
        el("td", {}, c.contacts.map((f) => (f ? t(`contacts_${f as "open"}`) : "–")).join(" / ")),
        el("td", {}, c.remade ? [t("outcomesRemade"), c.why].filter(Boolean).join(": ") : c.at_once === undefined ? "" : t(c.at_once ? "outcomesFine" : "outcomesAdjusted")),
        el("td", {}, c.said ? word("verdicts", c.said as "fails") : ""),
        el("td", {}, c.ended ? t(`outcomesEnd_${c.ended.replace("-", "") as "wish"}`) : c.last_seen === c.date ? "" : t("outcomesSeen", { when: day(c.last_seen) })),
      ),
    );
    const more = el("button", { type: "button", class: "small", onclick: () => ((this.all = true), void this.load()) }, t("outcomesMore", { n: crowns.length }));
    return el(
      "section",
      { class: "panel" },
      el("h2", {}, t("outcomesCrowns")),
      el("div", { class: "wide-table" }, el("table", { class: "table" }, el("thead", {}, el("tr", {}, ...(["outcomesDate", "tooth", "patient", "material", "outcomesDentist", "outcomesContacts", "outcomesTryIn", "outcomesSaid", "outcomesSince"] as const).map((h) => el("th", {}, t(h))))), el("tbody", {}, ...rows))),
      rows.length < crowns.length ? more : el("span"),
    );
  }

  /** importer takes earlier crowns from a table. */
  private importer(): HTMLElement {
    const input = el("input", { type: "file", accept: ".csv,text/csv", hidden: true, onchange: () => void this.take(input.files?.[0]).finally(() => (input.value = "")) });
    return el("div", { class: "importer" }, input, el("button", { type: "button", class: "button import", onclick: () => input.click() }, t("outcomesImport")));
  }

  private async take(file: File | undefined): Promise<void> {
    if (!file) return;
    const { signal } = (this.taking = new AbortController());
    const bar = el("progress", { max: "1", value: 0 });
    const now = el("span", { class: "quiet", role: "status" }, t("outcomesTaking"));
    this.taken.replaceChildren(now, bar, el("button", { type: "button", class: "small", onclick: () => this.taking?.abort() }, t("cancel")));
    const sum = { cases: 0, entries: 0, known: 0 };
    try {
      const text = await file.text();
      for (let from = 0, lines = 1; from < lines && !signal.aborted; from += together) {
        const did = await got(api.POST("/api/practice/imports", { body: { file: file.name, text, from, most: together }, signal }));
        for (const k of ["cases", "entries", "known"] as const) sum[k] += did[k];
        lines = did.lines;
        bar.max = lines;
        bar.value = Math.min(from + together, lines);
        now.replaceChildren(t("outcomesTakingOf", { n: bar.value, of: lines }));
      }
      this.tell(t("outcomesTaken", sum));
    } catch (e) {
      this.tell(signal.aborted ? t("outcomesStopped", sum) : (e as Error).message);
    }
    this.taken.replaceChildren();
    this.taking = null;
    await this.load();
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {
    this.taking?.abort();
  }
}

/** share is a line: what, how many of how many, and a bar with its interval. */
function share(name: string, c: Counted): HTMLElement[] {
  const w = 200;
  const bar = svg(
    "svg",
    { viewBox: `0 0 ${w} 16`, class: "share-bar", "aria-hidden": "true" },
    svg("rect", { x: 0, y: 3, width: w, height: 10, rx: 2, class: "share-all" }),
    svg("rect", { x: 0, y: 3, width: w * c.share, height: 10, rx: 2, class: "share-part" }),
    svg("line", { x1: w * c.low, x2: w * c.high, y1: 8, y2: 8, class: "share-interval" }),
  );
  return [
    el("dt", {}, name),
    el("dd", { title: t("outcomesInterval", { low: number(100 * c.low, 0), high: number(100 * c.high, 0) }) }, bar, el("span", { class: "figure" }, c.of ? t("outcomesOf", { found: c.found, of: c.of, share: number(100 * c.share, 0) }) : t("outcomesNobody"))),
  ];
}
