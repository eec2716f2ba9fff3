// Directions about a tooth. The scene's axes are the frame's: x at azimuth 0,
// z along the placement axis, y completing a right-handed system, so that no
// surface is mirrored. Azimuth runs with or against it, by quadrant.
import type { Point } from "./api";

export const sectors = ["M", "MB", "B", "DB", "D", "DL", "L", "ML"] as const;
export type Sector = (typeof sectors)[number];

export interface Frame {
  origin: Point;
  x: Point;
  y: Point;
  z: Point;
  turn: 1 | -1; // sense of azimuth about z
  named: boolean; // whether sectors have names
}

export const dot = (a: readonly number[], b: readonly number[]): number => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
const cross = (a: Point, b: Point): Point => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];

/** frameOf makes the scene's axes from a record's frame. */
export function frameOf(f: { origin: number[]; placement: number[]; zero: number[]; turn: number[]; mesial: unknown }): Frame {
  const z = f.placement as Point;
  const x = f.zero as Point;
  const y = cross(z, x);
  return { origin: f.origin as Point, x, y, z, turn: dot(y, f.turn) >= 0 ? 1 : -1, named: f.mesial !== null };
}

/** toScene gives a point of the files in the scene's axes, mm. */
export function toScene(f: Frame, p: readonly number[]): Point {
  const d: Point = [p[0] - f.origin[0], p[1] - f.origin[1], p[2] - f.origin[2]];
  return [dot(d, f.x), dot(d, f.y), dot(d, f.z)];
}

/** fromScene is the way back. */
export function fromScene(f: Frame, q: readonly number[]): Point {
  return [0, 1, 2].map((i) => f.origin[i] + q[0] * f.x[i] + q[1] * f.y[i] + q[2] * f.z[i]) as Point;
}

/** azimuthAt is the azimuth of a point of the scene, degrees from 0 to 360. */
export function azimuthAt(f: Frame, q: readonly number[]): number {
  return round((f.turn * Math.atan2(q[1], q[0]) * 180) / Math.PI);
}

/** towards is the unit direction of an azimuth in the scene. */
export function towards(f: Frame, azimuth: number): Point {
  const a = (f.turn * azimuth * Math.PI) / 180;
  return [Math.cos(a), Math.sin(a), 0];
}

/** round brings an angle into 0 to 360 degrees. */
export function round(azimuth: number): number {
  return ((azimuth % 360) + 360) % 360;
}

/** sectorAt names the sector of 45 degrees that holds an azimuth; M is centred on 0. */
export function sectorAt(azimuth: number): Sector {
  return sectors[Math.floor(round(azimuth + 22.5) / 45) % 8];
}
