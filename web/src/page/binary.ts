// Meshes and maps as they come from the server: little endian behind 16 bytes.
// The arrays are views of the body, without a copy, where the machine is
// little endian too, which every browser's is.

export interface Mesh {
  positions: Float32Array;
  indices: Uint32Array;
}

/** ValueMap has a value a vertex, NaN where there is none. */
export interface ValueMap {
  values: Float32Array;
  min: number;
  max: number;
}

const header = 16;

function mark(b: ArrayBuffer): string {
  return String.fromCharCode(...new Uint8Array(b, 0, 4));
}

/** readMesh reads the form CAM1. @throws Error when the body is not whole. */
export function readMesh(b: ArrayBuffer): Mesh {
  if (b.byteLength < header || mark(b) !== "CAM1") throw new Error("read a mesh: the body does not begin with CAM1");
  const v = new DataView(b);
  const n = v.getUint32(4, true);
  const m = v.getUint32(8, true);
  if (b.byteLength !== header + 12 * n + 12 * m) throw new Error(`read a mesh: ${b.byteLength} bytes cannot be ${n} vertices and ${m} triangles`);
  return { positions: new Float32Array(b, header, 3 * n), indices: new Uint32Array(b, header + 12 * n, 3 * m) };
}

/** readMap reads the form CAV1. @throws Error when the body is not whole. */
export function readMap(b: ArrayBuffer): ValueMap {
  if (b.byteLength < header || mark(b) !== "CAV1") throw new Error("read a map: the body does not begin with CAV1");
  const v = new DataView(b);
  const n = v.getUint32(4, true);
  if (b.byteLength !== header + 4 * n) throw new Error(`read a map: ${b.byteLength} bytes cannot be ${n} values`);
  return { values: new Float32Array(b, header, n), min: v.getFloat32(8, true), max: v.getFloat32(12, true) };
}
