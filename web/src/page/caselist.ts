// The cases, the one changed last first, each with its most important next step.
import { api, type Case, got } from "./api";
import { el } from "./dom";
import { when } from "./format";
import type { Verdict } from "./record";
import { decided, said, t, toothName } from "./text";
import { toothNumber } from "./tooth";

/** summary says the verdicts of a case in words, worst first, what conforms last. */
export function summary(v: Partial<Record<Verdict, number>> | undefined): HTMLElement[] {
  const order: Verdict[] = ["fails", "undecided", "conforms"];
  return order.filter((k) => (v?.[k] ?? 0) > 0).map((k) => el("span", { class: "count" }, decided(k, v![k]!)));
}

function row(k: Case): HTMLElement {
  const worst: Verdict | "none" = k.verdicts?.fails ? "fails" : k.verdicts?.undecided ? "undecided" : k.run ? "conforms" : "none";
  const about = [k.patient, k.title].filter(Boolean).join(" · ");
  return el(
    "li",
    {},
    el(
      "a",
      { class: `case-row ${worst}`, href: `#/case/${k.id}` },
      el("span", { class: "number" }, toothNumber(k)),
      el("span", { class: "case-what" }, el("strong", {}, toothName(k.iso)), el("span", { class: "quiet" }, about)),
      k.headline ? said("span", k.headline, { class: "case-next" }) : el("span", { class: "case-next" }, k.run ? t("allDone") : t("notMeasured")),
      el("span", { class: "case-counts" }, el("span", { class: "counts" }, ...summary(k.verdicts)), el("span", { class: "quiet" }, k.run ? t("measured", { when: when(k.run.made) }) : "")),
    ),
  );
}

const shownFirst = 30; // cases, until more are asked for
const findFrom = 8; // cases from which on one is looked for

export class CaseList {
  readonly root = el("main", { id: "content", class: "cases", tabindex: "-1" });
  private cases: Case[] = [];
  private most = shownFirst;
  private list = el("ul", { class: "case-list" });
  private more = el("button", { type: "button", class: "more-cases", onclick: () => ((this.most = Infinity), this.draw()) });
  private find = el("input", { id: "find-case", type: "search", autocomplete: "off", placeholder: t("findHint"), oninput: () => this.draw() });

  async load(): Promise<void> {
    this.cases = (await got(api.GET("/api/cases"))).cases;
    const find = el("div", { class: "find" }, el("label", { for: "find-case" }, t("find")), this.find);
    this.root.replaceChildren(
      el("div", { class: "cases-head" }, el("h1", {}, t("cases")), this.cases.length >= findFrom ? find : "", el("a", { class: "button primary", href: "#/add" }, t("add"))),
      this.cases.length ? this.list : el("p", { class: "sentence" }, t("casesNone")),
      this.more,
    );
    this.draw();
    this.root.dataset.ready = "cases";
  }

  /** draw shows the cases that are looked for, the first of them. */
  private draw(): void {
    const words = this.find.value.toLowerCase().split(/\s+/).filter(Boolean);
    const has = (k: Case) => [toothNumber(k), toothName(k.iso), k.patient, k.title, k.material].join(" ").toLowerCase();
    const found = words.length ? this.cases.filter((k) => words.every((w) => has(k).includes(w))) : this.cases;
    this.list.replaceChildren(...found.slice(0, this.most).map(row), ...(this.cases.length && !found.length ? [el("li", { class: "quiet" }, t("findNone"))] : []));
    this.more.hidden = found.length <= this.most;
    this.more.replaceChildren(t("moreCases", { n: found.length }));
  }

  /** onKey moves through the cases. */
  onKey(e: KeyboardEvent): boolean {
    const rows = [...this.root.querySelectorAll<HTMLAnchorElement>(".case-row")];
    const i = rows.indexOf(document.activeElement as HTMLAnchorElement);
    if (["j", "ArrowDown", "PageDown"].includes(e.key)) rows[Math.min(i + 1, rows.length - 1)]?.focus();
    else if (["k", "ArrowUp", "PageUp"].includes(e.key)) rows[Math.max(i - 1, 0)]?.focus();
    else return false;
    return true;
  }
  restyle(): void {}
  end(): void {}
}
