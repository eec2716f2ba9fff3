// Reads a mesh and queries as JSON from standard input, answers with the
// distances to the nearest point and the distances of the first ray hits
// (null for a miss), by three-mesh-bvh on three.
import { readFileSync } from 'node:fs';
import { BufferAttribute, BufferGeometry, DoubleSide, Ray, Vector3 } from 'three';
import { MeshBVH } from 'three-mesh-bvh';

const job = JSON.parse(readFileSync(0, 'utf8'));
const g = new BufferGeometry();
g.setAttribute('position', new BufferAttribute(new Float32Array(job.vertices.flat()), 3));
g.setIndex(new BufferAttribute(new Uint32Array(job.facets.flat()), 1));
const bvh = new MeshBVH(g);
const closest = job.points.map((p) => bvh.closestPointToPoint(new Vector3(...p)).distance);
const rays = job.rays.map(([o, d]) => {
  const hit = bvh.raycastFirst(new Ray(new Vector3(...o), new Vector3(...d)), DoubleSide);
  return hit ? hit.distance : null;
});
process.stdout.write(JSON.stringify({ closest, rays }));
