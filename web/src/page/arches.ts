// The arches as a drawing of our own, on which a tooth is picked: two open
// curves seen as one looks at the patient, each tooth a rounded shape whose
// breadth is about that of the tooth.
import { el, svg } from "./dom";
import { numbering, universalOf } from "./tooth";
import { t } from "./text";

/** Mesiodistal breadths of permanent teeth 1 to 8, mm, upper and lower (common practice). */
const breadth = {
  upper: [8.5, 6.5, 7.5, 7, 7, 10, 9, 8.5],
  lower: [5, 5.5, 7, 7, 7, 11, 10.5, 10],
};

interface Spot {
  iso: string;
  x: number;
  y: number;
  turn: number; // degrees
  width: number;
}

/** spots places the sixteen teeth of an arch along half an ellipse, by their breadths. */
export function spots(arch: "upper" | "lower"): Spot[] {
  const [a, b] = [32, 47];
  const upper = arch === "upper";
  const w = breadth[arch];
  const sum = w.reduce((p, q) => p + q, 0);
  const out: Spot[] = [];
  for (const side of [-1, 1]) {
    let gone = 0;
    w.forEach((width, i) => {
      const u = (gone + width / 2) / sum;
      gone += width;
      const angle = u * (Math.PI / 2) * 1.02;
      const [x, y] = [side * a * Math.sin(angle), b * Math.cos(angle)];
      const slope = Math.atan2(b * Math.sin(angle), a * Math.cos(angle)) * (180 / Math.PI);
      const quadrant = upper ? (side < 0 ? 1 : 2) : side < 0 ? 4 : 3;
      out.push({ iso: `${quadrant}${i + 1}`, x, y: upper ? -y : y, turn: (upper ? 1 : -1) * side * slope, width: width * 0.92 });
    });
  }
  return out;
}

/** arches makes the drawing; picked is called with an ISO 3950 number. */
export function arches(picked: (iso: string) => void): { root: HTMLElement; mark: (iso: string) => void } {
  const teeth = new Map<string, SVGElement>();
  const draw = svg("svg", { viewBox: "-48 -60 96 120", class: "arches", role: "group", "aria-label": t("arches") });
  for (const arch of ["upper", "lower"] as const) {
    const shift = arch === "upper" ? -4 : 4;
    for (const s of spots(arch)) {
      const g = svg("g", { class: "tooth", role: "button", tabindex: "0", "aria-pressed": "false", "data-iso": s.iso, "aria-label": `${t("tooth")} ${shown(s.iso)}`, transform: `translate(${s.x.toFixed(2)} ${(s.y + shift).toFixed(2)})` });
      const deep = Number(s.iso[1]) > 3 ? 9.5 : 6.5;
      g.append(svg("rect", { x: -s.width / 2, y: -deep / 2, width: s.width, height: deep, rx: 2.6, transform: `rotate(${s.turn.toFixed(1)})` }), svg("text", { y: s.width < 6 ? 1 : 1.25, "text-anchor": "middle", class: s.width < 6 ? "tight" : undefined }, shown(s.iso)));
      g.addEventListener("click", () => picked(s.iso));
      g.addEventListener("keydown", (e) => {
        if (!["Enter", " "].includes((e as KeyboardEvent).key)) return;
        e.preventDefault();
        picked(s.iso);
      });
      teeth.set(s.iso, g);
      draw.append(g);
    }
  }
  draw.append(svg("text", { x: 0, y: -26, class: "arch-name", "text-anchor": "middle" }, t("upper")), svg("text", { x: 0, y: 29, class: "arch-name", "text-anchor": "middle" }, t("lower")));
  const root = el("div", { class: "arch-box", dir: "ltr" }, el("div", { class: "arch-sides" }, el("span", {}, t("right")), el("span", {}, t("left"))));
  root.append(draw);
  return { root, mark: (iso) => teeth.forEach((g, k) => g.setAttribute("aria-pressed", String(k === iso))) };
}

function shown(iso: string): string {
  return numbering() === "universal" ? String(universalOf(iso)) : iso;
}
