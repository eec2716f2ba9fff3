// The takes of a case: what each file shows, to be confirmed, and where more
// are added.
import { api, type Case, got, type Role, roles, type Take } from "./api";
import { el } from "./dom";
import { caseFiles, dropped, meshFiles } from "./files";
import { number, when } from "./format";
import { say, t, toothName, word } from "./text";
import { toothNumber } from "./tooth";

/** upload adds files to a case, one after the other, telling which. */
export async function upload(id: number, files: readonly File[], tell: (m: string) => void, roles = new Map<File, Role>()): Promise<void> {
  for (const f of files) {
    tell(t("uploading", { file: f.name }));
    await got(
      api.POST("/api/cases/{id}/takes", {
        params: { path: { id }, query: { name: f.name, role: roles.get(f) } },
        body: f as unknown as string,
        bodySerializer: (b) => b as unknown as BodyInit,
        headers: { "Content-Type": "application/octet-stream" },
      }),
    );
  }
}

/** picker is the place where files are dropped or chosen. */
export function picker(took: (files: File[]) => void): HTMLElement {
  const one = el("input", { type: "file", multiple: true, accept: ".stl,.ply,.obj,.3mf,.yaml,.yml,.csv,.txt", class: "hidden-file", "aria-label": t("choose"), onchange: (e: Event) => took(caseFiles((e.target as HTMLInputElement).files ?? [])) });
  const folder = el("input", { type: "file", webkitdirectory: true, class: "hidden-file", "aria-label": t("chooseFolder"), onchange: (e: Event) => took(caseFiles((e.target as HTMLInputElement).files ?? [])) });
  const box = el("div", { class: "drop" }, el("strong", {}, t("drop")), el("span", { class: "quiet" }, t("dropHint")), el("div", { class: "choices" }, el("label", { class: "button" }, t("choose"), one), el("label", { class: "button" }, t("chooseFolder"), folder)));
  box.addEventListener("dragover", (e) => {
    e.preventDefault();
    box.classList.add("over");
  });
  box.addEventListener("dragleave", () => box.classList.remove("over"));
  box.addEventListener("drop", (e) => {
    e.preventDefault();
    e.stopPropagation();
    box.classList.remove("over");
    if (e.dataTransfer) void dropped(e.dataTransfer).then(took);
  });
  return box;
}

export class TakesPage {
  readonly root = el("main", { id: "content", class: "takes", tabindex: "-1" });

  constructor(
    private kase: Case,
    private tell: (message: string) => void,
  ) {}

  async load(): Promise<void> {
    this.draw();
  }

  private draw(): void {
    const k = this.kase;
    const unsure = k.takes.some((x) => !x.confirmed);
    const list = el("ul", { class: "take-list" }, ...k.takes.map((x) => this.row(x)));
    const ready = k.takes.some((x) => x.role === "prepared");
    this.root.replaceChildren(
      el("header", { class: "takes-head" }, el("span", { class: "number" }, toothNumber(k)), el("div", {}, el("h1", {}, unsure ? t("confirm") : t("takes")), el("p", { class: "quiet" }, unsure ? t("confirmHint") : toothName(k.iso)))),
      list,
      picker((files) => void this.add(meshFiles(files))),
      el("div", { class: "actions" }, el("button", { type: "button", class: "primary", disabled: !ready, onclick: () => void this.measure() }, t("measure")), el("a", { class: "button", href: `#/case/${k.id}` }, t("open")), el("a", { class: "button edit-case", href: `#/case/${k.id}/edit` }, t("changeCase"))),
    );
  }

  private row(x: Take): HTMLElement {
    const select = el("select", { id: `role-${x.id}`, onchange: (e: Event) => void this.setRole(x, (e.target as HTMLSelectElement).value as Role | "") }, el("option", { value: "" }, t("roleNone")), ...roles.map((r) => el("option", { value: r }, word("roles", r))));
    select.value = x.role;
    const why = say(x.why);
    return el(
      "li",
      { class: x.current ? "take current" : "take" },
      el("label", { for: `role-${x.id}` }, el("strong", { dir: "ltr" }, x.file), el("span", { class: "quiet" }, `${number(x.triangles / 1000, 0)}k · ${x.form} · ${when(x.added)}`)),
      select,
      x.confirmed ? el("span", { class: "quiet why" }, this.standing(x)) : el("span", { class: "quiet why", lang: why.lang, dir: "auto" }, x.why ? t("because", { why: why.text }) : ""),
    );
  }

  /** standing says of a confirmed take whether it is the one that is measured, where its role has several. */
  private standing(x: Take): string {
    const others = this.kase.takes.some((y) => y.id !== x.id && y.role === x.role && y.confirmed);
    if (!others || x.role === "") return t("confirmed");
    return x.current ? t("measuredOne") : t("earlierOne");
  }

  private async again(): Promise<void> {
    this.kase = await got(api.GET("/api/cases/{id}", { params: { path: { id: this.kase.id } } }));
    this.draw();
  }

  private async setRole(x: Take, role: Role | ""): Promise<void> {
    await this.tried(got(api.PUT("/api/cases/{id}/takes/{take}", { params: { path: { id: this.kase.id, take: x.id } }, body: { role } })));
    await this.again();
  }

  private async add(files: File[]): Promise<void> {
    if (await this.tried(upload(this.kase.id, files, this.tell))) this.tell("");
    await this.again();
  }

  /** measure confirms what is shown and starts. */
  private async measure(): Promise<void> {
    const id = this.kase.id;
    for (const x of this.kase.takes) if (!x.confirmed && x.role) await this.tried(got(api.PUT("/api/cases/{id}/takes/{take}", { params: { path: { id, take: x.id } }, body: { role: x.role } })));
    if (await this.tried(got(api.POST("/api/cases/{id}/jobs", { params: { path: { id } } })))) location.hash = `#/case/${id}`;
  }

  private async tried(p: Promise<unknown>): Promise<boolean> {
    try {
      await p;
      return true;
    } catch (e) {
      this.tell((e as Error).message);
      return false;
    }
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
