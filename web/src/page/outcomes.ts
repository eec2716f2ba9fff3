// The page of outcomes.
import { el } from "./dom";
import { t } from "./text";

export class OutcomesPage {
  readonly root = el("main", { id: "content", class: "practice", tabindex: "-1" });

  async load(): Promise<void> {
    this.root.replaceChildren(el("h1", {}, t("outcomes")));
    this.root.dataset.ready = "outcomes";
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
