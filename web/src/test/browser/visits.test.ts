// The page of visits in a browser against the real program.
import { join } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { axe, begin, type Bench, shots } from "./program";

let b: Bench;
beforeAll(async () => {
  b = await begin();
  await b.page.goto(`${b.url}/#/visits`);
  await b.page.waitForSelector("main[data-ready=visits]");
});
afterAll(async () => {
  await b?.end();
});

const shot = (name: string) => b.page.screenshot({ path: join(shots, `${name}.png`), fullPage: true });
afterEach(async (c) => {
  if (c.task.result?.state === "fail") await shot("failed-visits");
});
const card = (chair: number) => b.page.locator(`.visit-card[aria-label="Chair ${chair}"]`);
/** settle waits until a tap would no longer be taken for a bounce of the pedal. */
const settle = () => b.page.waitForTimeout(1100);

describe("visits", () => {
  it("begins one on a free chair, and says when it will be ready", async () => {
    await shot("visits-empty");
    await axe(b.page);
    await card(1).locator("select >> nth=1").selectOption("zirconia-3y");
    await card(1).locator(".visit-begin").click();
    await card(1).locator(".visit-stage:has-text('Anaesthesia')").waitFor();
    expect(await card(1).locator(".visit-ready").innerText()).toMatch(/^Ready by \d\d:\d\d with 90 %\. As likely as not by \d\d:\d\d\.$/);
    expect(await card(1).locator(".visit-next").innerText()).toBe("Next: Anaesthesia takes effect");
    // a button for gloves: WCAG 2.2, 2.5.5 asks for 44 pixels
    expect((await card(1).locator(".visit-next").boundingBox())!.height).toBeGreaterThan(88);
  });

  it("goes on by a pedal, once a press, and takes it back", async () => {
    await b.page.keyboard.press("PageDown");
    await b.page.keyboard.press("PageDown"); // a bounce
    await card(1).locator(".visit-stage:has-text('takes effect')").waitFor();
    await settle();
    await b.page.keyboard.press(" ");
    await card(1).locator(".visit-stage:has-text('Old restoration off')").waitFor();
    await b.page.keyboard.press("u");
    await card(1).locator(".visit-stage:has-text('takes effect')").waitFor();
    expect(await card(1).locator(".visit-bar.coming").count()).toBeGreaterThan(9);
  });

  it("keeps what is being typed on a free chair while another one is tapped", async () => {
    await card(2).locator("input").fill("CD");
    await settle();
    await card(1).locator(".visit-next").click();
    await card(1).locator(".visit-stage:has-text('Old restoration off')").waitFor();
    expect(await card(2).locator("input").inputValue()).toBe("CD");
    await card(2).locator("input").fill("");
    await card(2).locator("select >> nth=1").selectOption("lithium-disilicate");
    await card(2).locator(".visit-begin").click();
    await card(2).locator(".visit-stage:has-text('Anaesthesia')").waitFor();
    await b.page.waitForSelector(".visit-waits:has-text('Where two want the same')");
    expect(await b.page.locator(".visit-waits li").first().innerText()).toMatch(/^(Chair \d waits for|2 visits hold the dentist)/);
    await axe(b.page);
  });

  it("says what going back costs, and goes back", async () => {
    await settle();
    await b.page.keyboard.press("1");
    for (const stage of ["Preparation", "Retraction", "Optical", "Margin"]) {
      await settle();
      await b.page.keyboard.press(" ");
      await card(1).locator(`.visit-stage:has-text('${stage}')`).waitFor();
    }
    await card(1).locator(".visit-back-on").click();
    const more = card(1).locator('[data-back="more-reduction"]');
    expect(await more.innerText()).toMatch(/^More reduction: \d.* later, with 90 % at most \d/);
    await shot("visits-two");
    await settle();
    await more.click();
    await card(1).locator(".visit-stage:has-text('Preparation refined')").waitFor();
  });

  it("says how long to book, more for a surer promise", async () => {
    const minutes = async (p: string) => {
      await b.page.selectOption("#book-sure", p);
      await b.page.waitForSelector(".visit-answer:not(.asking) .visit-book-minutes");
      const m = /^Book (?:(\d+) h )?(\d+) min/.exec(await b.page.locator(".visit-book-minutes").innerText())!;
      return 60 * Number(m[1] ?? 0) + Number(m[2]);
    };
    await b.page.selectOption("#book-beside", "alone");
    const [a, c] = [await minutes("0.8"), await minutes("0.95")];
    expect(a).toBeLessThan(c);
    expect(a % 5).toBe(0);
  });

  it("is said in German, in the dark", async () => {
    await b.page.evaluate(async () => {
      const s = (await (await fetch("/api/settings")).json()) as Record<string, string>;
      await fetch("/api/settings", { method: "PUT", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ ...s, language: "de", scheme: "dark" }) });
    });
    await b.page.reload();
    await b.page.waitForSelector("main[data-ready=visits] .visit-ready:has-text('Fertig bis')");
    await b.page.waitForSelector(".visit-book-minutes");
    await shot("visits-de-dark");
    await axe(b.page);
    await b.page.setViewportSize({ width: 1280, height: 800 });
    await b.page.waitForTimeout(300);
    await shot("visits-small");
    expect(await b.page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
    expect(b.complaints).toEqual([]);
  });
});
