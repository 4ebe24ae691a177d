/** A browser as the camera of a bench: a film in which every picture bears its number plays as the camera, and what
 * arrives at the bench is held against it. */
import { spawn, type ChildProcess } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { createServer, connect, type AddressInfo, type Server, type Socket } from "node:net";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import AxeBuilder from "@axe-core/playwright";
import { chromium, expect, test as base, type Browser, type Page } from "@playwright/test";
import { film, following, numbers, RATE, scatter } from "./numbered_film";

const root = join(dirname(fileURLToPath(import.meta.url)), "../..");
interface News {
  kind: "picture" | "lost" | "found" | "doubt";
  time_s: number;
  file?: string;
  what?: string;
  why?: string;
}

/** A wire between browser and program that can be cut. */
class Wire {
  #pairs = new Set<[Socket, Socket]>();
  #isCut = false;
  readonly server: Server;
  constructor(readonly port: number) {
    this.server = createServer((here) => {
      if (this.#isCut) {
        here.destroy();
        return;
      }
      const there = connect(this.port, "127.0.0.1");
      const pair: [Socket, Socket] = [here, there];
      this.#pairs.add(pair);
      here.pipe(there);
      there.pipe(here);
      for (const end of pair) {
        end.on("error", () => {});
        end.on("close", () => {
          this.#pairs.delete(pair);
          for (const one of pair) one.destroy();
        });
      }
    });
  }
  async open(): Promise<string> {
    await new Promise<void>((resolve) => this.server.listen(0, "127.0.0.1", resolve));
    return `http://127.0.0.1:${(this.server.address() as AddressInfo).port}/`;
  }
  /** No byte passes any more; neither side is told. */
  hang(): void {
    this.#isCut = true;
    for (const [here, there] of this.#pairs) {
      here.unpipe(there);
      there.unpipe(here);
      here.pause();
      there.pause();
    }
  }
  mend(): void {
    for (const pair of this.#pairs) for (const end of pair) end.destroy();
    this.#isCut = false;
  }
  close(): void {
    this.mend();
    this.server.close();
  }
}

interface Sink {
  out: string;
  wire: Wire;
  address: string;
  page: Page;
  news(): News[];
}

const test = base.extend<{ sink: Sink }, { moving: string }>({
  moving: [
    async ({}, use) => {
      const folder = mkdtempSync(join(tmpdir(), "meltrange-camera-"));
      const path = join(folder, "numbers.y4m");
      film(path);
      await use(path);
      rmSync(folder, { recursive: true });
    },
    { scope: "worker", timeout: 60_000 },
  ],
  sink: async ({ moving }, use) => {
    const folder = mkdtempSync(join(tmpdir(), "meltrange-camera-"));
    const out = join(folder, "out");
    const child = spawn(sinkProgram(), [join(folder, "book"), out], { stdio: ["ignore", "pipe", "inherit"] });
    const port = await firstPort(child);
    const wire = new Wire(port);
    const address = await wire.open();
    let browser: Browser | undefined;
    try {
      browser = await chromium.launch({
        executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium",
        args: [
          "--no-sandbox",
          "--use-fake-ui-for-media-stream",
          "--use-fake-device-for-media-stream",
          `--use-file-for-fake-video-capture=${moving}`,
        ],
      });
      const page = await (await browser.newContext()).newPage();
      const news = () =>
        readFileSync(join(out, "news.jsonl"), "utf8")
          .split("\n")
          .filter((line) => line)
          .map((line) => JSON.parse(line) as News);
      await use({ out, wire, address, page, news });
    } finally {
      await browser?.close();
      wire.close();
      const ended = new Promise((resolve) => child.once("exit", resolve));
      child.kill("SIGINT");
      await ended;
      rmSync(folder, { recursive: true });
    }
  },
});

function sinkProgram(): string {
  const built = ["release", "debug"].map((kind) => join(root, "target", kind, "examples/camera_sink")).filter((path) => existsSync(path));
  const newest = built.sort((a, b) => statSync(b).mtimeMs - statSync(a).mtimeMs)[0];
  if (!newest) throw new Error("no camera_sink; build it with: cargo build -p meltrange-server --example camera_sink");
  return newest;
}

async function firstPort(child: ChildProcess): Promise<number> {
  return new Promise((resolve, reject) => {
    let said = "";
    child.stdout?.on("data", (data: Buffer) => {
      said += data.toString();
      const found = /http:\/\/127\.0\.0\.1:(\d+)\//.exec(said);
      if (found) resolve(Number(found[1]));
    });
    child.once("exit", (code) => reject(new Error(`camera_sink ended with ${code}: ${said}`)));
  });
}

async function show(page: Page, address: string): Promise<void> {
  await page.goto(`${address}#/camera/North`);
  // More than the film has: every picture is taken.
  await page.getByLabel("Pictures a second").selectOption("10");
  await page.getByRole("button", { name: "Start showing" }).click();
  await expect(page.getByRole("status").getByText("Showing", { exact: true })).toBeVisible();
}

async function figure(page: Page, name: "captured" | "acknowledged" | "waiting"): Promise<number> {
  return Number(await page.locator("dl[data-captured]").getAttribute(`data-${name}`));
}

/** Stops showing and waits until everything is at the bench; how many pictures were captured. */
async function finish(page: Page): Promise<number> {
  await page.getByRole("button", { name: "Stop" }).click();
  await expect(page.getByText("Not showing")).toBeVisible({ timeout: 30_000 });
  expect(await figure(page, "waiting")).toBe(0);
  return figure(page, "captured");
}

/** When the pictures were taken [s]. */
function timesOf(news: News[]): number[] {
  return news.filter((one) => one.kind === "picture").map((one) => one.time_s);
}

test("what the camera sees arrives, each picture once and with its time", async ({ sink }, info) => {
  await show(sink.page, sink.address);
  await sink.page.waitForTimeout(20_000);
  const captured = await finish(sink.page);
  const found = await numbers(sink.out);
  expect(found.length).toBe(captured);
  expect(captured).toBeGreaterThan(18 * RATE);
  // A machine that is busy may pass over a picture before the page sees it; the page itself loses none.
  following(found, 2);
  const line = scatter(found, timesOf(sink.news()));
  info.annotations.push({ type: "measured", description: JSON.stringify({ captured, ...line }) });
  console.log(info.title, { captured, ...line });
  expect(Math.abs(line.spacing_s - 1 / RATE)).toBeLessThan(0.002);
  expect(line.rms_s).toBeLessThan(0.03);
});

test("half a minute without the network costs no picture, and a clock that is set changes no time", async ({ sink }, info) => {
  test.setTimeout(180_000);
  await show(sink.page, sink.address);
  await sink.page.waitForTimeout(8_000);
  sink.wire.hang();
  await expect(sink.page.getByText("Connection lost")).toBeVisible({ timeout: 15_000 });
  await sink.page.waitForTimeout(26_000);
  expect(await figure(sink.page, "waiting")).toBeGreaterThan(30 * RATE);
  // The device's clock is set by seven minutes while the network is away.
  await sink.page.evaluate(() => {
    const now = Date.now.bind(Date);
    Date.now = () => now() + 7 * 60_000;
  });
  sink.wire.mend();
  await expect(sink.page.getByRole("status").getByText("Showing", { exact: true })).toBeVisible({ timeout: 20_000 });
  await sink.page.waitForTimeout(8_000);
  const captured = await finish(sink.page);
  const found = await numbers(sink.out);
  const news = sink.news();
  expect(found.length, "all that were captured").toBe(captured);
  expect(captured).toBeGreaterThan(46 * RATE);
  following(found, 3);
  const line = scatter(found, timesOf(news));
  info.annotations.push({ type: "measured", description: JSON.stringify({ captured, ...line }) });
  console.log(info.title, { captured, ...line, news: news.filter((one) => one.kind !== "picture") });
  expect(Math.abs(line.spacing_s - 1 / RATE)).toBeLessThan(0.002);
  expect(line.rms_s).toBeLessThan(0.03);
  const kinds = news.filter((one) => one.kind === "lost" || one.kind === "found").map((one) => one.kind);
  expect(kinds.slice(0, 2)).toEqual(["lost", "found"]);
  const doubts = news.filter((one) => one.kind === "doubt").map((one) => one.what);
  expect(doubts.join("\n")).toContain("was set by +420.0 s");
});

test("a second device is told that one shows, and can take over", async ({ sink }) => {
  await show(sink.page, sink.address);
  const other = await sink.page.context().browser()!.newPage();
  await other.goto(`${sink.address}#/camera/North`);
  await other.getByRole("button", { name: "Start showing" }).click();
  await expect(other.getByText("another camera shows at this bench")).toBeVisible();
  await other.getByRole("button", { name: "Show with this camera instead" }).click();
  await expect(other.getByRole("status").getByText("Showing", { exact: true })).toBeVisible();
  await expect(sink.page.getByText("has taken over")).toBeVisible();
});

test("a phone comes in by its pass over TLS, once, and shows", async ({ sink }) => {
  await sink.page.goto(`${sink.address}#/camera/North`);
  await sink.page.getByText("Use a phone instead").click();
  await sink.page.getByRole("button", { name: "Make a pass for a phone" }).click();
  const url = new URL((await sink.page.locator(".url").textContent()) ?? "");
  await expect(sink.page.locator(".print")).toHaveText(/^([0-9A-F]{2}:){31}[0-9A-F]{2}$/);
  url.hostname = "127.0.0.1";
  // The person has compared the fingerprint and goes on past the warning.
  const phone = await sink.page.context().browser()!.newContext({ ignoreHTTPSErrors: true, viewport: { width: 390, height: 844 } });
  const page = await phone.newPage();
  await page.goto(url.href);
  await page.getByRole("button", { name: "Start showing" }).click();
  await expect(page.getByRole("status").getByText("Showing", { exact: true })).toBeVisible();
  await expect.poll(() => sink.news().filter((one) => one.kind === "picture").length).toBeGreaterThan(3);
  expect(page.url()).not.toContain("code=");
  // A reload lives by the cookie; the code itself is spent.
  await finish(page);
  await page.reload();
  await expect(page.getByRole("button", { name: "Start showing" })).toBeEnabled();
  const late = await (await sink.page.context().browser()!.newContext({ ignoreHTTPSErrors: true })).newPage();
  await late.goto(url.href);
  await expect(late.getByText("the code was used already")).toBeVisible();
  const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  expect(over).toBeLessThanOrEqual(0);
});

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing on the camera page, ${scheme}`, async ({ sink }) => {
    await sink.page.emulateMedia({ colorScheme: scheme });
    await show(sink.page, sink.address);
    await sink.page.getByText("Use a phone instead").click();
    await sink.page.getByRole("button", { name: "Make a pass for a phone" }).click();
    await expect(sink.page.locator(".print")).toBeVisible();
    const tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    const found = await new AxeBuilder({ page: sink.page }).withTags(tags).analyze();
    expect(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join("\n")}`)).toEqual([]);
  });
}
