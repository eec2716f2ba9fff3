// The finish line by hand: points are dragged on the surface, added and
// removed; while one is dragged the server measures without keeping, and keeps
// the line when it is let go.
import { api, got, type Point, type Redrawn, Refused } from "./api";
import { el } from "./dom";
import { type Frame, toScene } from "./frame";
import { when } from "./format";
import { t } from "./text";
import type { View } from "./view";

const spacing = 1.6; // mm between the points that are offered for dragging

/** thin chooses points of a dense line about a spacing apart, ends joined. */
export function thin(line: readonly Point[], mm: number): Point[] {
  if (line.length === 0) return [];
  const out: Point[] = [line[0]];
  let gone = 0;
  for (let i = 1; i < line.length; i++) {
    gone += distance(line[i - 1], line[i]);
    if (gone < mm) continue;
    out.push(line[i]);
    gone = 0;
  }
  if (out.length > 3 && distance(out.at(-1)!, out[0]) < mm / 2) out.pop();
  return out;
}

const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** LineChange is what a moved line has changed; trying while it is still being moved. */
export type LineChange = (part: Redrawn, trying: boolean) => void;

const steps: Record<string, [number, number]> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const still = 6; // px a press may move and still be a press
const onLine = 0.8; // mm: a press farther off the line is no new point
const within = 3; // mm: a press farther from the chosen point does not move it
const apart = 33; // px between handles, which are 32 wide
const fewest = 8; // points that a line keeps

export class LineEditor {
  active = false;
  private points: Point[] = [];
  private handles: HTMLElement[] = [];
  private layer = el("div", { class: "handles" });
  private said = el("output", { class: "quiet took" });
  private chosen = -1;
  private pressed = { x: 0, y: 0 };
  private running = false;
  private next: "none" | "try" | "keep" = "none";
  private who = "";

  constructor(
    private id: number,
    private view: View,
    private frame: Frame,
    private tools: HTMLElement,
    private measured: LineChange,
    private tell: (message: string) => void,
  ) {
    view.root.append(this.layer);
    const after = view.after;
    view.after = () => {
      after();
      this.place();
    };
    view.canvas.addEventListener("pointerdown", (e) => (this.pressed = { x: e.offsetX, y: e.offsetY }));
    view.canvas.addEventListener("pointerup", (e) => {
      if (this.active && Math.hypot(e.offsetX - this.pressed.x, e.offsetY - this.pressed.y) <= still) this.press(e.offsetX, e.offsetY);
    });
    void this.history().catch((e: Error) => this.tell(e.message));
    this.draw();
  }

  private get path() {
    return { params: { path: { id: this.id } } };
  }

  private async history(): Promise<void> {
    const { lines } = await got(api.GET("/api/cases/{id}/finish-lines", this.path));
    const last = lines.filter((l) => !l.undone).at(-1);
    this.who = last ? (last.who ? t("lineBy", { who: last.who, when: when(last.when) }) : t("lineAt", { when: when(last.when) })) : t("traced");
    this.points = last ? (last.points as unknown as Point[]) : [];
    this.draw();
  }

  private draw(): void {
    const edit = el("button", { type: "button", class: "small edit-line", "aria-pressed": String(this.active), onclick: () => void this.toggle() }, this.active ? t("endEdit") : t("editLine"));
    if (!this.active) return this.tools.replaceChildren(edit, el("span", { class: "quiet" }, this.who), this.said);
    const undo = el("button", { type: "button", class: "small undo-line", onclick: () => void this.undo() }, t("undo"));
    const remove = el("button", { type: "button", class: "small remove-point", disabled: this.chosen < 0 || this.points.length <= fewest, onclick: () => this.remove(this.chosen) }, t("removePoint"));
    this.tools.replaceChildren(edit, undo, remove, this.said, el("span", { class: "quiet hint" }, this.chosen < 0 ? t("lineHint") : t("pointHint")));
  }

  /** leave ends correcting. */
  leave(): void {
    if (this.active) void this.toggle();
  }

  private async toggle(): Promise<void> {
    this.active = !this.active;
    this.chosen = -1;
    try {
      if (this.active && this.points.length === 0) {
        const record = await got(api.GET("/api/cases/{id}/record", this.path));
        this.points = thin(record.finish_line as unknown as Point[], spacing);
      }
    } catch (e) {
      this.active = false;
      this.tell((e as Error).message);
    }
    this.said.replaceChildren();
    delete this.said.dataset.ms;
    this.view.root.classList.toggle("editing", this.active);
    if (this.active) this.view.turn(90, 84, [0, 0, 0], 1.35); // from above the points lie apart
    this.draw();
    this.handlesAnew();
    if (this.active) await this.ready();
    this.tools.querySelector<HTMLElement>(".edit-line")?.focus();
  }

  /** ready has the case measured where it was only kept, before the first point is moved. */
  private async ready(): Promise<void> {
    const soon = window.setTimeout(() => this.said.replaceChildren(t("makingReady")), 250);
    await got(api.POST("/api/cases/{id}/finish-lines", { ...this.path, body: { points: this.points, try: true } })).catch((e: Error) => this.tell(e.message));
    clearTimeout(soon);
    if (this.said.dataset.ms === undefined) this.said.replaceChildren();
    this.layer.dataset.ready = "yes";
  }

  private handlesAnew(): void {
    this.handles = this.active ? this.points.map((_p, i) => this.handle(i)) : [];
    this.layer.replaceChildren(...this.handles);
    this.place();
  }

  private handle(i: number): HTMLElement {
    const h = el("button", { type: "button", class: "handle", "aria-label": t("pointOf", { i: i + 1, n: this.points.length }), "aria-pressed": String(i === this.chosen) });
    let from = { x: 0, y: 0 };
    let moved = false;
    h.addEventListener("pointerdown", (e) => {
      h.setPointerCapture(e.pointerId);
      from = { x: e.clientX, y: e.clientY };
      moved = false;
      this.view.hold(true);
    });
    h.addEventListener("pointermove", (e) => {
      if (!h.hasPointerCapture(e.pointerId)) return;
      moved ||= Math.hypot(e.clientX - from.x, e.clientY - from.y) > still / 2;
      if (moved) this.drag(i, e.clientX, e.clientY);
    });
    const end = () => {
      this.view.hold(false);
      if (moved) this.send("keep");
    };
    h.addEventListener("pointerup", end);
    h.addEventListener("pointercancel", end);
    h.addEventListener("click", () => this.choose(moved || i !== this.chosen ? i : -1));
    h.addEventListener("dblclick", () => this.remove(i));
    h.addEventListener("keydown", (e) => this.onKey(i, e));
    h.addEventListener("keyup", (e) => e.key in steps && this.send("keep"));
    return h;
  }

  /** onKey moves a point a step with the arrows and removes it. */
  private onKey(i: number, e: KeyboardEvent): void {
    if (e.key === "Delete" || e.key === "Backspace") return this.remove(i);
    const by = steps[e.key];
    if (!by) return;
    e.preventDefault();
    const px = e.shiftKey ? 8 : 2;
    this.move(i, this.view.step("prepared", this.points[i], px * by[0], px * by[1]), "try");
  }

  private choose(i: number): void {
    this.chosen = i;
    this.handles.forEach((h, j) => h.setAttribute("aria-pressed", String(j === this.chosen)));
    this.draw();
  }

  private drag(i: number, x: number, y: number): void {
    const r = this.view.canvas.getBoundingClientRect();
    const p = this.view.pick(x - r.left, y - r.top, "prepared");
    if (p) this.move(i, p.file, "try");
  }

  private move(i: number, to: Point, how: "try" | "keep"): void {
    this.points[i] = to;
    this.view.finish(this.points);
    this.send(how);
  }

  /** press moves the chosen point to where the surface is pressed near it; else it puts a new one where the line is pressed. */
  private press(x: number, y: number): void {
    const p = this.view.pick(x, y, "prepared");
    if (!p) return;
    if (this.chosen >= 0 && distance(this.points[this.chosen], p.file) <= within) return this.move(this.chosen, p.file, "keep");
    let best = -1;
    let least = onLine;
    this.points.forEach((a, i) => {
      const b = this.points[(i + 1) % this.points.length];
      const d = distance(a, p.file) + distance(p.file, b) - distance(a, b);
      if (d < least) [least, best] = [d, i];
    });
    if (best < 0) return;
    this.points.splice(best + 1, 0, p.file);
    this.anew(best + 1);
  }

  private remove(i: number): void {
    if (i < 0) return;
    if (this.points.length <= fewest) return this.tell(t("fewest", { n: fewest }));
    this.points.splice(i, 1);
    this.anew(-1);
  }

  /** anew draws the points after their number has changed, and keeps the line. */
  private anew(chosen: number): void {
    this.chosen = chosen;
    this.draw();
    this.handlesAnew();
    this.view.finish(this.points);
    this.send("keep");
  }

  /** send measures about the line: one request at a time, of those that wait the newest. */
  private send(how: "try" | "keep"): void {
    if (this.running) {
      if (this.next !== "keep") this.next = how;
      return;
    }
    void this.ask(how);
  }

  private async ask(how: "try" | "keep"): Promise<void> {
    this.running = true;
    this.next = "none";
    const begun = performance.now();
    try {
      const out = await got(api.POST("/api/cases/{id}/finish-lines", { ...this.path, body: { points: this.points, try: how === "try" } }));
      const newer = (this.next as string) !== "none" || how === "try";
      if (!newer) this.points = out.points as unknown as Point[];
      this.measured(out, newer);
      this.say(out.readings.length, performance.now() - begun, out.took_ms);
      if (!newer) this.place(); // else the answer is of a line that has moved on
    } catch (e) {
      this.tell((e as Error).message);
    } finally {
      this.running = false;
    }
    if ((this.next as string) !== "none") await this.ask(this.next as "try" | "keep");
  }

  /** say tells how long it took from the hand to the ledger, and how much of that measuring was. */
  private say(n: number, ms: number, measuring: number): void {
    this.said.replaceChildren(t("lineTook", { n, ms: Math.round(ms) }));
    this.said.dataset.ms = ms.toFixed(0);
    this.said.dataset.measuring = measuring.toFixed(0);
  }

  private async undo(): Promise<void> {
    while (this.running) await new Promise((ok) => setTimeout(ok, 15)); // what was let go is kept first
    try {
      const begun = performance.now();
      const out = await got(api.DELETE("/api/cases/{id}/finish-lines/last", this.path));
      this.measured(out, false);
      this.say(out.readings.length, performance.now() - begun, out.took_ms);
      this.points = out.line > 0 ? (out.points as unknown as Point[]) : thin(out.finish_line as unknown as Point[], spacing);
      this.chosen = -1;
      this.draw();
      this.handlesAnew();
    } catch (e) {
      this.tell(e instanceof Refused && e.status === 404 ? t("nothingToUndo") : (e as Error).message);
    }
  }

  /** place puts the handles where their points are seen. Of those that would lie on one another the chosen one, else the first, is offered; coming closer shows the others. */
  private place(): void {
    const shown: { x: number; y: number }[] = [];
    const held = (i: number) => i === this.chosen || this.handles[i].matches(":active, :focus");
    const order = this.handles.map((_h, i) => i).sort((i, j) => Number(held(j)) - Number(held(i)) || i - j);
    for (const i of order) {
      const h = this.handles[i];
      const p = this.view.pixel(toScene(this.frame, this.points[i]), true);
      h.hidden = !h.matches(":active, :focus") && (p.hidden || this.outside(p) || shown.some((q) => Math.hypot(p.x - q.x, p.y - q.y) < apart));
      if (!h.hidden) shown.push(p);
      h.style.transform = `translate(${p.x.toFixed(1)}px, ${p.y.toFixed(1)}px)`;
    }
  }

  private outside(p: { x: number; y: number }): boolean {
    return p.x < 4 || p.y < 4 || p.x > this.view.width - 4 || p.y > this.view.height - 4;
  }
}
