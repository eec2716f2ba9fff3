// The page of contacts.
import { el } from "./dom";
import { t } from "./text";

export class ContactsPage {
  readonly root = el("main", { id: "content", class: "practice", tabindex: "-1" });

  async load(): Promise<void> {
    this.root.replaceChildren(el("h1", {}, t("contacts")));
    this.root.dataset.ready = "contacts";
  }

  onKey(): boolean {
    return false;
  }
  restyle(): void {}
  end(): void {}
}
