// The page of the audit in a browser against the real program.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { axe, begin, type Bench, phantom, shots } from "./program";

const cases = 6;
let b: Bench;

/** fill puts small invented cases on the bench, one with a short clearance, and has all measured. */
async function fill(): Promise<void> {
  const api = async (method: string, path: string, body?: unknown): Promise<{ id: number }> => {
    const raw = body instanceof Uint8Array;
    const r = await fetch(b.url + path, { method, headers: raw ? { "Content-Type": "application/octet-stream" } : body ? { "Content-Type": "application/json" } : {}, body: raw ? (body as unknown as BodyInit) : body ? JSON.stringify(body) : undefined });
    if (!r.ok) throw new Error(`${method} ${path}: ${r.status} ${await r.text()}`);
    return (await r.json()) as { id: number };
  };
  for (let i = 0; i < cases; i++) {
    const dir = join(b.dir, i === 0 ? "short" : "plain");
    if (i < 2) phantom(dir, "--triangles", "8000", "--tooth", i === 0 ? "36" : "46", ...(i === 0 ? ["--defect", "short clearance:230"] : []));
    const c = await api("POST", "/api/cases", { tooth: i === 0 ? "36" : "46", numbering: "iso3950", material: "zirconia-3y" });
    for (const role of ["prepared", "opposing"]) {
      const t = await api("POST", `/api/cases/${c.id}/takes?name=${role}.stl&role=${role}`, readFileSync(join(dir, `${role}.stl`)));
      expect(t.id).toBeGreaterThan(0);
    }
  }
}

beforeAll(async () => {
  b = await begin();
  await fill();
});
afterAll(async () => {
  await b?.end();
});
const shot = (name: string) => b.page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
afterEach(async (c) => {
  if (c.task.result?.state === "fail") await shot("failed-audit");
});
const row = (reading: string) => b.page.locator(`.audit-row[data-reading="${reading}"]`);

describe("audit", () => {
  it("says that nothing is measured yet, and measures all at a second press", async () => {
    await b.page.goto(`${b.url}/#/audit`);
    await b.page.waitForSelector("main[data-ready=audit]");
    expect(await b.page.locator(".sentence").innerText()).toBe(`No case has been measured yet: there is nothing to look over. ${cases} not measured yet.`);
    await b.page.locator(".audit-again").click();
    expect(await b.page.locator(".audit-again").innerText()).toBe(`Measure ${cases} cases again, really`);
    await b.page.locator(".audit-again").click();
    await b.page.waitForSelector(`.sentence:has-text("${cases} cases measured")`, { timeout: 60_000 });
  });

  it("shows each reading with its share failing in words", async () => {
    await row("preparation.clearance.occlusal").waitFor();
    // one of six: Wilson's interval is 3.0 to 56.4 %, of Newcombe 1998, method 3
    expect(await row("preparation.clearance.occlusal").locator(".audit-says").innerText()).toContain("1 of 6 fail: 17\u00a0% (3.0 to 56\u00a0%)");
    expect(await row("preparation.clearance.occlusal").locator(".audit-word").first().innerHTML()).toMatch(/^at least/);
    expect((await row("preparation.clearance.occlusal").boundingBox())!.height).toBeGreaterThanOrEqual(44);
    await axe(b.page);
  });

  it("looks closely at one, by mouse and by keys, and says what is too few", async () => {
    await row("preparation.clearance.occlusal").click();
    await b.page.waitForSelector(".audit-detail h2:has-text('clearance')");
    expect(await b.page.locator(".audit-detail").innerText()).toContain("Not enough for a chart over time");
    expect(await b.page.locator(".audit-detail .table").last().innerText()).toMatch(/36\s+1\s+–\s+1 of 1 fail.*few cases/s);
    await b.page.keyboard.press("ArrowDown");
    await b.page.waitForSelector(".audit-row[aria-pressed=true]:not([data-reading='preparation.clearance.occlusal'])");
    expect(await b.page.locator(".audit-row[aria-pressed=true]").count()).toBe(1);
    await shot("audit");
  });

  it("gives the table", async () => {
    const [file] = await Promise.all([b.page.waitForEvent("download"), b.page.locator("a[download='audit-readings.csv']").click()]);
      const lines = readFileSync((await file.path())!, "utf8").trim().split("\r\n");
    expect(lines[0]).toMatch(/^case,date,dentist,tooth/);
    expect(lines.filter((l) => l.includes("preparation.clearance.occlusal")).length).toBe(cases);
    expect(b.complaints).toEqual([]);
  });

  it("speaks German", async () => {
    const page = await b.browser.newPage({ viewport: { width: 1280, height: 800 }, locale: "de-DE", colorScheme: "dark", reducedMotion: "reduce" });
    await page.goto(`${b.url}/#/audit`);
    await page.waitForSelector("main[data-ready=audit]");
    expect(await page.locator("h1").innerText()).toBe("Gesamtschau");
    expect(await page.locator(`.audit-row[data-reading="preparation.clearance.occlusal"] .audit-says`).innerText()).toContain("1 von 6 verfehlt: 17\u00a0% (3,0 bis 56\u00a0%)");
    await axe(page);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - innerWidth)).toBeLessThanOrEqual(0);
    await page.screenshot({ path: join(shots, "audit-de.png"), fullPage: true });
  });
});
