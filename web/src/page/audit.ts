// The page of audit.
import { el } from "./dom";
import { t } from "./text";

export class AuditPage {
  readonly root = el("main", { id: "content", class: "practice", tabindex: "-1" });

  async load(): Promise<void> {
    this.root.replaceChildren(el("h1", {}, t("audit")));
    this.root.dataset.ready = "audit";
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
