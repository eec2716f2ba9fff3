// What is taken away of a case: its report, the patient's sheet, files for
// other programs. Making one may take seconds; it is said so and can be given up.
import { api, got } from "./api";
import { el } from "./dom";
import { t } from "./text";

const formats = ["json", "csv", "fhir", "glb", "ply"] as const;
type Format = (typeof formats)[number];

const ends: Record<Format, string> = { json: "json", csv: "csv", fhir: "fhir.json", glb: "glb", ply: "ply" };

export class Away {
  readonly root = el("div", { class: "away" });
  private busy: AbortController | null = null;
  private said = el("output", { class: "away-said" });
  private stop = el("button", { type: "button", class: "small away-stop", hidden: true, onclick: () => this.busy?.abort() }, t("cancel"));
  private more = el("div", { class: "exports", role: "group", "aria-label": t("exportsFor"), hidden: true });
  private on = el("button", { type: "button", class: "small exports-on", "aria-expanded": "false", onclick: () => this.open(this.more.hidden) }, t("exports"));

  constructor(
    private id: number,
    private tell: (message: string) => void,
    private paper: () => "a4" | "letter",
    private shown: () => { id: string; name: string } | null,
  ) {
    const sheet = (patient: boolean) => el("button", { type: "button", class: patient ? "small patient" : "small report", onclick: () => void this.sheet(patient) }, t(patient ? "sheetFor" : "report"));
    this.root.append(el("div", { class: "away-line" }, this.said, this.stop, sheet(false), sheet(true), this.on), this.more);
  }

  private open(on: boolean): void {
    this.more.hidden = !on;
    this.on.setAttribute("aria-expanded", String(on));
    if (!on) return;
    const names: Record<Format, string> = { json: t("exportJson"), csv: t("exportCsv"), fhir: t("exportFhir"), glb: t("exportGlb"), ply: t("exportPly") };
    const map = this.shown();
    this.more.replaceChildren(...formats.map((f) => el("button", { type: "button", class: "small", "data-format": f, onclick: () => void this.file(f) }, names[f])), el("span", { class: "quiet" }, map ? t("coloured", { reading: map.name }) : t("colouredAny")));
    this.more.scrollIntoView({ block: "nearest" });
  }

  /** making runs one thing at a time, with its name and a way to give it up. */
  private async making(what: string, make: (signal: AbortSignal) => Promise<Blob>): Promise<Blob | null> {
    const mine = (this.busy = new AbortController());
    this.state(true, t("beingMade", { what }));
    try {
      return await make(mine.signal);
    } catch (e) {
      this.tell(mine.signal.aborted ? t("givenUp", { what }) : (e as Error).message);
      return null;
    } finally {
      this.busy = null;
      this.state(false, "");
    }
  }

  private state(busy: boolean, text: string): void {
    this.root.setAttribute("aria-busy", String(busy));
    this.said.replaceChildren(text);
    const held = document.activeElement;
    this.stop.hidden = !busy;
    for (const b of this.root.querySelectorAll<HTMLButtonElement>("button")) if (b !== this.stop && b !== this.on) b.disabled = busy;
    if (busy && held instanceof HTMLButtonElement && held.disabled) this.stop.focus();
  }

  /** sheet opens the report, or the patient's sheet, in a tab of its own. The tab is opened by the press itself, since one that opens later is kept away. */
  private async sheet(patient: boolean): Promise<void> {
    const what = t(patient ? "sheetFor" : "report");
    const tab = window.open("", "_blank");
    if (tab) {
      tab.document.title = what;
      tab.document.body.append(t("beingMade", { what }));
    }
    const pdf = await this.making(what, (signal) => got(api.GET("/api/cases/{id}/report", { params: { path: { id: this.id }, query: { paper: this.paper(), patient } }, parseAs: "blob", signal })) as Promise<Blob>);
    if (!pdf) return tab?.close();
    const at = URL.createObjectURL(pdf);
    if (tab && !tab.closed) {
      tab.location.replace(at);
      this.tell(t("madeOpen", { what }));
    } else this.save(at, `case-${this.id}-${patient ? "patient" : "report"}.pdf`, what);
  }

  private async file(f: Format): Promise<void> {
    const reading = f === "glb" || f === "ply" ? this.shown()?.id : undefined;
    const name = `case-${this.id}.${ends[f]}`;
    const blob = await this.making(name, (signal) => got(api.GET("/api/cases/{id}/export", { params: { path: { id: this.id }, query: { format: f, reading } }, parseAs: "blob", signal })) as Promise<Blob>);
    if (blob) this.save(URL.createObjectURL(blob), name, name);
  }

  private save(href: string, name: string, what: string): void {
    el("a", { href, download: name }).click();
    setTimeout(() => URL.revokeObjectURL(href), 60_000);
    this.tell(t("saved", { what }));
  }

  end(): void {
    this.busy?.abort();
  }
}
