// What is written over the view: the place of the finding, the limit's label
// on its contour, the directions and where one points.
import * as THREE from "three";
import { el } from "./dom";
import { digitsOf, number, unit } from "./format";
import { type Frame, sectors, toScene, towards } from "./frame";
import { valueText } from "./ledger";
import type { Reading } from "./record";
import { t } from "./text";
import type { View } from "./view";

const reach = 8.4; // mm from the axis at which the directions are written

export class Marks {
  private ring = el("div", { class: "finding", hidden: true }, el("span", { class: "finding-text" }));
  private limit = el("div", { class: "limit-label", hidden: true });
  private pointer = el("div", { class: "pointer", hidden: true }, el("span"));
  private ray = el("div", { class: "azimuth-mark", hidden: true });
  private letters = sectors.filter((_s, i) => i % 2 === 0).map((s) => el("div", { class: "direction" }, s));
  private reading: Reading | null = null;
  private line: THREE.Vector3[] = [];
  private at: readonly number[] | null = null;
  private pointed: number | null = null;

  constructor(
    private view: View,
    private frame: Frame,
  ) {
    view.overlay.append(...(frame.named ? this.letters : []), this.ray, this.limit, this.ring, this.pointer);
  }

  /** set gives the reading and the points of its limit's contour. */
  set(r: Reading, contour: THREE.Vector3[]): void {
    this.reading = r;
    this.line = contour;
    this.draw();
  }

  point(q: readonly number[] | null, value: string): void {
    this.at = q;
    this.pointer.firstElementChild!.replaceChildren(value);
    this.drawPointer();
  }

  azimuth(a: number | null): void {
    this.pointed = a;
    this.drawRay();
  }

  /** draw puts everything where it belongs in the picture. */
  draw(): void {
    this.drawLetters();
    this.drawFinding();
    this.drawLimit();
    this.drawPointer();
    this.drawRay();
  }

  private put(e: HTMLElement, q: readonly number[] | THREE.Vector3): { x: number; y: number } {
    const p = this.view.pixel(q);
    e.style.transform = `translate(${p.x.toFixed(1)}px, ${p.y.toFixed(1)}px)`;
    return p;
  }

  private drawLetters(): void {
    this.letters.forEach((e, i) => {
      const d = towards(this.frame, 90 * i);
      const p = this.put(e, [reach * d[0], reach * d[1], 0]);
      e.hidden = p.x < 14 || p.y < 14 || p.x > this.view.width - 14 || p.y > this.view.height - 14;
    });
  }

  private drawFinding(): void {
    const r = this.reading;
    this.ring.hidden = !r?.at;
    if (!r?.at) return;
    const p = this.put(this.ring, toScene(this.frame, r.at.point));
    this.ring.classList.toggle("left", p.x > this.view.width * 0.6);
    this.ring.firstElementChild!.replaceChildren(valueText(r));
  }

  private drawLimit(): void {
    const l = this.reading?.limit;
    this.limit.hidden = !l || this.line.length === 0;
    if (this.limit.hidden || !l) return;
    const edge = l.min ?? l.max!;
    const q = this.rightmost();
    this.limit.hidden = q === null;
    if (!q) return;
    this.put(this.limit, q);
    this.limit.replaceChildren(t("limit", { a: `${number(edge, digitsOf(this.reading!.unit, this.reading!.uncertainty))}${unit(this.reading!.unit)}` }));
  }

  /** rightmost is the place of the contour that is seen farthest from the finding: its label is in nobody's way. */
  private rightmost(): THREE.Vector3 | null {
    const from = this.reading?.at ? this.view.pixel(toScene(this.frame, this.reading.at.point)) : { x: 0, y: 0 };
    const step = Math.max(1, Math.floor(this.line.length / 60));
    const seen: { q: THREE.Vector3; d: number }[] = [];
    for (let i = 0; i < this.line.length; i += step) {
      const p = this.view.pixel(this.line[i]);
      if (p.x < 50 || p.x > this.view.width - 50 || p.y < 30 || p.y > this.view.height - 20) continue;
      seen.push({ q: this.line[i], d: Math.hypot(p.x - from.x, p.y - from.y) });
    }
    seen.sort((a, b) => b.d - a.d);
    return seen.slice(0, 12).find((s) => !this.view.pixel(s.q, true).hidden)?.q ?? null;
  }

  private drawPointer(): void {
    this.pointer.hidden = !this.at;
    if (this.at) this.put(this.pointer, this.at);
  }

  private drawRay(): void {
    this.ray.hidden = this.pointed === null;
    if (this.pointed === null) return;
    const d = towards(this.frame, this.pointed);
    this.put(this.ray, [0.9 * reach * d[0], 0.9 * reach * d[1], 0]);
  }
}
