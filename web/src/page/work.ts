// The measuring of a case: start, progress by server-sent events, cancel.
import { api, type Case, got, type Job } from "./api";
import { el } from "./dom";
import { say, t } from "./text";

export class Work {
  readonly root = el("div", { class: "work" });
  job: number | null = null;
  private events: EventSource | null = null;
  private bar = el("progress", { max: "1", value: 0 });
  private step = el("span", { class: "work-step" });

  constructor(
    private kase: Case,
    private tell: (message: string) => void,
    private done: () => void,
    private first: () => void,
  ) {}

  /** show takes up a case: it follows a job that is under way. */
  show(k: Case): void {
    this.kase = k;
    if (k.job && (k.job.state === "running" || k.job.state === "waiting")) this.follow(k.job);
    else this.idle();
  }

  get busy(): boolean {
    return this.events !== null;
  }

  private idle(): void {
    this.root.replaceChildren(el("button", { type: "button", class: this.kase.run ? "measure" : "measure primary", onclick: () => void this.start() }, this.kase.run ? t("again") : t("measure")), el("a", { class: "button", href: `#/case/${this.kase.id}/takes` }, t("takes")));
    const j = this.kase.job;
    if (j?.state === "failed" && j.error) this.tell(t("failedJob", { why: say(j.error).text }));
  }

  /** start measures the case. */
  async start(): Promise<void> {
    try {
      this.follow(await got(api.POST("/api/cases/{id}/jobs", { params: { path: { id: this.kase.id } } })));
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  private follow(j: Job): void {
    this.end();
    this.job = j.id;
    this.bar.setAttribute("aria-label", t("measure"));
    this.root.replaceChildren(el("div", { class: "work-now" }, this.step, this.bar), el("button", { type: "button", class: "small", onclick: () => void this.cancel() }, t("stop")));
    this.progress(j);
    const es = (this.events = new EventSource(`/api/jobs/${j.id}/events`));
    es.addEventListener("progress", (e) => this.progress(JSON.parse((e as MessageEvent<string>).data) as Job));
    es.addEventListener("first", () => {
      this.tell(t("first"));
      this.first();
    });
    es.addEventListener("end", (e) => this.ended(JSON.parse((e as MessageEvent<string>).data) as { state: string }));
  }

  private progress(j: Job): void {
    this.kase = { ...this.kase, job: j };
    this.bar.value = j.total > 0 ? j.done / j.total : 0;
    this.step.replaceChildren(j.state === "waiting" ? t("waiting") : t("step", { step: say(j.step).text, done: j.done, total: j.total }));
  }

  private ended(e: { state: string }): void {
    this.end();
    if (e.state === "cancelled") this.tell(t("cancelled"));
    this.idle();
    this.done();
  }

  private async cancel(): Promise<void> {
    if (this.job !== null) await got(api.DELETE("/api/jobs/{job}", { params: { path: { job: this.job } } })).catch((e: Error) => this.tell(e.message));
  }

  end(): void {
    this.events?.close();
    this.events = null;
  }
}
