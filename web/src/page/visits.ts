// The page of visits.
import { el } from "./dom";
import { t } from "./text";

export class VisitsPage {
  readonly root = el("main", { id: "content", class: "practice", tabindex: "-1" });

  async load(): Promise<void> {
    this.root.replaceChildren(el("h1", {}, t("visits")));
    this.root.dataset.ready = "visits";
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
