// The page in a browser against the real program, in the order of a visit.
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { begin, type Bench, phantom, shots } from "./program";

const axe = readFileSync(new URL("../../node_modules/axe-core/axe.min.js", import.meta.url), "utf8");

let b: Bench;
let scans: string;
beforeAll(async () => {
  b = await begin();
  scans = phantom(join(b.dir, "scans"), "--tooth", "36", "--triangles", "40000", "--noise", "0.005", "--defect", "short clearance:230");
});
afterAll(async () => {
  await b?.end();
});

const shot = (name: string) => b.page.screenshot({ path: join(shots, `${name}.png`) });
const sentence = () => b.page.locator(".sentence").innerText();
const cutAt = async () => Number(await b.page.locator(".cut").getAttribute("data-azimuth"));

/** accessible runs the checks of WCAG 2.2 AA on the page as it is. The policy keeps injected scripts out, so it goes through the debugger. */
async function accessible(): Promise<void> {
  await b.page.evaluate(axe);
  const found = await b.page.evaluate(async () => {
    const run = (globalThis as unknown as { axe: { run(d: Document, o: object): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }> } }).axe;
    return (await run.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] })).violations.map((v) => `${v.id}: ${v.nodes[0].html} ${v.nodes[0].failureSummary}`);
  });
  expect(found).toEqual([]);
}

describe("the bench", () => {
  it("takes files of a new case, guesses their roles and asks", async () => {
    await b.page.goto(b.url);
    await b.page.waitForSelector("main[data-ready=cases]");
    await accessible();
    await b.page.click("text=Add a case");
    await b.page.click('.tooth[data-iso="36"]');
    expect(await b.page.inputValue("#tooth")).toBe("36");
    await b.page.selectOption("#material", "zirconia-3y");
    await b.page.fill("#patient", "P-118");
    await b.page.setInputFiles('input[type="file"] >> nth=0', readdirSync(scans).filter((f) => f.endsWith(".stl")).map((f) => join(scans, f)));
    await shot("add");
    await accessible();
    await b.page.click("text=Add the case");
    await b.page.waitForSelector(".take >> nth=1");
    const roles = await b.page.$$eval(".take select", (s) => s.map((x) => (x as HTMLSelectElement).value));
    expect(roles.sort()).toEqual(["opposing", "prepared"]);
    await shot("takes");
    await accessible();
  });

  it("measures, and shows the worst first with its next step in one sentence", async () => {
    await b.page.click("button:text-is('Measure')");
    await b.page.waitForSelector("main[data-ready=view]");
    // The invented case is 0.4 mm or so short of room at 230 degrees, which is distolingual.
    expect(await sentence()).toMatch(/^Distolingual occlusal clearance is .* short of 1\.00/);
    const truth = JSON.parse(readFileSync(join(scans, "truth.json"), "utf8")) as Record<string, unknown>;
    expect(JSON.stringify(truth)).toContain("short clearance");
    expect(await b.page.locator(".row").first().innerText()).toContain("fails");
    expect(Math.abs((await cutAt()) - 230)).toBeLessThanOrEqual(10);
    await b.page.waitForTimeout(400);
    await shot("case");
    await accessible();
  });

  it("has colours of the map in the view", async () => {
    const box = (await b.page.locator(".view-canvas canvas").boundingBox())!;
    const png = await b.page.screenshot({ clip: box });
    expect(png.length).toBeGreaterThan(20_000); // an empty canvas is a tenth of that
  });

  it("moves view, strip and slice when a reading is chosen, and by keys", async () => {
    const before = await cutAt();
    await b.page.click('.row[data-id="finish_line.width.min"]');
    await b.page.waitForFunction((was) => document.querySelector(".cut")!.getAttribute("data-azimuth") !== String(was), before);
    expect(await b.page.locator(".strip-panel h2").innerText()).toBe("Least width of the finish line");
    expect(await b.page.locator(".view-panel h2").innerText()).toBe("Least width of the finish line");
    await b.page.keyboard.press("k");
    expect(await b.page.locator(".strip-panel h2").innerText()).not.toBe("Least width of the finish line");
    const now = await cutAt();
    await b.page.keyboard.press("ArrowRight");
    await b.page.waitForFunction((was) => document.querySelector(".cut")!.getAttribute("data-azimuth") === String(was), (now + 5) % 360);
  });

  it("shows in the others where one points on the strip", async () => {
    await b.page.click('.row[data-id="preparation.clearance.occlusal"]');
    const over = (await b.page.locator(".u-over").boundingBox())!;
    await b.page.mouse.move(over.x + over.width * 0.25, over.y + over.height / 2);
    expect(await b.page.locator(".now").innerText()).toMatch(/^(89|90|91)° buccal: \d/);
    expect(await b.page.locator(".azimuth-mark:not([hidden])").count()).toBe(1);
    await b.page.mouse.click(over.x + over.width * 0.5, over.y + over.height / 2);
    await b.page.waitForFunction(() => Math.abs(Number(document.querySelector(".cut")!.getAttribute("data-azimuth")) - 180) <= 1);
  });

  it("follows a finish line that is moved by hand, and takes it back", async () => {
    await b.page.click('.row[data-id="finish_line.width.min"]');
    const figure = () => b.page.locator('.row[data-id="finish_line.length"] .value').innerText();
    const width = () => b.page.locator('.row[data-id="finish_line.width.mean"] .value').innerText();
    const was = [await figure(), await width()].join();
    await b.page.click(".edit-line");
    await b.page.waitForSelector(".handle");
    const n = await b.page.locator(".handle").count();
    const seen = await b.page.$$eval(".handle:not([hidden])", (hs) => {
      const box = document.querySelector(".view-canvas")!.getBoundingClientRect();
      return hs.map((h) => h.getBoundingClientRect()).map((r) => ({ x: r.x + r.width / 2, y: r.y + r.height / 2 })).filter((p) => p.x > box.x + 30 && p.x < box.right - 30 && p.y < box.bottom - 30).sort((a, c) => c.y - a.y)[0];
    });
    await b.page.mouse.move(seen.x, seen.y);
    await b.page.mouse.down();
    await b.page.mouse.move(seen.x, seen.y - 14, { steps: 3 });
    await b.page.mouse.up();
    await b.page.waitForSelector(".linetools output[data-ms]");
    await b.page.waitForFunction((old) => ["length", "width.mean"].map((k) => document.querySelector(`.row[data-id="finish_line.${k}"] .value`)!.textContent).join() !== old, was);
    console.log(`a moved point: measured anew in ${await b.page.locator(".linetools output").getAttribute("data-ms")} ms, ${n} points`);
    await shot("line");
    await accessible();
    await b.page.waitForTimeout(300);
    await b.page.click(".undo-line");
    await b.page.waitForFunction((old) => ["length", "width.mean"].map((k) => document.querySelector(`.row[data-id="finish_line.${k}"] .value`)!.textContent).join() === old, was);
    await b.page.click(".edit-line");
  });

  it("has large text, dark colours, more contrast and another language, all without a fault of access", async () => {
    await b.page.keyboard.press("l");
    await b.page.waitForSelector("html[data-text=large]");
    await shot("large");
    await accessible();
    await b.page.keyboard.press("l");
    await b.page.emulateMedia({ colorScheme: "dark" });
    await b.page.waitForTimeout(200);
    await shot("dark");
    await accessible();
    await b.page.keyboard.press("?");
    await shot("help");
    await accessible();
    await b.page.keyboard.press("Escape");
    await b.page.click("button.settings");
    await b.page.selectOption("#set-contrast", "more");
    await b.page.selectOption("#set-language", "de");
    await b.page.keyboard.press("Escape");
    await b.page.waitForSelector("html[lang=de]");
    await b.page.waitForSelector("main[data-ready=view]");
    await b.page.waitForTimeout(1500); // software WebGL is slow to its first picture
    expect(await b.page.locator(".row .value").first().innerText()).toMatch(/^\d,\d\d$/);
    await shot("german");
    await accessible();
  });

  it("fits a page written from the right and a narrow one, without a bar across", async () => {
    await b.page.evaluate(() => (document.documentElement.dir = "rtl"));
    await shot("from-the-right");
    const wide = () => b.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    expect(await wide()).toBeLessThanOrEqual(0);
    await b.page.setViewportSize({ width: 820, height: 1180 });
    expect(await wide()).toBeLessThanOrEqual(0);
    await b.page.setViewportSize({ width: 1680, height: 1000 });
  });

  it("says how quick it is, and complains of nothing", async () => {
    await b.page.goto(`${b.url}/#/`);
    await b.page.waitForSelector("main[data-ready=cases]");
    await shot("cases");
    await b.page.click(".case-row");
    await b.page.waitForSelector("main[data-ready=view]");
    const bytes = await b.page.evaluate(() => performance.getEntriesByType("resource").filter((r) => r.name.includes("/assets/")).reduce((s, r) => s + (r as PerformanceResourceTiming).transferSize, 0));
    console.log(`page: ${Math.round(bytes / 1024)} kB; first picture ${await b.page.locator("main.case").getAttribute("data-picture")} ms after the record`);
    expect(b.complaints).toEqual([]);
  });
});
