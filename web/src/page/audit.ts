// The page of the audit: all readings over all cases, each with its
// distribution against its limit and its share failing; one looked at closely.
import { api, got, type Schemas } from "./api";
import { AuditDetail } from "./auditdetail";
import { histogram, type Summary } from "./audithist";
import { caseName, fails } from "./auditword";
import { el } from "./dom";
import { day } from "./format";
import { readingName, said, t, word } from "./text";

type Audit = Schemas["AuditOutput"];
type Jobs = Schemas["AuditJobs"];

const asked = 2000; // milliseconds between looks at jobs

export class AuditPage {
  readonly root = el("main", { id: "content", class: "practice audit-page", tabindex: "-1" });
  private list = el("section", { class: "panel audit-list" });
  private detail = new AuditDetail();
  private jobs = el("div", { class: "audit-jobs", role: "status" });
  private readings: Summary[] = [];
  private chosen = "";
  private timer = 0;

  constructor(private tell: (message: string) => void) {}

  async load(): Promise<void> {
    if (!this.readings.length) this.root.replaceChildren(el("h1", {}, t("audit")), el("p", { class: "sentence", role: "status" }, t("auditLooking")));
    this.show(await got(api.GET("/api/audit")));
    this.showJobs(await got(api.GET("/api/audit/jobs")));
    if (this.readings.length) await this.choose(this.chosen || worst(this.readings).reading);
    this.root.dataset.ready = "audit";
  }

  private show(a: Audit): void {
    this.readings = a.readings;
    const says = a.measured === 0 ? t("auditNone") : a.measured === 1 ? t("auditSaysOne", { first: day(a.first) }) : a.first === a.last ? t("auditSaysDay", { n: a.measured, first: day(a.first) }) : t("auditSays", { n: a.measured, first: day(a.first), last: day(a.last) });
    const more = [a.waiting ? t("auditWaiting", { n: a.waiting }) : "", a.problems.length ? t("auditProblems", { n: a.problems.length }) : ""];
    const table = (name: string, text: string) => el("a", { class: "button", href: `/api/audit/tables/${name}`, download: `audit-${name}.csv` }, text);
    this.list.replaceChildren(...["preparation", "design", "try-in", "recall"].flatMap((hold) => this.group(hold)));
    this.root.replaceChildren(
      el("div", { class: "cases-head" }, el("h1", {}, t("audit")), el("div", { class: "audit-acts" }, ...(a.measured ? [table("readings", t("auditReadings")), table("summary", t("auditSummary"))] : []), this.jobs)),
      el("p", { class: "sentence" }, [says, ...more].filter(Boolean).join(" ")),
      ...(a.measured ? [el("p", { class: "quiet" }, t("auditCaution")), el("div", { class: "audit-two" }, this.list, this.detail.root)] : []),
      ...(a.problems.length ? [el("section", { class: "panel" }, el("h2", {}, t("auditLeftOut")), el("ul", {}, ...a.problems.map((p) => el("li", {}, `${caseName(p.case)}: `, said("span", p.reason)))))] : []),
    );
  }

  private group(hold: string): HTMLElement[] {
    const of = this.readings.filter((s) => s.hold_point === hold);
    if (of.length === 0) return [];
    return [el("h2", {}, word("holds", hold as "design")), el("ul", { class: "audit-rows" }, ...of.map((s) => this.row(s)))];
  }

  private row(s: Summary): HTMLElement {
    const says = s.values === 0 ? [t("auditNoValue")] : [fails(s.fails)];
    if (s.undecided.count) says.push(t("auditUndecided", { n: s.undecided.count }));
    if (s.values > 0 && s.bins.length === 0) says.push(t("auditFew", { n: s.values }));
    if (s.outside) says.push(s.outside === 1 ? t("auditOutsideOne") : t("auditOutside", { n: s.outside }));
    return el(
      "li",
      {},
      el("button", { type: "button", class: "audit-row", "data-reading": s.reading, "aria-pressed": "false", onclick: () => void this.choose(s.reading) }, el("span", { class: "audit-name" }, readingName(s.reading, s.name)), el("span", { class: s.fails.count ? "audit-says some" : "audit-says" }, says.join(" · ")), el("span", { class: "audit-slot", dir: "ltr" }, histogram(s, 220, 52, false))),
    );
  }

  private async choose(reading: string): Promise<void> {
    this.chosen = reading;
    for (const b of this.list.querySelectorAll<HTMLElement>(".audit-row")) b.setAttribute("aria-pressed", String(b.dataset.reading === reading));
    try {
      const d = await got(api.GET("/api/audit/readings/{reading}", { params: { path: { reading } } }));
      if (this.chosen === reading) this.detail.show(d);
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  private showJobs(j: Jobs): void {
    window.clearTimeout(this.timer);
    if (j.under_way > 0) {
      this.jobs.replaceChildren(el("span", {}, t("auditUnder", { n: j.under_way, all: j.cases })), el("button", { type: "button", class: "small", onclick: () => void this.ask(api.DELETE("/api/audit/jobs")) }, t("auditStop")));
      this.timer = window.setTimeout(() => void this.look(), asked);
      return;
    }
    const again = el("button", { type: "button", class: "button audit-again" }, t("auditAgain"));
    again.addEventListener("click", () => {
      if (again.dataset.sure) return void this.ask(api.POST("/api/audit/jobs"));
      again.dataset.sure = "yes";
      again.replaceChildren(t("auditAgainSure", { n: j.cases }));
    });
    this.jobs.replaceChildren(j.failed ? el("span", { class: "quiet" }, t("auditFailed", { n: j.failed })) : "", j.cases ? again : "");
  }

  /** look follows jobs; when the last has ended all is looked over anew. */
  private async look(): Promise<void> {
    const j = await got(api.GET("/api/audit/jobs")).catch(() => null);
    if (j?.under_way === 0) return this.load();
    if (j) this.showJobs(j);
    else this.timer = window.setTimeout(() => void this.look(), asked);
  }

  private async ask(answer: Parameters<typeof got<Jobs>>[0]): Promise<void> {
    try {
      this.showJobs(await got(answer));
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  /** onKey: the arrows go through the readings. */
  onKey(e: KeyboardEvent): boolean {
    const step = { ArrowDown: 1, PageDown: 1, ArrowUp: -1, PageUp: -1 }[e.key];
    const rows = [...this.list.querySelectorAll<HTMLElement>(".audit-row")];
    if (!step || rows.length === 0) return false;
    const i = rows.findIndex((r) => r.dataset.reading === this.chosen);
    const next = rows[Math.max(0, Math.min(rows.length - 1, i + step))];
    next.scrollIntoView({ block: "nearest" });
    void this.choose(next.dataset.reading!);
    return true;
  }

  restyle(): void {
    this.detail.restyle();
  }

  end(): void {
    window.clearTimeout(this.timer);
    this.detail.end();
  }
}

const enough = 10; // cases compared with a limit: of fewer a share says little

/** worst is the reading that fails most often for sure, among those of enough cases where there are any. */
function worst(all: Summary[]): Summary {
  const many = all.filter((s) => s.fails.of >= enough);
  return (many.length ? many : all).reduce((a, b) => (b.fails.count > 0 && b.fails.low > a.fails.low ? b : a));
}
