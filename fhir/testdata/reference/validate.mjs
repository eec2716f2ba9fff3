// Reads resources, one JSON text a line, and prints for each what a validator
// with the official definitions of FHIR R4 finds: cardinalities, types and the
// codes of required value sets.
import { createInterface } from "node:readline";
import { createRequire } from "node:module";

const { Fhir } = createRequire(import.meta.url)("fhir");
const fhir = new Fhir();
for await (const line of createInterface({ input: process.stdin })) {
  const { valid, messages } = fhir.validate(JSON.parse(line), { errorOnUnexpected: true });
  console.log(JSON.stringify({ valid, messages }));
}
