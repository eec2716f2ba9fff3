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

export class CaseList {
  readonly root = el("main", { id: "content", class: "cases", tabindex: "-1" });

  async load(): Promise<void> {
    const { cases } = await got(api.GET("/api/cases"));
    this.root.replaceChildren(
      el("div", { class: "cases-head" }, el("h1", {}, t("cases")), el("a", { class: "button primary", href: "#/add" }, t("add"))),
      cases.length ? el("ul", { class: "case-list" }, ...cases.map(row)) : el("p", { class: "sentence" }, t("casesNone")),
    );
    this.root.dataset.ready = "cases";
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
