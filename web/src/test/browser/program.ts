// The real program on a free port with a store of its own, and a browser.
import { type ChildProcess, execFileSync, spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { type Browser, chromium, type Page } from "playwright-core";
import { expect } from "vitest";

const root = new URL("../../../../", import.meta.url).pathname;
const program = join(root, "bin/crownassay");
export const shots = join(root, "build/screens");

const checks = readFileSync(new URL("../../node_modules/axe-core/axe.min.js", import.meta.url), "utf8");

/** axe runs the checks of WCAG 2.2 AA on the page as it is. The policy keeps injected scripts out, so it goes through the debugger. */
export async function axe(page: Page): Promise<void> {
  await page.evaluate(checks);
  const found = await page.evaluate(async () => {
    const run = (globalThis as unknown as { axe: { run(d: Document, o: object): Promise<{ violations: { id: string; nodes: { html: string; failureSummary: string }[] }[] }> } }).axe;
    return (await run.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"] })).violations.map((v) => `${v.id}: ${v.nodes[0].html} ${v.nodes[0].failureSummary}`);
  });
  expect(found).toEqual([]);
}

export interface Bench {
  url: string;
  dir: string;
  browser: Browser;
  page: Page;
  complaints: string[]; // of the page: errors, what the policy refused
  end(): Promise<void>;
}

/** phantom writes an invented case and returns its folder. */
export function phantom(dir: string, ...flags: string[]): string {
  execFileSync(program, ["phantom", dir, ...flags], { stdio: "pipe" });
  return dir;
}

/** begin starts the program and opens its page. */
export async function begin(): Promise<Bench> {
  mkdirSync(shots, { recursive: true });
  const dir = mkdtempSync(join(tmpdir(), "bench-"));
  const serve = spawn(program, ["serve", "--store", join(dir, "store"), "--listen", "127.0.0.1:0"], { stdio: ["ignore", "pipe", "pipe"] });
  const url = await address(serve);
  const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium", args: ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist"] });
  const page = await browser.newPage({ viewport: { width: 1680, height: 1000 }, locale: "en-GB", reducedMotion: "reduce" });
  const complaints: string[] = [];
  page.on("pageerror", (e) => complaints.push(String(e)));
  page.on("console", (m) => m.type() === "error" && !/404|422|499/.test(m.text()) && complaints.push(m.text()));
  const end = async () => {
    await browser.close();
    serve.kill("SIGTERM");
    await new Promise((ok) => serve.once("exit", ok));
    rmSync(dir, { recursive: true, force: true });
  };
  return { url, dir, browser, page, complaints, end };
}

function address(serve: ChildProcess): Promise<string> {
  return new Promise((ok, no) => {
    let said = "";
    const hear = (b: Buffer) => {
      said += b.toString();
      const m = /http:\/\/[\d.:]+/.exec(said);
      if (m) ok(m[0]);
    };
    serve.stdout!.on("data", hear);
    serve.stderr!.on("data", hear);
    serve.once("exit", (code) => no(new Error(`the program ended with ${code}: ${said}`)));
  });
}
