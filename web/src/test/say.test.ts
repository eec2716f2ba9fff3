import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { de } from "../page/de";
import { sentences } from "../page/de.sentences";
import { figure } from "../page/figure";
import { Speaker } from "../page/say";

const root = new URL("../../../", import.meta.url);
const text = (path: string) => readFileSync(new URL(path, root), "utf8");
const speaker = new Speaker("de", sentences, (v, digits) => figure("de", v, digits));

describe("sentences of the program in German", () => {
  it.each([
    ["Distolingual occlusal clearance is 0.62 mm, 0.38 short of 1.00: reduce there, then scan again.", "Okklusaler Platz distolingual beträgt 0,62 mm, 0,38 unter 1,00: dort abtragen, dann neu scannen."],
    ["Mesiodistal convergence is 9.6 degrees with an uncertainty of 0.8, too near 10.0 to decide (16 % likely to conform): if in doubt, open the walls slightly and check that nothing is undercut.", "Konvergenz mesiodistal beträgt 9,6 Grad bei einer Unsicherheit von 0,8, zu nah an 10,0, um zu entscheiden (erfüllt mit 16 % Wahrscheinlichkeit): im Zweifel die Wände leicht öffnen und prüfen, dass nichts unter sich geht."],
    ["Signed distance to the distal neighbour as made is -0.084 mm, 0.054 short of -0.030: take off 0.08 mm 1.4 mm below the marginal ridge in small steps and polish; 1.77 mm of thickness is left there.", "Abstand zum distalen Nachbarn (mit Vorzeichen) (gefertigt) beträgt -0,084 mm, 0,054 unter -0,030: 0,08 mm abtragen, 1,4 mm unterhalb der Randleiste, in kleinen Schritten, und polieren; dort bleiben 1,77 mm Dicke."],
    ["Occlusal clearance over the functional cusps is 1.10 mm (worst: palatal), 0.40 short of 1.50: reduce there, then scan again.", "Okklusaler Platz über den tragenden Höckern beträgt 1,10 mm (am schlechtesten palatinal), 0,40 unter 1,50: dort abtragen, dann neu scannen."],
    ["Depth of the finish line in the sulcus could not be measured (the gingival crest is not traced yet): probe it in the mouth.", "Tiefe der Präparationsgrenze im Sulkus nicht messbar (der Gingivasaum wird noch nicht nachgezeichnet): im Mund sondieren."],
    ["2 separate contacts within 0.05 mm: L 0.41 mm2, D 0.16 mm2", "2 einzelne Kontakte bis 0,05 mm Abstand: L 0,41 mm², D 0,16 mm²"],
    ["tap visit 3: something else was tapped in between", "Termin 3: inzwischen wurde etwas anderes gedrückt"],
    ["it lasted 14 h 55 min, longer than the 2 h 0 min that the plan gives as its longest: it was left running", "es dauerte 14 h 55 min, länger als die 2 h 0 min, die der Plan höchstens vorsieht: es lief weiter"],
    ["chair 1 has visit 7, which is not over: end it or break it off first", "auf Stuhl 1 ist Termin 7, der nicht zu Ende ist: ihn zuerst beenden oder abbrechen"],
    ["measuring: fit", "gemessen wird: Passung"],
  ])("says %s", (from, to) => expect(speaker.say(from)).toEqual({ text: to, lang: "de" }));

  it("leaves what it does not know as it is, and says that it is English", () => expect(speaker.say("The moon is 0.62 mm away.")).toEqual({ text: "The moon is 0.62 mm away.", lang: "en" }));

  it("has every part of every next step", () => {
    const missing = text("web/src/test/said.txt").split("\n").filter((s) => s && speaker.say(s).lang !== "de");
    expect(missing).toEqual([]);
  });

  it("has everything that is said of luting", () => {
    const named = new Speaker("de", sentences, (v, digits) => figure("de", v, digits));
    named.learn(["Axial thickness", "Occlusal thickness", "Depth in the sulcus", "Least height of the walls", "Limiting taper for resistance", "the walls could not be followed"].map((n) => [n, `(${n})`]));
    const missing = text("web/src/test/said-luting.txt").split("\n").filter((s) => s && named.say(s).lang !== "de");
    expect(missing).toEqual([]);
  });

  it("has every form of the notes and reasons that measuring writes", () => {
    const known = [...Object.keys(sentences.phrases), ...sentences.templates.map(([from]) => from.replace(/\{\w+\}/g, "\u0000"))].join("\n").toLowerCase();
    const missing: string[] = [];
    for (const f of readdirSync(new URL("measure/", root)).filter((n) => n.endsWith(".go") && !n.endsWith("_test.go")))
      for (const line of text(`measure/${f}`).split("\n")) {
        if (!/Note|unmeasured\(|\bwhy\b|\.why\b|words|return "|return fmt|way \+?=|noRidge =|outerOnly =|out \+?= "/.test(line) || /^\s*\/\/|CrownError|Errorf|panic/.test(line)) continue;
        for (const [, literal] of line.matchAll(/"((?:[^"\\]|\\.)*)"/g))
          for (const part of literal.split(/%[-+.\d]*[a-z%]|\\n|; (?=the walls|what is)|: (?=%d)/)) {
            const words = part.replace(/^[\s;:,.()]+|[\s;:,.()]+$/g, "").toLowerCase();
            if (words.split(" ").length >= 3 && !known.includes(words)) missing.push(`${f}: ${words}`);
          }
      }
    expect(missing).toEqual([]);
  });

  it("has what is refused and left out of visits", () => {
    const forms = ["follow.go", "build.go", "tapping.go"].flatMap((f) => [...text(`practice/visit/${f}`).matchAll(/(?:return|Sprintf\() ?"((?:[^"\\]|\\.){16,})"/g)].map((m) => m[1]));
    expect(forms.length).toBeGreaterThan(4);
    const example = (f: string) => f.replace("%s has run", "Milling has run").replace(/%d/g, "3").replace(/%s/g, "2 h 0 min");
    expect(forms.map(example).filter((s) => speaker.say(s).lang !== "de")).toEqual([]);
  });

  it("has every step of measuring", () => {
    const steps = ["all.go", "crown.go"].flatMap((f) => [...text(`measure/${f}`).matchAll(/\{(?:name: )?"([a-z ]+)", (?:make:|[a-z])/g)].map((m) => m[1]));
    expect(steps.length).toBeGreaterThan(12);
    expect(steps.filter((s) => speaker.say(`measuring: ${s}`).lang !== "de")).toEqual([]);
  });

  it("has a name for every reading", () => {
    const ids = [...text("docs/READINGS.md").matchAll(/`([a-z_]+(?:\.[a-z_]+)+)`/g)].map((m) => m[1]).filter((id) => /^(scan|finish_line|preparation|existing|crown|finished|seated)\./.test(id));
    expect(ids.length).toBeGreaterThan(60);
    expect(ids.filter((id) => !de.readings[id] && !de.readings[id.replace(/^finished\./, "crown.")])).toEqual([]);
  });
});
