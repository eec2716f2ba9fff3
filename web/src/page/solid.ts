// One surface of the view: its triangles in the frame's axes, its shading and,
// once asked for, the tree in which points are picked.
import * as THREE from "three";
import { MeshBVH } from "three-mesh-bvh";
import type { Point } from "./api";
import type { Mesh, ValueMap } from "./binary";
import { type Frame, dot } from "./frame";
import { material, setMap } from "./shade";
import type { Range } from "./scale";

/** moved turns positions into the frame's axes. */
export function moved(positions: Float32Array, f: Frame): Float32Array<ArrayBuffer> {
  const out = new Float32Array(positions.length);
  const o: Point = [dot(f.origin, f.x), dot(f.origin, f.y), dot(f.origin, f.z)];
  for (let i = 0; i < positions.length; i += 3) {
    const x = positions[i];
    const y = positions[i + 1];
    const z = positions[i + 2];
    out[i] = x * f.x[0] + y * f.x[1] + z * f.x[2] - o[0];
    out[i + 1] = x * f.y[0] + y * f.y[1] + z * f.y[2] - o[1];
    out[i + 2] = x * f.z[0] + y * f.z[1] + z * f.z[2] - o[2];
  }
  return out;
}

export interface Hit {
  point: THREE.Vector3; // of the scene, mm
  value: number; // of the map, NaN where there is none
  distance: number;
}

export class Solid {
  readonly mesh: THREE.Mesh<THREE.BufferGeometry, THREE.ShaderMaterial>;
  private tree: MeshBVH | null = null;
  private map: ValueMap | null = null;

  constructor(m: Mesh, f: Frame) {
    const g = new THREE.BufferGeometry();
    g.setAttribute("position", new THREE.BufferAttribute(moved(m.positions, f), 3));
    g.setIndex(new THREE.BufferAttribute(m.indices, 1));
    g.computeVertexNormals();
    this.mesh = new THREE.Mesh(g, material());
    this.clearMap();
  }

  private get vertices(): number {
    return this.mesh.geometry.getAttribute("position").count;
  }

  private values(value: Float32Array, known: Float32Array): void {
    this.mesh.geometry.setAttribute("value", new THREE.BufferAttribute(value, 1));
    this.mesh.geometry.setAttribute("known", new THREE.BufferAttribute(known, 1));
  }

  /** clearMap shows the tooth's own colour. */
  clearMap(): void {
    this.map = null;
    if (!this.mesh.geometry.getAttribute("value")) this.values(new Float32Array(this.vertices), new Float32Array(this.vertices));
    setMap(this.mesh.material, null, null);
  }

  /** showMap colours the surface. A map of other vertices is refused, since it is of another take. */
  showMap(m: ValueMap, range: Range, limit: { min?: number; max?: number } | null): void {
    if (m.values.length !== this.vertices) throw new Error(`a map of ${m.values.length} values is not of this surface of ${this.vertices} vertices`);
    const value = new Float32Array(m.values.length);
    const known = new Float32Array(m.values.length);
    for (let i = 0; i < value.length; i++) {
      if (Number.isNaN(m.values[i])) continue;
      value[i] = m.values[i];
      known[i] = 1;
    }
    this.map = m;
    this.values(value, known);
    setMap(this.mesh.material, range, limit);
  }

  /** pick returns the nearest place of the surface on a ray, and its value. */
  pick(ray: THREE.Ray): Hit | null {
    this.tree ??= new MeshBVH(this.mesh.geometry, { indirect: true });
    const h = this.tree.raycastFirst(ray, THREE.DoubleSide);
    return h && h.face ? { point: h.point, distance: h.distance, value: this.valueAt(h.face, h.point) } : null;
  }

  /** nearest returns the place of the surface closest to a point. */
  nearest(p: THREE.Vector3): THREE.Vector3 {
    this.tree ??= new MeshBVH(this.mesh.geometry, { indirect: true });
    return this.tree.closestPointToPoint(p)?.point ?? p;
  }

  private valueAt(face: { a: number; b: number; c: number }, p: THREE.Vector3): number {
    if (!this.map) return NaN;
    const pos = this.mesh.geometry.getAttribute("position");
    const [a, b, c] = [face.a, face.b, face.c].map((i) => new THREE.Vector3().fromBufferAttribute(pos, i));
    const w = THREE.Triangle.getBarycoord(p, a, b, c, new THREE.Vector3());
    const v = this.map.values;
    return w ? w.x * v[face.a] + w.y * v[face.b] + w.z * v[face.c] : NaN;
  }

  /** contour returns points where the map crosses a value, for its label; about one in every many. */
  contour(at: number): THREE.Vector3[] {
    const out: THREE.Vector3[] = [];
    if (!this.map) return out;
    const v = this.map.values;
    const idx = this.mesh.geometry.getIndex()!.array;
    const pos = this.mesh.geometry.getAttribute("position");
    for (let t = 0; t < idx.length; t += 3) {
      const [i, j] = [idx[t], idx[t + 1]];
      if (!((v[i] < at && v[j] >= at) || (v[j] < at && v[i] >= at))) continue;
      const a = new THREE.Vector3().fromBufferAttribute(pos, i);
      out.push(a.lerp(new THREE.Vector3().fromBufferAttribute(pos, j), (at - v[i]) / (v[j] - v[i])));
    }
    return out;
  }

  dispose(): void {
    this.mesh.geometry.dispose();
    this.mesh.material.dispose();
  }
}
