// The record of a case: hold points that were confirmed, lots, verdicts that
// a person has overridden, and whether all is as it was kept.
import { api, got, Refused, type Schemas } from "./api";
import { el } from "./dom";
import { day, when } from "./format";
import { familyName, standingName } from "./luting";
import { counts, type HoldPoint, type Reading, type Verdict } from "./record";
import { decided, readingName, say, said, t, word } from "./text";

export type Thing = "block" | "tool" | "cement";
const things: readonly Thing[] = ["block", "tool", "cement"];
const own = ["conforms", "fails"] as const;
type Texts = Parameters<typeof t>[0];

/** Entry is an entry of the record; its parts are those that the record's own form has. */
export interface Entry extends Omit<Schemas["EntryOutput"], "entry"> {
  entry: {
    run?: { surfaces: { role: string }[] };
    confirmation?: { hold_point: HoldPoint; run: number; fails: number; undecided: number; unmeasured: number; overridden: number; remark: string };
    lot?: { thing: Thing; lot: string; product: string; expires: string };
    override?: { reading: string; run: number; from: Verdict; to: Verdict; reason: string };
    correction?: { entry: number; reason: string };
    try_in?: { date: string; contacts: { side: "mesial" | "distal"; felt: "open" | "light" | "right" | "heavy"; removed: number | null }[]; occlusion: string; ground: number | null; seating: string; margin: string; remade: boolean; why: string };
    recall?: { date: string; bleeding: boolean | null; probing: number | null; retention: string; fracture: string; caries: string; margin: string; contacts: { side: "mesial" | "distal"; felt: "open" | "light" | "right" | "heavy" }[]; end: string; remark: string };
    luting?: { date: string; family: string; said: string; remark: string };
  };
}

/** Standing is what the entries come to when those that do not hold are left out. */
export interface Standing {
  confirmed: Map<HoldPoint, Entry>; // of the newest run
  lots: Map<Thing, Entry>; // the last of each
  overrides: Map<string, Entry>; // of the newest run, by reading
}

/** standing works out what holds. */
export function standing(entries: readonly Entry[]): Standing {
  const hold = entries.filter((e) => e.corrected_by === 0);
  const run = hold.filter((e) => e.kind === "run").at(-1)?.number;
  const out: Standing = { confirmed: new Map(), lots: new Map(), overrides: new Map() };
  for (const e of hold) {
    const { confirmation, lot, override } = e.entry;
    if (confirmation?.run === run && confirmation) out.confirmed.set(confirmation.hold_point, e);
    if (lot) out.lots.set(lot.thing, e);
    if (override?.run === run && override) out.overrides.set(override.reading, e);
  }
  return out;
}

/** by says who made an entry, and when. */
const by = (e: Entry): string => [e.who, when(e.at)].filter(Boolean).join(", ");

/** expired tells whether a thing had expired when its lot was kept. */
const expired = (e: Entry): boolean => !!e.entry.lot?.expires && e.at.slice(0, 10) > e.entry.lot.expires;

const thingName = (x: Thing): string => t(x === "block" ? "block" : x === "tool" ? "thingTool" : "thingCement");

/** lotText is a lot with what its code says beside it. */
function lotText(e: Entry): string {
  const l = e.entry.lot!;
  const until = l.expires ? t(expired(e) ? "hadExpired" : "expires", { when: l.expires }) : "";
  return [l.lot ? t("lotNumber", { lot: l.lot }) : t("noLot"), until].filter(Boolean).join(", ");
}

/** Shown is what the ledger shows, which a confirmation or an override is about. */
export interface Shown {
  hold: HoldPoint;
  readings: Reading[]; // of the hold point
  reading: Reading | null; // the chosen one
}

export class Book {
  readonly line = el("div", { class: "book-line" });
  readonly root = el("section", { class: "book", "aria-label": t("record"), hidden: true });
  private on = el("button", { type: "button", class: "small book-on", "aria-expanded": "false", onclick: () => this.open(this.root.hidden) }, t("record"));
  private now = el("span", { class: "quiet" });
  private who = el("input", { id: "who", maxlength: "40", autocomplete: "off", class: "who-in" });
  private confirming = el("form", { class: "book-part confirming" });
  private lots = el("div", { class: "book-part lots" });
  private judging = el("form", { class: "book-part judging" });
  private reason = el("input", { id: "reason", maxlength: "2000", autocomplete: "off" });
  private remark = el("input", { id: "confirm-remark", maxlength: "2000", autocomplete: "off" });
  private to = el("select", { id: "judged" }, ...own.map((v) => el("option", { value: v }, word("verdicts", v))));
  private checked = el("p", { class: "checked", role: "status" });
  private list = el("ol", { class: "entries" });
  private entries: Entry[] = [];
  private about = "";
  private shown: Shown = { hold: "preparation", readings: [], reading: null };
  private ended = false;

  constructor(
    private id: number,
    private tell: (message: string) => void,
    initials: { now(): string; keep(who: string): void },
    private changed: (s: Standing) => void,
  ) {
    this.line.append(this.on, this.now);
    this.who.value = initials.now();
    this.who.addEventListener("change", () => initials.keep(this.who.value.trim()));
    this.confirming.addEventListener("submit", (e) => void this.submitted(e, () => this.confirm()));
    this.judging.addEventListener("submit", (e) => void this.submitted(e, () => this.judge()));
    this.root.append(
      el("div", { class: "book-parts" }, el("div", { class: "book-part" }, el("h2", {}, t("confirmHead")), el("div", { class: "field" }, el("label", { for: "who" }, t("operator")), this.who), this.confirming), this.lots, this.judging),
      el("div", { class: "book-head" }, el("h2", {}, t("entries")), this.checked),
      this.list,
    );
    this.drawLots();
  }

  /** open shows the record, or takes it away. */
  open(on: boolean): void {
    this.root.hidden = !on;
    this.on.setAttribute("aria-expanded", String(on));
    if (!on) return;
    void this.verify();
    this.root.scrollIntoView({ block: "start" });
  }

  get opened(): boolean {
    return !this.root.hidden;
  }

  /** load reads the entries. */
  async load(): Promise<void> {
    try {
      this.entries = (await got(api.GET("/api/cases/{id}/entries", { params: { path: { id: this.id } } }))).entries as unknown as Entry[];
      this.fault("");
    } catch (e) {
      if (!(e instanceof Refused) || e.status !== 409) throw e;
      this.fault(e.message);
    }
    if (this.ended) return;
    this.drawLots();
    this.drawList();
    this.changed(standing(this.entries));
    this.show(this.shown);
    if (this.opened) void this.verify();
  }

  /** fault says what is not right with the record, in the line that is always seen. */
  private fault(text: string): void {
    const s = say(text);
    const n = t(this.entries.length === 1 ? "entriesOne" : "entriesMany", { n: this.entries.length });
    this.now.replaceChildren(text ? el("strong", { lang: s.lang }, s.text) : n);
  }

  /** show follows the ledger: what can be confirmed or judged is what is seen there. */
  show(s: Shown): void {
    this.shown = s;
    const stand = standing(this.entries);
    const n = counts(s.readings.filter((r) => !stand.overrides.has(r.id)));
    const open = (["fails", "undecided", "unmeasured"] as Verdict[]).filter((v) => n[v] > 0).map((v) => decided(v, n[v]));
    if (stand.overrides.size) open.push(t("judgedSome", { n: s.readings.filter((r) => stand.overrides.has(r.id)).length }));
    const c = stand.confirmed.get(s.hold);
    this.confirming.replaceChildren(
      el("p", {}, el("strong", {}, word("holds", s.hold)), `: ${open.join(", ") || t("nothingOpen")}`),
      c ? el("p", { class: "quiet kept" }, t("confirmedBy", { by: by(c) })) : "",
      el("div", { class: "field" }, el("label", { for: "confirm-remark" }, t("remark")), this.remark),
      el("button", { type: "submit", class: "small confirm-hold" }, t("confirmHold", { hold: word("holds", s.hold) })),
    );
    this.drawJudging(stand);
  }

  private drawJudging(stand: Standing): void {
    const r = this.shown.reading;
    const o = r ? stand.overrides.get(r.id) : undefined;
    const about = `${r?.id} ${o?.number}`;
    if (r && this.about !== about) {
      this.about = about;
      this.to.value = (o?.entry.override!.to ?? r.verdict) === "conforms" ? "fails" : "conforms";
      this.reason.value = "";
    }
    this.judging.replaceChildren(
      el("h2", {}, t("judgeHead")),
      r ? el("p", {}, el("strong", {}, readingName(r.id, r.name)), ": ", word("verdicts", r.verdict)) : el("p", { class: "quiet" }, t("chooseFirst")),
      o ? el("p", { class: "quiet kept" }, `${judged(o)}: ${o.entry.override!.reason}`) : "",
      el("div", { class: "field" }, el("label", { for: "judged" }, t("judgedAs")), this.to),
      el("div", { class: "field" }, el("label", { for: "reason" }, t("reason")), this.reason),
      el("button", { type: "submit", class: "small", disabled: !r }, t("judge")),
    );
  }

  private drawLots(): void {
    const stand = standing(this.entries);
    const row = (x: Thing) => {
      const input = el("input", { id: `lot-${x}`, maxlength: "400", autocomplete: "off", spellcheck: "false", dir: "ltr" });
      // A code scanner types the separator of GS1 (FNC1, here the character GS) as Control and the closing bracket.
      input.addEventListener("keydown", (e) => {
        if (!e.ctrlKey || e.key !== "]") return;
        e.preventDefault();
        input.setRangeText("\x1d", input.selectionStart!, input.selectionEnd!, "end");
      });
      const e = stand.lots.get(x);
      const form = el("form", { class: "lot" }, el("label", { for: `lot-${x}` }, thingName(x)), input, el("button", { type: "submit", class: "small", "aria-label": t("keepLot", { thing: thingName(x) }) }, t("keep")), e ? el("span", { class: expired(e) ? "kept" : "quiet kept" }, lotText(e)) : "");
      form.addEventListener("submit", (ev) => void this.submitted(ev, () => this.lot(x, input)));
      return form;
    };
    const on = this.lots.contains(document.activeElement) ? document.activeElement!.id : "";
    this.lots.replaceChildren(el("h2", {}, t("lots")), ...things.map(row), el("p", { class: "quiet" }, t("lotHint")));
    if (on) document.getElementById(on)?.focus();
  }

  private drawList(): void {
    this.list.replaceChildren(
      ...[...this.entries].reverse().map((e) =>
        el(
          "li",
          { class: e.corrected_by ? "entry corrected" : "entry" },
          el("span", { class: "entry-number" }, String(e.number)),
          el("span", { class: "quiet" }, by(e)),
          el("span", { class: "entry-what", dir: "auto" }, this.what(e), e.corrected_by ? el("em", {}, ` ${t("correctedBy", { n: e.corrected_by })}`) : ""),
          el("code", { class: "quiet", title: e.hash, dir: "ltr" }, e.hash.slice(0, 12)),
          !["run", "correction"].includes(e.kind) && !e.corrected_by ? el("button", { type: "button", class: "small correct", "aria-label": t("correctEntry", { n: e.number }), onclick: (ev: Event) => this.correcting(e, ev.currentTarget as HTMLElement) }, t("correct")) : el("span"),
        ),
      ),
    );
  }

  /** what an entry says, in words. */
  private what(e: Entry): string {
    const { run, confirmation: c, lot, override: o, correction, luting: l } = e.entry;
    if (run) return t("didMeasure", { roles: run.surfaces.map((s) => word("roles", s.role as "crown")).join(", ") });
    if (c) {
      const open = (["fails", "undecided", "unmeasured"] as const).filter((v) => c[v] > 0).map((v) => decided(v, c[v]));
      if (c.overridden) open.push(t("judgedSome", { n: c.overridden }));
      return [`${t("didConfirm", { hold: word("holds", c.hold_point) })}: ${open.join(", ") || t("nothingOpen")}`, c.remark].filter(Boolean).join(". ");
    }
    if (lot) return `${thingName(lot.thing)}: ${lotText(e)}`;
    if (o) return `${readingName(o.reading, this.nameOf(o.reading))}: ${t("judgedFrom", { from: word("verdicts", o.from), to: word("verdicts", o.to) })}. ${o.reason}`;
    if (e.entry.try_in || e.entry.recall) return foundText(e);
    if (l) return [t("lutingDid", { family: familyName(l.family) }) + (l.said ? ` (${t("lutingSaid", { standing: standingName(l.said) })})` : ""), l.remark].filter(Boolean).join(". ");
    return correction ? t("didCorrect", { n: correction.entry, reason: correction.reason }) : "";
  }

  private names = new Map<string, string>();
  /** learn takes the names of readings, which an entry has by their ids. */
  learn(readings: readonly Reading[]): void {
    for (const r of readings) this.names.set(r.id, r.name);
  }
  private nameOf(id: string): string {
    return this.names.get(id) ?? id;
  }

  /** correcting asks why an entry does not hold, below it. */
  private correcting(e: Entry, button: HTMLElement): void {
    const why = el("input", { id: "why-not", maxlength: "2000", autocomplete: "off" });
    const form = el("form", { class: "why-not" }, el("label", { for: "why-not" }, t("whyNot", { n: e.number })), why, el("button", { type: "submit", class: "small" }, t("keep")));
    form.addEventListener("submit", (ev) => void this.submitted(ev, () => got(api.POST("/api/cases/{id}/entries/corrections", { params: { path: { id: this.id } }, body: { who: this.name(), entry: e.number, reason: why.value.trim() } }))));
    this.list.querySelector(".why-not")?.remove();
    button.closest("li")!.append(form);
    why.focus();
  }

  /** name is who makes an entry. @throws when nobody has said so. */
  private name(): string {
    const who = this.who.value.trim();
    if (who) return who;
    this.who.focus();
    throw new Error(t("whoFirst"));
  }

  private async submitted(e: Event, keep: () => Promise<unknown>): Promise<void> {
    e.preventDefault();
    const button = (e.currentTarget as HTMLElement).querySelector<HTMLButtonElement>("button[type=submit]")!;
    if (button.disabled) return;
    button.disabled = true;
    try {
      await keep();
      this.tell(t("entryKept"));
      await this.load();
    } catch (err) {
      this.tell((err as Error).message);
    } finally {
      button.disabled = false;
    }
  }

  private async confirm(): Promise<void> {
    await got(api.POST("/api/cases/{id}/entries/confirmations", { params: { path: { id: this.id } }, body: { who: this.name(), hold_point: this.shown.hold, remark: this.remark.value.trim() } }));
    this.remark.value = "";
  }

  private async lot(thing: Thing, input: HTMLInputElement): Promise<void> {
    const lot = input.value.replace(/^[ \t]+|[ \t]+$/g, ""); // the separator stays
    if (!lot) throw new Error(t("lotFirst"));
    await got(api.POST("/api/cases/{id}/entries/lots", { params: { path: { id: this.id } }, body: { who: this.name(), thing, lot } }));
    input.value = "";
  }

  private async judge(): Promise<void> {
    const reason = this.reason.value.trim();
    if (!reason) {
      this.reason.focus();
      throw new Error(t("reasonFirst"));
    }
    await got(api.POST("/api/cases/{id}/entries/overrides", { params: { path: { id: this.id } }, body: { who: this.name(), reading: this.shown.reading!.id, verdict: this.to.value as "fails", reason } }));
  }

  /** verify holds the whole record and its files to their hashes. */
  private async verify(): Promise<void> {
    this.checked.classList.remove("wrong");
    this.checked.replaceChildren(t("checking"));
    try {
      const v = await got(api.GET("/api/cases/{id}/entries/verified", { params: { path: { id: this.id } } }));
      if (this.ended) return;
      this.checked.classList.toggle("wrong", !v.right);
      this.checked.replaceChildren(v.right ? t("verified", { n: v.entries, files: v.surfaces }) : said("span", v.fault));
      this.checked.title = v.head;
      if (!v.right) this.fault(v.fault);
    } catch (e) {
      this.checked.replaceChildren((e as Error).message);
    }
  }

  end(): void {
    this.ended = true;
  }
}

/** foundText is what was found at try-in or a recall, in words. */
function foundText(e: Entry): string {
  const { try_in: x, recall: r } = e.entry;
  const found = (x ?? r)!;
  const named = (name: Texts, prefix: string, v: string) => (v ? `${t(name)}: ${t(`${prefix}_${v.replace("-", "")}` as Texts)}` : "");
  const contacts = found.contacts.map((c) => `${t(c.side === "mesial" ? "outcomesMesial" : "outcomesDistal")}: ${t(`contacts_${c.felt}`)}`);
  const rest = x
    ? [named("outcomesOcclusion", "outcomesOcclusion", x.occlusion), named("outcomesSeating", "outcomesSeating", x.seating), named("outcomesMargin", "outcomesMargin", x.margin), x.remade ? t("outcomesRemade") : "", x.why]
    : [
        r!.bleeding === null ? "" : named("outcomesBleeding", "outcomesRemade", r!.bleeding ? "yes" : "no"),
        r!.probing === null ? "" : `${t("outcomesProbing")}: ${r!.probing}`,
        named("outcomesRetention", "outcomesRetention", r!.retention),
        named("outcomesFracture", "outcomesFracture", r!.fracture),
        named("outcomesCaries", "outcomesCaries", r!.caries),
        named("outcomesMargin", "outcomesMargin", r!.margin),
        r!.end ? `${t("outcomesEnded")}: ${t(`outcomesEnd_${r!.end.replace("-", "")}` as Texts)}` : "",
        r!.remark,
      ];
  return `${t(x ? "outcomesTryIn" : "outcomesRecall")} ${day(found.date)}. ${[...contacts, ...rest].filter(Boolean).join(", ")}`;
}

/** judged says what a person judged instead, who and when. */
export function judged(e: Entry): string {
  return t("judgedBy", { verdict: word("verdicts", e.entry.override!.to), by: by(e) });
}
