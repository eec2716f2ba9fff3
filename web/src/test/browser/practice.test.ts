// Outcomes, contacts and survival in a browser against the real program.
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { axe, begin, type Bench, shots } from "./program";

let b: Bench;
beforeAll(async () => {
  b = await begin();
  await fetch(`${b.url}/api/settings`, { method: "PUT", headers: { "content-type": "application/json" }, body: JSON.stringify({ ...((await (await fetch(`${b.url}/api/settings`)).json()) as object), operator: "AB" }) });
});
afterAll(async () => {
  await b?.end();
});

const shot = (name: string) => b.page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
afterEach(async (c) => {
  if (c.task.result?.state === "fail") await shot("failed-practice");
});

const open = async (page: string) => {
  await b.page.goto(`${b.url}/#/${page}`);
  await b.page.waitForSelector(`main[data-ready=${page}]`);
};

/** table is a practice whose contacts are right from 0 to 40 um of overlap, one crown a week; each is seen again after 400 days. */
function table(n: number): string {
  const rows = ["event,date,patient,tooth,material,mesial,mesial_designed_mm,seating,occlusion,end"];
  const day = (d: number) => new Date(Date.UTC(2024, 0, 1 + d)).toISOString().slice(0, 10);
  for (let i = 0; i < n; i++) {
    const um = ((i * 37) % 91) - 20;
    const felt = um < -5 ? "open" : um < 5 ? "light" : um < 40 ? "right" : "heavy";
    rows.push(`try-in,${day(7 * i)},Q${i},46,zirconia-3y,${felt},${(-um / 1000).toFixed(3)},full,even,`);
    rows.push(`recall,${day(7 * i + 400)},Q${i},46,,,,,,${i === 3 ? "fracture" : ""}`);
  }
  return rows.join("\n");
}

describe("the practice", () => {
  it("says that there is nothing yet", async () => {
    for (const p of ["outcomes", "contacts", "survival"]) {
      await open(p);
      expect(await b.page.locator(".sentence").innerText()).toMatch(/^No (crown|contact) is on record yet/);
      await axe(b.page);
    }
  });

  it("names the line and the column of a table that it cannot read", async () => {
    await open("outcomes");
    await b.page.setInputFiles('.importer input[type="file"]', { name: "earlier.csv", mimeType: "text/csv", buffer: Buffer.from("event,date,patient,tooth\ntry-in,2024-01-01,Q1,99\n") });
    await b.page.waitForSelector(".message.shown:has-text('earlier.csv, line 2')");
    expect(await b.page.locator(".message").innerText()).toContain("column tooth");
  });

  it("takes earlier crowns from a table and counts them", async () => {
    await b.page.setInputFiles('.importer input[type="file"]', { name: "earlier.csv", mimeType: "text/csv", buffer: Buffer.from(table(80)) });
    await b.page.waitForSelector(".message.shown:has-text('Cases made: 80')");
    await b.page.waitForSelector(".outcomes-page .table");
    expect(await b.page.locator(".outcomes-page .table tbody tr").count()).toBe(40);
    await b.page.click("text=Show all 80");
    await expect.poll(() => b.page.locator(".outcomes-page .table tbody tr").count()).toBe(80);
    await axe(b.page);
    await shot("outcomes");
  });

  it("says which contact needs no adjusting, by one's own losses", async () => {
    await open("contacts");
    const best = async () => Number(/with (\d+) micrometres/.exec(await b.page.locator(".sentence").innerText())?.[1]);
    const first = await best();
    expect(first).toBeGreaterThan(5); // right from 5 to 40 um
    expect(first).toBeLessThan(40);
    await axe(b.page);
    await shot("contacts");
    await b.page.fill("#cost-heavy", "60"); // heavy contacts are to be kept away from
    await b.page.press("#cost-heavy", "Tab");
    await expect.poll(best).toBeLessThan(first);
    await b.page.fill("#cost-right", "99");
    await b.page.press("#cost-right", "Tab");
    await b.page.waitForSelector(".message.shown:has-text('cannot cost more')");
  });

  it("says how long crowns last, with those at risk", async () => {
    await open("survival");
    // One of 80 is lost, found when all others were seen for the last time: 400 days.
    expect(await b.page.locator(".sentence").innerText()).toMatch(/after a year .*one of 80 crowns came out of use/);
    expect(await b.page.locator(".risk tbody tr >> nth=0").innerText()).toMatch(/80\s+80/);
    await b.page.selectOption("#survival-by", "said");
    await b.page.waitForSelector("td:has-text('not known')");
    await axe(b.page);
    await shot("survival");
  });

  it("keeps a try-in and a recall in seconds, and has them in the record", async () => {
    await b.page.goto(`${b.url}/#/case/7`);
    await b.page.click(".found-on");
    await b.page.click(".try-in .choice >> nth=0 >> .chip[data-value=heavy]");
    await b.page.fill("#removed-mesial", "30");
    await b.page.click(".try-in .chip[data-value=after-adjusting]");
    await b.page.click(".try-in button[type=submit]");
    await b.page.waitForSelector(".message.shown:has-text('Kept in the record')");
    await b.page.click(".recall .choice >> nth=0 >> .chip[data-value=yes]");
    await b.page.fill("#probing", "4");
    await axe(b.page);
    await shot("found");
    await b.page.click(".recall button[type=submit]");
    await b.page.click(".book-on");
    await b.page.waitForSelector(".entry-what:has-text('Bleeding on probing: yes')");
    const { entries } = (await (await fetch(`${b.url}/api/cases/7/entries`)).json()) as { entries: { kind: string; entry: { try_in?: { contacts: object[] }; recall?: object } }[] };
    expect(entries.slice(-2).map((e) => e.kind)).toEqual(["try-in", "recall"]);
    expect(entries.at(-2)!.entry.try_in!.contacts).toEqual([{ side: "mesial", felt: "heavy", removed: 0.03, designed: null, setting: null }]);
    await shot("found-record");
  });

  it("finds a case by what is known of it", async () => {
    await b.page.goto(`${b.url}/#/`);
    await b.page.waitForSelector("main[data-ready=cases]");
    expect(await b.page.locator(".case-row").count()).toBe(30);
    await b.page.fill("#find-case", "q17 molar");
    await expect.poll(() => b.page.locator(".case-row").count()).toBe(1);
    expect(await b.page.locator(".case-row").innerText()).toContain("Q17");
  });

  it("is said in German", async () => {
    await fetch(`${b.url}/api/settings`, { method: "PUT", headers: { "content-type": "application/json" }, body: JSON.stringify({ ...((await (await fetch(`${b.url}/api/settings`)).json()) as object), language: "de" }) });
    for (const p of ["outcomes", "contacts", "survival"]) {
      await b.page.goto("about:blank");
      await open(p);
      await shot(`${p}-de`);
      await b.page.evaluate(() => document.querySelectorAll("main [lang=en]").forEach((e) => e.remove())); // sources are quoted as they are
      expect(await b.page.locator("main").innerText()).not.toMatch(/\b(the|of|with|and)\b/);
    }
    expect(b.complaints).toEqual([]);
  });
});
