// The page of survival.
import { el } from "./dom";
import { t } from "./text";

export class SurvivalPage {
  readonly root = el("main", { id: "content", class: "practice", tabindex: "-1" });

  async load(): Promise<void> {
    this.root.replaceChildren(el("h1", {}, t("survival")));
    this.root.dataset.ready = "survival";
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
