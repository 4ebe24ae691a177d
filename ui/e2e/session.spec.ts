/** Planning a session together: planned, changed by hand, under way, planned anew, printed. */
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import AxeBuilder from "@axe-core/playwright";
import type { APIRequestContext, Page } from "@playwright/test";
import { addSample, expect, openAs, test, type Bench } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const simulated = join(dirname(fileURLToPath(import.meta.url)), "../../docs/bench-files/simulated.toml");
/** Invented samples with the ranges that are expected of them [°C]. */
const SAMPLES: [string, number, number][] = [
  ["U-1", 113, 114.5],
  ["U-2", 132, 133.5],
  ["U-3", 132.5, 134],
  ["U-4", 94, 95.5],
  ["U-5", 80.5, 82],
  ["U-6", 121, 122.5],
];

function describe(bench: Bench): void {
  mkdirSync(join(bench.folder, "benches"), { recursive: true });
  for (const name of ["North", "South"]) {
    const text = readFileSync(simulated, "utf8").replace(/^name = .*$/m, `name = "${name}"`);
    writeFileSync(join(bench.folder, "benches", `${name}.toml`), text);
  }
}

/** Opens a new session, takes the samples of the book and plans. */
async function planned(page: Page, request: APIRequestContext, bench: Bench): Promise<void> {
  describe(bench);
  for (const [label] of SAMPLES) await addSample(request, bench, label);
  await openAs(page, bench, bench.analyst, "sessions");
  await page.getByLabel("Name of the new session").fill("Evening practical");
  await page.getByRole("button", { name: "Open it" }).click();
  await expect(page.getByLabel("Places: North")).toHaveValue("3");
  await page.getByRole("button", { name: "Choose samples of the book" }).click();
  const dialog = page.getByRole("dialog");
  for (const [label] of SAMPLES) await dialog.getByLabel(label).check();
  await dialog.getByRole("button", { name: "Take 6 samples" }).click();
  await expect(page.getByText("6 samples without an expected range")).toBeVisible();
  for (const [label, first, last] of SAMPLES) {
    await page.getByLabel(`First liquid, °C: ${label}`).fill(String(first));
    await page.getByLabel(`Last crystal, °C: ${label}`).fill(String(last));
  }
  await page.getByRole("button", { name: "Plan", exact: true }).click();
  await expect(page.getByText("Every sample is finished in time.")).toBeVisible();
}

const load = (page: Page, bench: number, at: number) => page.locator(`[data-load="${bench}-${at}"]`);
const label = async (page: Page, bench: number, at: number) => (await load(page, bench, at).getAttribute("aria-label")) ?? "";
/** What stands in a load, without its number and times. */
const tubes = async (page: Page, bench: number, at: number) => (await label(page, bench, at)).replace(/^.*?: (.*); set in.*$/, "$1");

test("a load is moved by keyboard and by mouse, locked, begun; the rest is planned anew", async ({ page, request, empty, browser }) => {
  await planned(page, request, empty);
  const loads = await page.locator("[data-load]").count();
  expect(loads).toBeGreaterThan(3);

  // By keyboard: later on its bench, and taken back.
  const first = await tubes(page, 0, 0);
  await load(page, 0, 0).focus();
  await page.keyboard.press("ArrowRight");
  await expect.poll(() => tubes(page, 0, 1)).toBe(first);
  await expect(load(page, 0, 1)).toBeFocused();
  await expect(page.getByText(/^Moved\. Load/)).toBeVisible();
  await page.keyboard.press("Control+z");
  await expect.poll(() => tubes(page, 0, 0)).toBe(first);

  // To the other bench.
  await load(page, 0, 0).focus();
  await page.keyboard.press("ArrowDown");
  await expect.poll(async () => (await tubes(page, 1, 0)) === first || (await tubes(page, 1, 1)) === first).toBe(true);
  await page.keyboard.press("Control+z");
  await expect.poll(() => tubes(page, 0, 0)).toBe(first);

  // By mouse: the first load of one bench to the end of the other.
  const wall = await page.locator("svg[role=group]").boundingBox();
  const from = await load(page, 0, 0).locator(".number").boundingBox();
  const row = await load(page, 1, 0).locator(".body").boundingBox();
  if (!wall || !from || !row) throw new Error("nothing is drawn");
  const last = await page.locator('[data-load^="1-"]').count();
  await page.mouse.move(from.x + 5, from.y + 8);
  await page.mouse.down();
  await page.mouse.move(from.x + 200, row.y + 20, { steps: 4 });
  await page.mouse.move(wall.x + wall.width * 0.8, row.y + 30, { steps: 4 });
  await page.mouse.up();
  await expect.poll(() => tubes(page, 1, last)).toBe(first);
  await page.getByRole("button", { name: "Undo" }).click();
  await expect.poll(() => tubes(page, 0, 0)).toBe(first);

  // A tube onto free space: a load of its own.
  const chip = load(page, 0, 0).locator(".tube").first();
  const tube = await chip.boundingBox();
  if (!tube) throw new Error("no tube is drawn");
  await page.mouse.move(tube.x + 15, tube.y + 10);
  await page.mouse.down();
  await page.mouse.move(tube.x + 60, row.y + 10, { steps: 4 });
  await page.mouse.move(wall.x + wall.width * 0.8, row.y + 30, { steps: 4 });
  await page.mouse.up();
  await expect.poll(() => tubes(page, 1, last)).toBe(first.split("; ")[0]);
  await expect(page.locator("[data-load]")).toHaveCount(loads + 1);
  await page.getByRole("button", { name: "Undo" }).click();
  await expect(page.locator("[data-load]")).toHaveCount(loads);

  // A tube into a load that has its sample: the fault is named, at the load too.
  const [sample = ""] = first.split(", tube");
  const twin = await page.locator("[data-load]").evaluateAll(
    (all, name) => all.findIndex((one, i) => i > 0 && (one.getAttribute("aria-label") ?? "").includes(`${name}, tube`)),
    sample,
  );
  const target = (await page.locator("[data-load]").nth(twin).getAttribute("data-load")) ?? "";
  await load(page, 0, 0).focus();
  await page.keyboard.press("Enter");
  await page.getByLabel(new RegExp(`^Move ${sample}, tube`)).selectOption(target);
  await expect(page.getByRole("alert").filter({ hasText: "What stands against this plan" })).toContainText(sample);
  await expect(page.locator(".load.faulty")).not.toHaveCount(0);
  await expect(page.locator(".load.faulty .alarm-sign").first()).toHaveText("!");
  await page.getByRole("button", { name: "Undo" }).click();
  await expect(page.locator(".load.faulty")).toHaveCount(0);

  // Locked, and a locked load does not move.
  await load(page, 1, 0).focus();
  await page.keyboard.press("l");
  await expect(load(page, 1, 0)).toHaveAttribute("aria-label", /; locked/);
  await page.keyboard.press("ArrowRight");
  await expect(page.getByText("This load is locked: unlock it first (L).")).toBeVisible();
  const held = await tubes(page, 1, 0);

  // Begun at minute 4, ended at minute 40; the rest is planned anew from minute 41.
  await page.getByLabel("Now, min from the start").fill("4");
  await page.getByLabel("Now, min from the start").press("Enter");
  await load(page, 0, 0).focus();
  await page.keyboard.press("Enter");
  await page.getByRole("button", { name: "Set in now" }).click();
  await expect(load(page, 0, 0)).toHaveAttribute("aria-label", /set in at 4 min.*under way/);
  await page.getByLabel("Now, min from the start").fill("40");
  await page.getByLabel("Now, min from the start").press("Enter");
  await page.getByRole("button", { name: "Ended now" }).click();
  await expect(load(page, 0, 0)).toHaveAttribute("aria-label", /done at 40 min; ended/);
  await page.getByLabel("Now, min from the start").fill("41");
  await page.getByLabel("Now, min from the start").press("Enter");
  await page.getByRole("button", { name: "Plan the rest anew" }).click();
  await expect(page.getByText("Planned.", { exact: true })).toBeVisible();
  expect(await tubes(page, 0, 0)).toBe(first);
  expect(await label(page, 0, 0)).toContain("ended");
  expect(await tubes(page, 1, 0)).toBe(held);
  expect(await label(page, 1, 0)).toContain("locked");
  for (const one of await page.locator("[data-load]").evaluateAll((all) => all.map((node) => node.getAttribute("aria-label") ?? ""))) {
    const at = Number(/set in at (\d+) min/.exec(one)?.[1]);
    expect(one.includes("ended") || at >= 41, one).toBe(true);
  }

  // Another device sees the same plan.
  await expect(page.getByText(/kept, revision \d+, by M\. Fink/)).toBeVisible();
  const other = await (await browser.newContext({ viewport: { width: 820, height: 1180 } })).newPage();
  await openAs(other, empty, empty.supervisor, "sessions");
  await other.getByRole("link", { name: "Evening practical" }).click();
  await expect(load(other, 0, 0)).toHaveAttribute("aria-label", await label(page, 0, 0));
  await other.context().close();
});

test("it does not fit: what is finished in time, and the order is written and read as a file", async ({ page, request, empty }) => {
  await planned(page, request, empty);
  await page.getByText("What is to be done").click();
  await page.getByLabel("Length, min").fill("30");
  await expect(page.getByText("does not fit", { exact: false }).first()).toBeVisible();
  await page.getByRole("button", { name: "Plan", exact: true }).click();
  await expect(page.getByText(/Not finished in time: U-/)).toBeVisible();
  await page.getByRole("button", { name: /^Take the plan that finishes most samples in time \(\d+ of \d+\)$/ }).click();
  await expect(page.getByText("What stands against this plan")).toBeVisible();

  await page.getByText("Read a session file · Write a session file").click();
  const download = page.waitForEvent("download");
  await page.getByRole("button", { name: "Write a session file" }).click();
  const path = await (await download).path();
  const text = readFileSync(path, "utf8");
  expect(text).toContain("length_min = 30.0");
  expect(text.match(/\[\[sample\]\]/g)).toHaveLength(6);
  const changed = text.replace("length_min = 30.0", "length_min = 200.0");
  await page.getByLabel("Read a session file").setInputFiles({ name: "s.toml", mimeType: "application/toml", buffer: Buffer.from(changed) });
  await expect(page.getByLabel("Length, min")).toHaveValue("200");
  await page.getByLabel("Read a session file").setInputFiles({ name: "s.toml", mimeType: "application/toml", buffer: Buffer.from("length = 3") });
  await expect(page.getByText(/line 1: unknown field/)).toBeVisible();
});

test("why the plan is as it is, and what would help", async ({ page, request, empty }) => {
  await planned(page, request, empty);
  await expect(page.getByText("What it hangs on:")).toBeVisible();
  await page.getByText("Why these tubes share a load").click();
  await expect(page.getByText(/they would take \d+\.\d min longer/).first()).toBeVisible();
  await page.getByRole("button", { name: "What would one more save?" }).click();
  await expect(page.getByText(/^one more bench like .*: done after \d+\.\d min, \d+\.\d min sooner/)).toBeVisible();

  const done = Number(/All done after (\d+)/.exec((await page.locator("strong.done").textContent()) ?? "")?.[1]);
  await page.getByText("What is to be done").click();
  await page.getByLabel("Length, min").fill(String(done - 5));
  await expect(page.getByText("does not fit").first()).toBeVisible();
  await page.getByRole("button", { name: "What could give?" }).click();
  const offer = page.getByRole("listitem").filter({ hasText: "then it fits" }).first();
  await expect(offer).toContainText("Price:");
  await offer.getByRole("button", { name: "Take this" }).click();
  await expect(page.getByText("Every sample is finished in time.")).toBeVisible();
  await expect(page.getByText("does not fit")).toHaveCount(0);
  await page.getByRole("button", { name: "Undo" }).click();
  await expect(page.getByText("does not fit").first()).toBeVisible();
  await expect(page.getByLabel("Length, min")).toHaveValue(String(done - 5));
});

test("the sheet for the wall, and a load taken to its bench", async ({ page, request, empty }) => {
  await planned(page, request, empty);
  await load(page, 0, 0).focus();
  const first = await tubes(page, 0, 0);
  const names = first.split("; ").map((one) => one.replace(/, tube.*/, ""));
  await page.getByRole("link", { name: "Sheet for the wall" }).click();
  await expect(page.getByRole("heading", { name: "North" })).toBeVisible();
  await expect(page.getByText("Unknown powders")).toBeVisible();
  await expect(page.getByText("the responsible person come before anything")).toBeVisible();
  const north = page.getByRole("table").first();
  for (const name of names) await expect(north).toContainText(`${name} · `);
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  await expect(page.getByRole("button", { name: "Print" })).toBeHidden();
  await expect(page.getByRole("navigation")).toBeHidden();
  const paper = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
  // Ink is not spent on a ground: print.css.
  expect(paper).toBe("rgb(255, 255, 255)");
  await page.emulateMedia({ media: "screen" });
  await page.getByRole("link", { name: "Back to the plan" }).click();

  await load(page, 0, 0).focus();
  await page.keyboard.press("Enter");
  await page.getByRole("link", { name: "Use at North" }).click();
  await page.getByRole("button", { name: "Set the bench to work" }).click();
  await expect(page.getByText(/From session “Evening practical”, load \d+\./)).toBeVisible();
  await expect(page.getByLabel("Place 1")).toHaveValue(names[0] ?? "");
  await expect(page.getByText(/min to the end of the scan/)).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing, targets are large, nothing runs out of the page, ${scheme}`, async ({ page, request, empty }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await planned(page, request, empty);
    await load(page, 0, 0).focus();
    await page.keyboard.press("Enter");
    await page.getByText("What is to be done").click();
    for (const size of [
      { width: 1440, height: 900 },
      { width: 820, height: 1180 },
    ]) {
      await page.setViewportSize(size);
      const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
      expect(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).slice(0, 3).join("\n")}`)).toEqual([]);
      expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);
      const small = await page.locator("main button:visible, main a.button:visible, main select:visible, main summary:visible").evaluateAll((all) =>
        all
          .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent?.trim() ?? "" }))
          .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
          .map(({ box, text }) => `${text} ${box.width.toFixed(0)} × ${box.height.toFixed(0)}`),
      );
      expect(small).toEqual([]);
    }
    for (const room of ["sessions", "sessions/Evening practical?sheet=1"]) {
      await openAs(page, empty, empty.analyst, room);
      await expect(page.locator("main").getByText(room === "sessions" ? "2 benches" : "Unknown powders")).toBeVisible();
      const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
      expect(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).slice(0, 3).join("\n")}`), room).toEqual([]);
    }
  });
}
