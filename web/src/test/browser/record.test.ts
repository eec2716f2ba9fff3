// What is taken away of a case and its record, in a browser against the real program.
import { createHash } from "node:crypto";
import { chmodSync, readdirSync, readFileSync, statSync, writeFileSync } from "node:fs";
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

describe("the record", () => {
  const kept = async (button: string) => {
    await b.page.click(button);
    await b.page.waitForSelector(".message.shown:has-text('Kept in the record.')");
  };
  /** next waits for the list to have a number of entries. */
  const entries = (n: number) => b.page.waitForFunction((k) => document.querySelectorAll(".entry").length === k, n);

  it("stays closed until it is asked for, and asks who it is once", async () => {
    expect(await b.page.locator(".book").isHidden()).toBe(true);
    await b.page.waitForSelector(".book-line:has-text('1 entry')"); // the run
    await b.page.keyboard.press("r");
    await b.page.waitForSelector(".checked:has-text('Verified: all is as it was kept. Entries: 1; files: 2.')");
    await b.page.fill("#who", "");
    await b.page.click(".confirm-hold");
    await b.page.waitForSelector(".message.shown:has-text('Enter your initials first.')");
    await b.page.fill("#who", "AB");
    await b.page.keyboard.press("Tab");
    await expect.poll(() => b.page.evaluate(async () => ((await (await fetch("/api/settings")).json()) as { operator: string }).operator)).toBe("AB");
  });

  it("keeps lots that are typed, or scanned with what the code says", async () => {
    await b.page.fill("#lot-cement", "C-77");
    await kept(".lot:has(#lot-cement) button");
    // GS1 General Specifications: (17) expiry, (01) GTIN with its check digit, (10) lot, which FNC1 ends. A scanner types it and Enter.
    await b.page.focus("#lot-block");
    await b.page.keyboard.type("0109506000134352" + "17290331" + "10A7");
    await b.page.keyboard.press("Control+]");
    await b.page.keyboard.type("21S9");
    await b.page.keyboard.press("Enter");
    await b.page.waitForSelector(".lot:has(#lot-block) .kept:has-text('lot A7, expires 2029-03-31')");
    await b.page.fill("#lot-tool", "(01)09506000134353(10)A7"); // its check digit is wrong
    await b.page.click(".lot:has(#lot-tool) button");
    await b.page.waitForSelector(".message.shown:has-text('check digit')");
    await entries(3);
  });

  it("shows an overridden verdict in the ledger beside the program's", async () => {
    const row = b.page.locator('.row[data-id="preparation.height.min"]');
    await row.click();
    await b.page.waitForSelector(".judging:has-text('Least height of the walls: fails')");
    expect(await b.page.inputValue("#judged")).toBe("conforms");
    await b.page.click(".judging button");
    await b.page.waitForSelector(".message.shown:has-text('Say why first.')");
    await b.page.fill("#reason", "bonded");
    await kept(".judging button");
    await b.page.waitForSelector('.row[data-id="preparation.height.min"] .overridden');
    expect(await row.locator(".overridden").innerText()).toMatch(/^judged otherwise: conforms \(AB, .*\d:\d\d\)$/);
    expect(await row.locator(".verdict").innerText()).toBe("fails"); // never hidden
    expect(await row.locator("xpath=..").locator(".more").innerText()).toContain("bonded");
    await entries(4);
  });

  it("confirms the hold point, takes an entry back, and verifies all", async () => {
    await b.page.fill("#confirm-remark", "seen in the mouth");
    await kept(".confirm-hold");
    await entries(5);
    expect(await b.page.locator('.hold[data-hold="preparation"]').innerText()).toContain("confirmed, 2 fail");
    expect(await b.page.locator(".entry").first().innerText()).toMatch(/AB, .*Preparation confirmed: 1 fails, .*1 judged otherwise. seen in the mouth/s);
    await b.page.click("[aria-label='Entry 2 does not hold']");
    await b.page.fill("#why-not", "another cement");
    await kept(".why-not button");
    await entries(6);
    await b.page.waitForSelector(".entry.corrected:has-text('see entry 6')");
    await b.page.waitForSelector(".checked:has-text('Verified: all is as it was kept. Entries: 6; files: 2.')");
    expect(await b.page.locator(".lot:has(#lot-cement) .kept").count()).toBe(0);
    await shot("record");
    await axe(b.page);
    await b.page.emulateMedia({ colorScheme: "dark" });
    await shot("record-dark");
    await axe(b.page);
    await b.page.emulateMedia({ colorScheme: "light" });
  });

  it("names the first entry that is not right when a bit of a kept file has changed", async () => {
    const store = join(b.dir, "store");
    const sum = await b.page.evaluate(async () => ((await (await fetch("/api/cases/1")).json()) as { takes: { role: string; sha256: string }[] }).takes.find((x) => x.role === "opposing")!.sha256);
    const file = (readdirSync(store, { recursive: true }) as string[]).map((f) => join(store, f)).find((f) => statSync(f).isFile() && createHash("sha256").update(readFileSync(f)).digest("hex") === sum)!;
    const was = readFileSync(file);
    const changed = Buffer.from(was);
    changed[200] ^= 1;
    chmodSync(file, 0o600);
    writeFileSync(file, changed);
    await b.page.click(".book-on");
    await b.page.click(".book-on");
    await b.page.waitForSelector(".checked.wrong:has-text('entry 1 of the record is not right: the file of its opposing surface (opposing.stl) was changed')");
    expect(await b.page.locator(".book-line").innerText()).toContain("entry 1 of the record is not right");
    await shot("record-wrong");
    await axe(b.page);
    writeFileSync(file, was);
    await b.page.click(".book-on");
    await b.page.click(".book-on");
    await b.page.waitForSelector(".checked:not(.wrong):has-text('Verified')");
  });

  it("has large text and German, also in the record", async () => {
    await b.page.click(".book-on");
    await b.page.keyboard.press("l");
    await b.page.click("button.settings");
    await b.page.selectOption("#set-language", "de");
    await b.page.keyboard.press("Escape");
    await b.page.waitForSelector("html[lang=de][data-text=large]");
    await b.page.waitForSelector("main[data-ready=view]");
    await b.page.click(".book-on");
    await b.page.waitForSelector(".entry >> nth=5");
    await b.page.waitForSelector(".checked:has-text('Geprüft: alles ist')");
    await shot("record-large");
    await axe(b.page);
    await b.page.setViewportSize({ width: 820, height: 1180 });
    expect(await b.page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);
    await shot("record-narrow");
    await axe(b.page);
    expect(b.complaints).toEqual([]);
  });
});
