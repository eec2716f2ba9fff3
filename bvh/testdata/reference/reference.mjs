// Answers the kernel test's questions with three-mesh-bvh.
//
// Standard input, little-endian: four int32 counts (vertices, facets, points,
// rays), then float32 x y z per vertex, int32 a b c per facet, float64 x y z
// per point, float64 origin and unit direction per ray. Standard output:
// float64 distance per point, then per ray its distance, -1 for no hit.
import { readFileSync, writeSync } from 'node:fs'
import { BufferAttribute, BufferGeometry, DoubleSide, Ray, Vector3 } from 'three'
import { MeshBVH } from 'three-mesh-bvh'

const input = readFileSync(0)
const bytes = input.buffer.slice(input.byteOffset, input.byteOffset + input.byteLength)
let at = 0
const take = (Kind, n) => {
  const size = n * Kind.BYTES_PER_ELEMENT
  const part = new Kind(bytes.slice(at, at + size))
  at += size
  return part
}
const [vertices, facets, points, rays] = take(Int32Array, 4)
const geometry = new BufferGeometry()
geometry.setAttribute('position', new BufferAttribute(take(Float32Array, 3 * vertices), 3))
geometry.setIndex(new BufferAttribute(new Uint32Array(take(Int32Array, 3 * facets)), 1))
const bvh = new MeshBVH(geometry)

const out = new Float64Array(points + rays)
const p = take(Float64Array, 3 * points)
for (let i = 0; i < points; i++) {
  out[i] = bvh.closestPointToPoint(new Vector3().fromArray(p, 3 * i)).distance
}
const r = take(Float64Array, 6 * rays)
for (let i = 0; i < rays; i++) {
  const ray = new Ray(new Vector3().fromArray(r, 6 * i), new Vector3().fromArray(r, 6 * i + 3))
  const hit = bvh.raycastFirst(ray, DoubleSide)
  out[points + i] = hit ? hit.distance : -1
}
const answer = new Uint8Array(out.buffer)
for (let done = 0; done < answer.length; ) done += writeSync(1, answer, done)
