// What is taken away of a case and its record, in a browser against the real program.
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { axe, begin, type Bench, phantom, shots } from "./program";

let b: Bench;
beforeAll(async () => {
  b = await begin();
  const scans = phantom(join(b.dir, "scans"), "--tooth", "36", "--triangles", "40000", "--noise", "0.005", "--defect", "short clearance:230:0:0.62");
  await b.page.goto(`${b.url}/#/add`);
  await b.page.click('.tooth[data-iso="36"]');
  await b.page.fill("#patient", "P-118");
  await b.page.setInputFiles('input[type="file"] >> nth=0', readdirSync(scans).filter((f) => f.endsWith(".stl")).map((f) => join(scans, f)));
  await b.page.click("text=Add the case");
  await b.page.waitForSelector(".take >> nth=1");
  await b.page.click("button:text-is('Measure')");
  await b.page.waitForSelector("main[data-ready=view]");
});
afterAll(async () => {
  await b?.end();
});

const shot = (name: string) => b.page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
afterEach(async (c) => {
  if (c.task.result?.state === "fail") await shot("failed-record");
});

describe("what is taken away", () => {
  it("opens the report and the patient's sheet in a tab of their own, on the paper that is set", async () => {
    await shot("foot");
    await axe(b.page);
    const opened = async (button: string) => {
      const [tab, answer] = await Promise.all([b.page.waitForEvent("popup"), b.page.waitForResponse(/\/report\?/), b.page.click(button)]);
      expect(answer.headers()["content-type"]).toBe("application/pdf");
      await b.page.waitForSelector(".message.shown:has-text('is ready')");
      await expect.poll(() => tab.url()).toMatch(/^blob:/);
      await tab.close();
      return answer.url();
    };
    expect(await opened(".report")).toContain("paper=a4");
    await b.page.click("button.settings");
    await b.page.selectOption("#set-paper", "letter");
    await b.page.keyboard.press("Escape");
    const pdf = Buffer.from(await (await fetch(await opened(".patient"))).arrayBuffer()).toString("latin1");
    // Its first page's box in points (ISO 32000-1, 7.7.3.3): Letter is 612 by 792.
    expect(/^%PDF-/.test(pdf) && /\/MediaBox \[0 0 ([\d.]+) ([\d.]+)/.exec(pdf)!.slice(1).map(Number)).toEqual([612, 792]);
  });

  it("says that it is being made, and gives up when told to", async () => {
    await b.page.route(/\/report\?/, async (r) => {
      await new Promise((ok) => setTimeout(ok, 800));
      await r.continue().catch(() => {});
    });
    const [tab] = await Promise.all([b.page.waitForEvent("popup"), b.page.click(".report")]);
    await b.page.waitForSelector(".away[aria-busy=true]:has-text('Report is being made.')");
    expect(await tab.locator("body").innerText()).toBe("Report is being made.");
    expect(await b.page.locator(".report").isDisabled()).toBe(true);
    await shot("busy");
    await b.page.click(".away-stop");
    await b.page.waitForSelector(".message.shown:has-text('Report was given up.')");
    await expect.poll(() => tab.isClosed()).toBe(true);
    await b.page.unroute(/\/report\?/);
    expect(await b.page.locator(".report").isDisabled()).toBe(false);
  });

  it("exports what other programs read", async () => {
    await b.page.click('.row[data-id="preparation.clearance.occlusal"]');
    await b.page.click(".exports-on");
    await b.page.waitForSelector(".exports:has-text('Occlusal clearance')");
    await shot("exports");
    await axe(b.page);
    const took = async (f: string) => {
      const [d] = await Promise.all([b.page.waitForEvent("download"), b.page.click(`[data-format="${f}"]`)]);
      return { name: d.suggestedFilename(), body: readFileSync(await d.path()) };
    };
    const json = await took("json");
    expect([json.name, (JSON.parse(json.body.toString()) as { tooth: string }).tooth]).toEqual(["case-1.json", "36"]);
    expect((await took("csv")).body.toString()).toContain("preparation.clearance.occlusal");
    const fhir = await took("fhir");
    expect([fhir.name, (JSON.parse(fhir.body.toString()) as { resourceType: string }).resourceType]).toEqual(["case-1.fhir.json", "Bundle"]);
    // glTF 2.0, 4.4: a binary file begins with its magic, version 2 and its length.
    const glb = (await took("glb")).body;
    expect([glb.subarray(0, 4).toString(), glb.readUInt32LE(4), glb.readUInt32LE(8)]).toEqual(["glTF", 2, glb.length]);
    expect((await took("ply")).body.subarray(0, 4).toString()).toBe("ply\n");
    await b.page.click(".exports-on");
    expect(await b.page.locator(".exports").isHidden()).toBe(true);
  });
});
