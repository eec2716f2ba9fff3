// The drawing of a visit's stages along the time: what is done in one row, then
// one row a stage. Bars end at the median; from there to the time that is kept
// with 90 % they are hatched.
import { svg } from "./dom";
import { t } from "./text";
import { clock, type Outlook, stageName } from "./visitword";

/** The range of time that is drawn, milliseconds. */
export interface Range {
  from: number;
  to: number;
}

/** rangeOf holds all visits, so that chairs side by side have one scale. */
export function rangeOf(visits: readonly Outlook[], now: number): Range {
  let from = now;
  let to = now + 30 * 60_000;
  for (const v of visits)
    for (const s of v.stages) {
      from = Math.min(from, Date.parse(s.from));
      to = Math.max(to, Date.parse(s.late));
    }
  return { from: Math.max(from, now - 4 * 3_600_000), to };
}

/** stepOf is how far the marks of the axis are apart, so that so many steps and no more stand on it. */
export function stepOf(r: Range, most = 6): number {
  const minutes = [10, 15, 30, 60, 120, 240, 480, 1440];
  return 60_000 * (minutes.find((m) => (r.to - r.from) / (60_000 * m) <= most) ?? 1440);
}

/** marks are the times on the axis, at whole steps of the local clock. */
export function marks(r: Range, most = 6): number[] {
  const step = stepOf(r, most);
  const zone = new Date(r.from).getTimezoneOffset() * 60_000;
  const out: number[] = [];
  for (let at = Math.ceil((r.from - zone) / step) * step + zone; at <= r.to; at += step) out.push(at);
  return out;
}

const least = 3; // pixels of the shortest bar
const letter = 0.46; // width of one, of the size of the page's text

/** line draws a visit, so many pixels wide, beside text of a size. */
export function line(v: Outlook, r: Range, width: number, now: number, size: number): SVGElement {
  const row = Math.round(1.6 * size);
  const head = Math.round(1.4 * size);
  const left = Math.min(15 * size, width * 0.42);
  const x = (at: number) => left + ((at - r.from) / (r.to - r.from)) * (width - left - 1.3 * size);
  const done = v.stages.filter((s) => s.state === "done");
  const rest = v.stages.filter((s) => s.state !== "done");
  const rows = rest.length + (done.length ? 1 : 0);
  const height = head + rows * row + 4;
  const d = svg("svg", { class: "visit-line", viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": t("visitsLine", { n: v.visit }) });
  const pattern = `late-${v.visit}`;
  d.append(svg("defs", {}, svg("pattern", { id: pattern, width: 7, height: 7, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" }, svg("line", { x1: 0, y1: 0, x2: 0, y2: 7, class: "visit-hatch" }))));
  const most = Math.max(1, Math.min(6, Math.floor((width - left) / (4 * size))));
  for (const at of marks(r, most)) d.append(svg("line", { x1: x(at), x2: x(at), y1: head - 4, y2: height, class: "visit-mark" }), svg("text", { x: x(at), y: 0.8 * size, class: "visit-time" }, clock(new Date(at))));
  let y = head;
  const label = (text: string, running = false) => d.append(svg("text", { x: left - 10, y: y + row / 2 + 0.3 * size, class: running ? "visit-name running" : "visit-name" }, shorten(text, (left - 14) / (letter * size))));
  const bar = (from: number, to: number, kind: string) => d.append(svg("rect", { x: x(Math.max(from, r.from)), y: y + 5, width: Math.max(least, x(to) - x(Math.max(from, r.from))), height: row - 10, rx: 3, class: `visit-bar ${kind}` }));
  if (done.length) {
    label(t("visitsDone"));
    for (const s of done) if (Date.parse(s.to) > r.from) bar(Date.parse(s.from), Date.parse(s.to), "done");
    y += row;
  }
  for (const s of rest) {
    const [from, to, late] = [s.from, s.to, s.late].map(Date.parse);
    label(stageName(s.stage, s.title), s.state === "running");
    if (late > to) d.append(svg("rect", { x: x(to), y: y + 5, width: x(late) - x(to), height: row - 10, fill: `url(#${pattern})`, class: "visit-late" }));
    if (s.state === "running") {
      bar(from, Math.max(now, from), "done");
      if (to > now) bar(now, to, "running");
    } else bar(from, to, "coming");
    y += row;
  }
  d.append(svg("line", { x1: x(now), x2: x(now), y1: head - 6, y2: height, class: "visit-now" }));
  return d;
}

/** shorten cuts a name that has more letters than there is room for. */
function shorten(text: string, most: number): string {
  return text.length > most ? `${text.slice(0, Math.floor(most) - 1)}…` : text;
}
