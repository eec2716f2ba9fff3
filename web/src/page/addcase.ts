// A new case: tooth, material, the patient's code and the scans.
import { api, got, type Schemas } from "./api";
import { arches } from "./arches";
import { el } from "./dom";
import { t } from "./text";
import { picker, upload } from "./takes";
import { numbering, universalOf } from "./tooth";

export class AddPage {
  readonly root = el("main", { id: "content", class: "add", tabindex: "-1" });
  private files: File[] = [];
  private list = el("ul", { class: "file-list" });
  private tooth = el("input", { id: "tooth", inputmode: "numeric", required: true, pattern: "[1-9][0-9]?", autocomplete: "off", maxlength: "2" });
  private material = el("select", { id: "material", required: true });
  private patient = el("input", { id: "patient", pattern: "[A-Za-z0-9._\\-]{0,32}", autocomplete: "off" });
  private remark = el("input", { id: "remark", maxlength: "120", autocomplete: "off" });
  private unit = el("select", { id: "unit" }, ...["mm", "um", "cm", "m", "in"].map((u) => el("option", { value: u }, u)));

  constructor(
    private tell: (message: string) => void,
    private wanted: string,
    files: File[],
  ) {
    this.take(files);
  }

  private take(files: File[]): void {
    this.files.push(...files.filter((f) => !this.files.some((g) => g.name === f.name && g.size === f.size)));
    this.list.replaceChildren(...this.files.map((f) => el("li", { dir: "ltr" }, f.name)));
  }

  async load(): Promise<void> {
    const { materials } = await got(api.GET("/api/limits"));
    this.material.replaceChildren(...materials.map((m) => el("option", { value: m.name }, m.title)));
    if (this.wanted) this.material.value = this.wanted;
    const pick = arches((iso) => {
      this.tooth.value = numbering() === "universal" ? String(universalOf(iso)) : iso;
      pick.mark(iso);
    });
    this.tooth.addEventListener("input", () => pick.mark(numbering() === "universal" ? (isoOf(this.tooth.value) ?? "") : this.tooth.value));
    const field = (id: string, label: string, input: HTMLElement, hint = "") => el("div", { class: "field" }, el("label", { for: id }, label), input, hint ? el("span", { class: "quiet" }, hint) : null);
    const form = el(
      "form",
      { class: "add-form" },
      el("div", { class: "add-side" }, pick.root),
      el(
        "div",
        { class: "add-main" },
        el("div", { class: "pair" }, field("tooth", t("tooth"), this.tooth), field("material", t("material"), this.material)),
        el("div", { class: "pair" }, field("patient", t("patient"), this.patient, t("patientHint")), field("remark", t("remark"), this.remark, t("remarkHint"))),
        field("unit", t("unit"), this.unit),
        picker((f) => this.take(f)),
        this.list,
        el("div", { class: "actions" }, el("button", { type: "submit", class: "primary" }, t("makeCase")), el("a", { class: "button", href: "#/" }, t("cancel"))),
      ),
    );
    form.addEventListener("submit", (e) => {
      e.preventDefault();
      void this.make();
    });
    this.root.replaceChildren(el("h1", {}, t("add")), form);
  }

  private async make(): Promise<void> {
    const body: Schemas["CaseInput"] = { tooth: this.tooth.value.trim(), material: this.material.value, numbering: numbering(), unit: this.unit.value as "mm", patient: this.patient.value.trim(), title: this.remark.value.trim() };
    try {
      const k = await got(api.POST("/api/cases", { body }));
      try {
        await upload(k.id, this.files, this.tell);
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
