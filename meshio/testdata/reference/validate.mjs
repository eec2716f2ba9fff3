// Checks a GLB file with the official validator of glTF 2.0, or reads a PLY
// file with a general-purpose library, and prints what it finds as JSON.
import { readFileSync } from "node:fs";

const [, , kind, path] = process.argv;
const bytes = new Uint8Array(readFileSync(path));
if (kind === "glb") {
  const { default: validator } = await import("gltf-validator");
  const { issues, info } = await validator.validateBytes(bytes, { maxIssues: 20 });
  console.log(JSON.stringify({ errors: issues.numErrors, warnings: issues.numWarnings, messages: issues.messages.map((m) => `${m.code} ${m.pointer} ${m.message}`), vertices: info.totalVertexCount, triangles: info.totalTriangleCount }));
} else {
  const { PLYLoader } = await import("three/addons/loaders/PLYLoader.js");
  const loader = new PLYLoader();
  loader.setCustomPropertyNameMapping({ measured: ["value"] });
  const g = loader.parse(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  const list = (name) => Array.from(g.getAttribute(name).array, (v) => (Number.isNaN(v) ? null : v));
  console.log(JSON.stringify({ position: list("position"), color: list("color"), measured: list("measured"), triangles: g.getIndex().count / 3 }));
}
