// The key of the map: the scale with its ends, the limit and the unit.
import { el, svg } from "./dom";
import { number, unit } from "./format";
import { css, type Range, scaleAt } from "./scale";
import type { Limit } from "./record";
import { t } from "./text";

const steps = 48;

export class Key {
  readonly root = el("div", { class: "key", dir: "ltr" });
  private shown: { range: Range; unit: string; limit: Limit | null } | null = null;

  /** show draws the scale of a map. */
  show(range: Range, of: string, limit: Limit | null): void {
    this.shown = { range, unit: of, limit };
    this.redraw();
  }

  /** none says that a reading has no map. */
  none(quiet: boolean): void {
    this.shown = null;
    this.root.replaceChildren(quiet ? "" : el("span", { class: "quiet" }, t("noMap")));
  }

  redraw(): void {
    if (!this.shown) return;
    const { range, unit: of, limit } = this.shown;
    const at = (v: number) => (100 * (v - range.min)) / (range.max - range.min);
    const d = svg("svg", { viewBox: "0 0 100 10", preserveAspectRatio: "none", class: "key-scale", "aria-hidden": "true" });
    for (let i = 0; i < steps; i++) d.append(svg("rect", { x: (100 * i) / steps, y: 0, width: 100 / steps + 0.3, height: 10, fill: css(scaleAt((i + 0.5) / steps)) }));
    for (const edge of [limit?.min, limit?.max]) if (edge !== undefined) d.append(svg("line", { x1: at(edge), x2: at(edge), y1: 0, y2: 10, class: "key-limit" }));
    const digits = of === "deg" || of === "%" ? 0 : 2;
    this.root.replaceChildren(el("span", {}, number(range.min, digits)), d, el("span", {}, `${number(range.max, digits)}${unit(of)}`));
  }
}
