// Where the slice is cut: through the axis at an azimuth, or tilted about the
// direction of that azimuth and moved along its own normal.
import type { Point } from "./api";
import { type Frame, fromScene, towards } from "./frame";

export interface Plane {
  azimuth: number; // degrees
  tilt: number; // degrees from the axis, -90 to 90; at 90 the plane lies level
  shift: number; // mm along the normal
}

export const mostTilt = 90;
export const mostShift = 8;

const level = 89.9; // degrees: the axis still says what is up

/** cutQuery is a plane as the server is asked for it. */
export function cutQuery(p: Plane, f: Frame): { azimuth: number } | { point: Point; normal: Point } {
  if (p.tilt === 0 && p.shift === 0) return { azimuth: p.azimuth };
  const n = normal(p, f);
  const at = fromScene(f, n.map((x) => x * p.shift));
  const to = fromScene(f, n);
  return { point: at, normal: to.map((v, i) => v - f.origin[i]) as Point };
}

/** normal is the plane's in the scene. At no tilt it is level and square to the azimuth, so that right stays on its side. */
export function normal(p: Plane, f: Frame): Point {
  const right = towards(f, p.azimuth);
  const t = (Math.max(-level, Math.min(level, p.tilt)) * Math.PI) / 180;
  return [right[1] * Math.cos(t), -right[0] * Math.cos(t), Math.sin(t)];
}
