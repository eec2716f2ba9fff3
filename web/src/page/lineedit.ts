// The finish line by hand: points are dragged on the surface, added and
// removed; while one is dragged the server measures without keeping, and keeps
// the line when it is let go.
import { api, got, type Point } from "./api";
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

export class LineEditor {
  active = false;
  private points: Point[] = [];
  private handles: HTMLElement[] = [];
  private layer = el("div", { class: "handles" });
  private said = el("output", { class: "quiet" });
  private running = false;
  private again = false;
  private who = "";
  private follow: () => void;

  constructor(
    private id: number,
    private view: View,
    private frame: Frame,
    private tools: HTMLElement,
    private measured: (record: unknown) => void,
    private tell: (message: string) => void,
  ) {
    view.root.append(this.layer);
    const after = view.after;
    this.follow = () => this.place();
    view.after = () => {
      after();
      this.follow();
    };
    view.canvas.addEventListener("pointerdown", (e) => this.active && this.addAt(e.offsetX, e.offsetY));
    void this.history();
    this.draw();
  }

  private get path() {
    return { params: { path: { id: this.id } } };
  }

  private async history(): Promise<void> {
    const { lines } = await got(api.GET("/api/cases/{id}/finish-lines", this.path));
    const last = lines.filter((l) => !l.undone).at(-1);
    this.who = last ? t("lineBy", { who: last.who, when: when(last.when) }) : t("traced");
    this.points = last ? (last.points as unknown as Point[]) : [];
    this.draw();
  }

  private draw(): void {
    const edit = el("button", { type: "button", class: "small edit-line", "aria-pressed": String(this.active), onclick: () => void this.toggle() }, this.active ? t("endEdit") : t("editLine"));
    const undo = el("button", { type: "button", class: "small undo-line", onclick: () => void this.undo() }, t("undo"));
    this.tools.replaceChildren(edit, ...(this.active ? [undo, el("span", { class: "quiet" }, t("lineHint"))] : [el("span", { class: "quiet" }, this.who)]), this.said);
  }

  private async toggle(): Promise<void> {
    this.active = !this.active;
    if (this.active && this.points.length === 0) {
      const record = await got(api.GET("/api/cases/{id}/record", this.path));
      this.points = thin(record.finish_line as unknown as Point[], spacing);
    }
    this.said.replaceChildren();
    this.view.root.classList.toggle("editing", this.active);
    if (this.active) this.view.turn(90, 84, [0, 0, 0], 1.15); // from above the points lie apart
    this.draw();
    this.handlesAnew();
  }

  private handlesAnew(): void {
    this.handles = this.active ? this.points.map((_p, i) => this.handle(i)) : [];
    this.layer.replaceChildren(...this.handles);
    this.place();
  }

  private handle(i: number): HTMLElement {
    const h = el("button", { type: "button", class: "handle", "aria-label": `${t("line")} ${i + 1}` });
    h.addEventListener("pointerdown", (e) => {
      h.setPointerCapture(e.pointerId);
      this.view.hold(true);
    });
    h.addEventListener("pointermove", (e) => h.hasPointerCapture(e.pointerId) && this.drag(i, e));
    h.addEventListener("pointerup", () => {
      this.view.hold(false);
      void this.send(false);
    });
    h.addEventListener("dblclick", () => this.remove(i));
    h.addEventListener("keydown", (e) => {
      if (e.key === "Delete" || e.key === "Backspace") this.remove(i);
    });
    return h;
  }

  private drag(i: number, e: PointerEvent): void {
    const r = this.view.canvas.getBoundingClientRect();
    const p = this.view.pick(e.clientX - r.left, e.clientY - r.top, "prepared");
    if (!p) return;
    this.points[i] = p.file;
    this.view.finish(this.points);
    void this.send(true);
  }

  /** addAt puts a point where the surface is pressed near the line. */
  private addAt(x: number, y: number): void {
    const p = this.view.pick(x, y, "prepared");
    if (!p) return;
    let best = -1;
    let least = 0.8; // mm: farther off it is a turn of the view, not a new point
    this.points.forEach((a, i) => {
      const b = this.points[(i + 1) % this.points.length];
      const d = distance(a, p.file) + distance(p.file, b) - distance(a, b);
      if (d < least) [least, best] = [d, i];
    });
    if (best < 0) return;
    this.points.splice(best + 1, 0, p.file);
    this.handlesAnew();
    void this.send(false);
  }

  private remove(i: number): void {
    if (this.points.length <= 8) return;
    this.points.splice(i, 1);
    this.handlesAnew();
    void this.send(false);
  }

  /** send measures about the line; one request at a time, the newest line last. */
  private async send(trying: boolean): Promise<void> {
    if (this.running) {
      this.again = this.again || !trying;
      return;
    }
    this.running = true;
    try {
      const out = await got(api.POST("/api/cases/{id}/finish-lines", { ...this.path, body: { points: this.points, try: trying } }));
      this.say(out.again.length, out.took_ms);
      this.measured(out.record);
      if (trying || this.again) this.view.finish(this.points); // the answer is of a line that has moved on
      else this.keep(out.points as unknown as Point[]);
    } catch (e) {
      this.tell((e as Error).message);
    } finally {
      this.running = false;
    }
    if (this.again) {
      this.again = false;
      await this.send(false);
    }
  }

  /** keep takes the points as the server has moved them onto the surface. */
  private keep(points: Point[]): void {
    this.points = points;
    this.place();
  }

  private say(n: number, ms: number): void {
    this.said.replaceChildren(t("lineTook", { n, ms: Math.round(ms) }));
    this.said.dataset.ms = String(ms);
  }

  private async undo(): Promise<void> {
    try {
      const out = await got(api.DELETE("/api/cases/{id}/finish-lines/last", this.path));
      if (out.again.length > 0) this.say(out.again.length, out.took_ms);
      else this.said.replaceChildren();
      this.measured(out.record);
      this.points = thin(out.record.finish_line as unknown as Point[], spacing);
      this.handlesAnew();
    } catch (e) {
      this.tell((e as Error).message);
    }
  }

  private place(): void {
    this.handles.forEach((h, i) => {
      const p = this.view.pixel(toScene(this.frame, this.points[i]), true);
      h.hidden = p.hidden && !h.matches(":active");
      h.style.transform = `translate(${p.x.toFixed(1)}px, ${p.y.toFixed(1)}px)`;
    });
  }
}
