// A case as it is entered: tooth, material, the patient's code, how the crown
// is made, and for a new one the scans.
import { api, type Case, got, type Point, type Role, type Schemas } from "./api";
import { arches } from "./arches";
import { el } from "./dom";
import { caseFile, meshFiles, pathOf } from "./files";
import { number } from "./format";
import { material, say, t, word } from "./text";
import { picker, upload } from "./takes";
import { numbering, toothNumber, universalOf } from "./tooth";

type Input = Schemas["CaseInput"];
type Limits = Schemas["LimitsOutputBody"];
type Described = Schemas["DescribedOutputBody"];

/** um is a length as a field has it: undefined when it is left empty. */
function um(field: HTMLInputElement): number | undefined {
  return field.value.trim() === "" ? undefined : Number(field.value);
}

export class AddPage {
  readonly root = el("main", { id: "content", class: "add", tabindex: "-1" });
  private files: File[] = [];
  private list = el("ul", { class: "file-list" });
  private roles = new Map<File, Role>(); // as a case.yaml says
  private described: Described | null = null;
  private from = el("p", { class: "described", role: "status" });
  private limitsTable: Limits | null = null;
  private mark: (iso: string) => void = () => {};
  private tooth = el("input", { id: "tooth", inputmode: "numeric", required: true, pattern: "[1-9][0-9]?", autocomplete: "off", maxlength: "2" });
  private material = el("select", { id: "material", required: true });
  private patient = el("input", { id: "patient", pattern: "[A-Za-z0-9._\\-]{0,32}", autocomplete: "off" });
  private remark = el("input", { id: "remark", maxlength: "120", autocomplete: "off" });
  private unit = el("select", { id: "unit" }, ...["mm", "um", "cm", "m", "in"].map((u) => el("option", { value: u }, u)));
  private cement = el("input", { id: "cement", type: "number", min: "0", max: "500", step: "any" });
  private tool = el("input", { id: "tool", type: "number", min: "50", max: "2000", step: "any" });
  private scanner = el("input", { id: "scanner", type: "number", min: "0", max: "1000", step: "any" });
  private block = el("select", { id: "block" });
  private limits = { file: "", text: "" };
  private limitsNow = el("span", { class: "limits-now" });
  private making = el("details", { class: "making" });

  /** Of a case that is there, what is known of it is changed; else a new one is made of the files. */
  constructor(
    private tell: (message: string) => void,
    private wanted: string,
    files: File[],
    private kase: Case | null = null,
  ) {
    this.brought = files;
  }

  private brought: File[]; // before the form was there

  /** take adds files; a folder with a description of its own fills in the form. */
  private async take(files: File[]): Promise<void> {
    const about = files.filter((f) => f.name === caseFile);
    try {
      if (about.length > 1) throw new Error(t("oneCase"));
      if (about.length === 1) return await this.describe(about[0], files);
      this.files.push(...meshFiles(files).filter((f) => !this.files.some((g) => g.name === f.name && g.size === f.size)));
    } catch (e) {
      const s = say((e as Error).message);
      this.from.replaceChildren(el("strong", { lang: s.lang, dir: "auto" }, s.text));
    }
    this.drawFiles();
  }

  private drawFiles(): void {
    this.list.replaceChildren(
      ...this.files.map((f) => {
        const role = this.roles.get(f);
        return el("li", {}, el("span", { dir: "ltr" }, f.name), role ? el("span", { class: "quiet" }, ` ${word("roles", role)}`) : "");
      }),
    );
  }

  /** describe has the description of a folder read, and shows what it says. */
  private async describe(about: File, files: File[]): Promise<void> {
    const base = pathOf(about).slice(0, -caseFile.length);
    const within = new Map(files.filter((f) => pathOf(f).startsWith(base)).map((f) => [pathOf(f).slice(base.length), f]));
    const meshes = new Set(meshFiles(within.values()));
    const texts = await Promise.all([...within].filter(([, f]) => !meshes.has(f)).map(async ([name, f]) => ({ name, text: await f.text() })));
    const d = await got(api.POST("/api/case-folders", { body: { files: texts, meshes: [...within].filter(([, f]) => meshes.has(f)).map(([name]) => name) } }));
    this.described = d;
    this.files = d.surfaces.map((s) => within.get(s.file)!);
    this.roles = new Map(d.surfaces.map((s) => [within.get(s.file)!, s.role]));
    await this.setLimits(d.case.limits_file ?? "", d.case.limits ?? "");
    this.fillHow(d.case);
    const left = meshes.size - this.files.length;
    this.tooth.value = numbering() === "universal" ? String(d.case.universal) : d.case.iso;
    this.mark(d.case.iso);
    this.material.value = d.case.material;
    this.block.value = d.case.block ?? "";
    if (!this.remark.value) this.remark.value = base.split("/").filter(Boolean).at(-1)?.slice(0, 120) ?? "";
    this.making.open = true;
    this.sum();
    this.from.replaceChildren([t("fromFolder", { file: caseFile }), d.finish_line.length ? t("fromLine", { n: d.finish_line.length }) : "", left > 0 ? t("fromLeft", { n: left }) : ""].filter(Boolean).join(" "));
    this.drawFiles();
  }

  async load(): Promise<void> {
    const [limits, { cases }] = await Promise.all([got(api.GET("/api/limits")), got(api.GET("/api/cases"))]);
    this.limitsTable = limits;
    this.lists(limits);
    if (this.wanted) this.material.value = this.wanted;
    const pick = arches((iso) => {
      this.tooth.value = numbering() === "universal" ? String(universalOf(iso)) : iso;
      pick.mark(iso);
    });
    this.tooth.addEventListener("input", () => pick.mark(numbering() === "universal" ? (isoOf(this.tooth.value) ?? "") : this.tooth.value));
    this.mark = (iso) => pick.mark(iso);
    await this.fillMaking(this.kase ?? cases[0]);
    if (this.kase) pick.mark(this.fill(this.kase));
    const field = (id: string, label: string, input: HTMLElement, hint = "") => el("div", { class: "field" }, el("label", { for: id }, label), input, hint ? el("span", { class: "quiet" }, hint) : null);
    const back = this.kase ? `#/case/${this.kase.id}/takes` : "#/";
    const form = el(
      "form",
      { class: "add-form" },
      el("div", { class: "add-side" }, pick.root),
      el(
        "div",
        { class: "add-main" },
        el("div", { class: "pair" }, field("tooth", t("tooth"), this.tooth), field("material", t("material"), this.material)),
        el("div", { class: "pair" }, field("patient", t("patient"), this.patient, t("patientHint")), field("remark", t("remark"), this.remark, t("remarkHint"))),
        this.kase ? null : picker((f) => void this.take(f)),
        this.from,
        this.list,
        this.makingFields(limits, field),
        el("div", { class: "actions" }, el("button", { type: "submit", class: "primary" }, this.kase ? t("save") : t("makeCase")), el("a", { class: "button", href: back }, t("cancel"))),
      ),
    );
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      void this.make();
    });
    this.root.replaceChildren(el("h1", {}, this.kase ? t("changeCase") : t("add")), form);
    if (this.brought.length) await this.take(this.brought);
    this.root.dataset.ready = "form";
  }

  private makingFields(limits: Limits, field: (id: string, label: string, input: HTMLElement, hint?: string) => HTMLElement): HTMLElement {
    const usual = (mm: number) => t("usual", { a: number(1000 * mm, 0) });
    const choose = el("input", { type: "file", accept: ".yaml,.yml", class: "hidden-file", id: "limits", "aria-label": t("limitsChoose"), onchange: (e: Event) => void this.takeLimits((e.target as HTMLInputElement).files?.[0]) });
    const none = el("button", { type: "button", class: "small limits-none", onclick: () => void this.setLimits("", "") }, t("limitsNone"));
    this.making.replaceChildren(
      el("summary", {}, el("strong", {}, t("making")), el("span", { class: "quiet making-now" })),
      el("div", { class: "pair" }, field("cement", t("cement"), this.cement, usual(limits.cement_space)), field("tool", t("tool"), this.tool, usual(limits.tool_radius))),
      el("div", { class: "pair" }, field("block", t("block"), this.block, t("blockHint")), field("scanner", t("scanner"), this.scanner, t("scannerHint"))),
      el("div", { class: "pair" }, el("div", { class: "field" }, el("span", { class: "label" }, t("limits")), el("div", { class: "choices start" }, el("label", { class: "button" }, t("limitsChoose"), choose), none), this.limitsNow), field("unit", t("unit"), this.unit, t("unitHint"))),
    );
    this.making.addEventListener("input", () => this.sum());
    this.sum();
    return this.making;
  }

  /** lists fills the lists of materials and blocks; what is chosen stays, where it is still there. */
  private lists(limits: Limits): void {
    /** own tells whether the practice has given a material another name. */
    const own = (x: Limits["materials"][number]) => x.title !== this.limitsTable!.materials.find((y) => y.name === x.name)?.title;
    const [m, b] = [this.material.value, this.block.value];
    const fill = (select: HTMLSelectElement, was: string, options: HTMLOptionElement[]) => {
      select.replaceChildren(...options);
      if (options.some((o) => o.value === was)) select.value = was;
    };
    fill(this.material, m, limits.materials.map((x) => el("option", { value: x.name }, own(x) ? x.title : material(x.name, x.title || x.name))));
    fill(this.block, b, [el("option", { value: "" }, t("blockAny")), ...limits.blocks.map((x) => el("option", { value: x.name }, `${x.name}: ${[x.length, x.width, x.height].map((v) => number(v, v % 1 ? 1 : 0)).join(" × ")} mm, ${t("sprue", { a: `${number(x.sprue, 1)} mm` })}`))]);
  }

  /** fillMaking takes over how the last crown was made, or that of the case. */
  private async fillMaking(from: Case | undefined): Promise<void> {
    if (!from) return this.setLimits("", "");
    this.fillHow(from);
    await this.setLimits(from.limits_file ?? "", from.limits ?? "");
  }

  private fillHow(from: Case): void {
    this.cement.value = from.cement_space_um === undefined ? "" : String(from.cement_space_um);
    this.tool.value = from.tool_radius_um === undefined ? "" : String(from.tool_radius_um);
    this.scanner.value = from.scanner_uncertainty_um ? String(from.scanner_uncertainty_um) : "";
    this.unit.value = from.unit;
  }

  /** fill shows a case that is there; it returns its tooth. */
  private fill(k: Case): string {
    this.tooth.value = toothNumber(k);
    this.material.value = k.material;
    this.patient.value = k.patient;
    this.remark.value = k.title;
    this.block.value = k.block ?? "";
    this.making.open = true;
    return k.iso;
  }

  private async takeLimits(f: File | undefined): Promise<void> {
    if (f) await this.setLimits(f.name, await f.text());
  }

  /** setLimits takes limits with their materials and blocks; what cannot be read changes nothing. */
  private async setLimits(file: string, text: string): Promise<void> {
    try {
      this.lists(text ? await got(api.POST("/api/limits", { body: { file, text } })) : this.limitsTable!);
    } catch (e) {
      return this.tell((e as Error).message);
    }
    this.limits = { file, text };
    this.limitsNow.replaceChildren(text ? el("span", { dir: "ltr" }, file) : t("limitsBuiltIn"));
    this.sum();
  }

  /** sum says in one line how the crown is made, for when the fields are closed. */
  private sum(): void {
    const said: string[] = [];
    if (this.cement.value) said.push(`${t("cement")} ${this.cement.value}`);
    if (this.tool.value) said.push(`${t("tool")} ${this.tool.value}`);
    if (this.block.value) said.push(this.block.value);
    if (this.scanner.value) said.push(`${t("scanner")} ${this.scanner.value}`);
    if (this.limits.text) said.push(this.limits.file);
    this.making.querySelector(".making-now")?.replaceChildren(said.join(" · ") || t("makingUsual"));
  }

  private body(): Input {
    return {
      tooth: this.tooth.value.trim(),
      material: this.material.value,
      numbering: numbering(),
      unit: this.unit.value as "mm",
      patient: this.patient.value.trim(),
      title: this.remark.value.trim(),
      cement_space_um: um(this.cement),
      tool_radius_um: um(this.tool),
      scanner_uncertainty_um: um(this.scanner),
      block: this.block.value || undefined,
      limits: this.limits.text || undefined,
      limits_file: this.limits.text ? this.limits.file : undefined,
      at: (this.kase ?? this.described?.case)?.at,
      mesial: (this.kase ?? this.described?.case)?.mesial,
    };
  }

  private async make(): Promise<void> {
    try {
      if (this.kase) {
        await got(api.PUT("/api/cases/{id}", { params: { path: { id: this.kase.id } }, body: this.body() }));
        location.hash = `#/case/${this.kase.id}/takes`;
        return;
      }
      const k = await got(api.POST("/api/cases", { body: { ...this.body(), finish_line: this.described?.finish_line.length ? (this.described.finish_line as Point[]) : undefined } }));
      try {
        await upload(k.id, this.files, this.tell, this.roles);
        this.tell("");
      } finally {
        location.hash = `#/case/${k.id}/takes`;
      }
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}

function isoOf(universal: string): string | undefined {
  for (const q of [1, 2, 3, 4]) for (let n = 1; n <= 8; n++) if (String(universalOf(`${q}${n}`)) === universal) return `${q}${n}`;
  return undefined;
}
