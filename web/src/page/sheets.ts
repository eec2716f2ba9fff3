// The help sheet and the settings, as dialogs over the page.
import type { Settings } from "./api";
import { el } from "./dom";
import { languages, t } from "./text";

function sheet(title: string, ...children: HTMLElement[]): HTMLDialogElement {
  const d = el("dialog", { class: "sheet", "aria-label": title });
  const close = el("button", { type: "button", class: "small", onclick: () => d.close() }, t("close"));
  d.append(el("div", { class: "sheet-head" }, el("h2", {}, title), close), ...children);
  d.addEventListener("close", () => d.remove());
  document.body.append(d);
  d.showModal();
  return d;
}

/** help lists the keys. */
export function help(): HTMLDialogElement {
  const keys: [string, string][] = [
    ["↓  J  Page Down  Space", t("keyNext")],
    ["↑  K  Page Up", t("keyPrev")],
    ["H", t("keyHold")],
    ["O", t("keySurface")],
    ["1 … 6", t("keyAll")],
    ["←  →", t("keySlice")],
    ["[  ]", t("keyTilt")],
    [",  .", t("keyShift")],
    ["W", t("keyWorst")],
    ["+  −", t("keyZoom")],
    ["R", t("keyRecord")],
    ["L", t("keyLarge")],
    ["?", t("keyHelp")],
    ["Esc", t("keyBack")],
  ];
  const rows = keys.flatMap(([k, what]) => [el("dt", {}, ...k.split("  ").map((x) => el("kbd", {}, x))), el("dd", {}, what)]);
  return sheet(t("keys"), el("dl", { class: "keys" }, ...rows), el("p", {}, t("zoom")), el("p", {}, t("pedals")), el("p", { class: "quiet" }, t("caution")));
}

/** settings shows how the bench is set; changed is told of each change. */
export function settings(now: Settings, changed: (s: Settings) => void): HTMLDialogElement {
  const s = { ...now };
  const choice = <K extends keyof Settings>(key: K, label: string, options: [string, string][]) => {
    const select = el("select", { id: `set-${key}`, onchange: (e: Event) => changed(Object.assign(s, { [key]: (e.target as HTMLSelectElement).value })) }, ...options.map(([v, name]) => el("option", { value: v }, name)));
    select.value = s[key] ?? "";
    return el("div", { class: "field" }, el("label", { for: `set-${key}` }, label), select);
  };
  const initials = el("input", { id: "set-operator", maxlength: "64", value: s.operator, onchange: (e: Event) => changed(Object.assign(s, { operator: (e.target as HTMLInputElement).value })) });
  return sheet(
    t("settings"),
    choice("text", t("text"), [["normal", t("normal")], ["large", t("large")]]),
    choice("scheme", t("scheme"), [["auto", t("auto")], ["light", t("light")], ["dark", t("dark")]]),
    choice("contrast", t("contrast"), [["auto", t("auto")], ["more", t("more")]]),
    choice("language", t("language"), [["", t("browser")], ...languages.map((l): [string, string] => [l.code, l.name])]),
    choice("numbering", t("numbering"), [["iso3950", t("iso")], ["universal", t("universal")]]),
    choice("paper", t("paper"), [["a4", "A4"], ["letter", "Letter"]]),
    el("div", { class: "field" }, el("label", { for: "set-operator" }, t("operator")), initials),
  );
}
