/** Work at a simulated bench, from the page. */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import AxeBuilder from "@axe-core/playwright";
import type { Locator, Page } from "@playwright/test";
import { addSample, expect, openAs, test, type Bench } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
/** Where the simulated tubes melt [°C]: the truth that runs and readings are held against. */
const MELTS_AT_C = 122.4;

function describe(bench: Bench): void {
  mkdirSync(join(bench.folder, "benches"), { recursive: true });
  const tube = `[[camera.scene.tube]]\nmelts_at_c = ${MELTS_AT_C}\n`;
  writeFileSync(
    join(bench.folder, "benches", "practice.toml"),
    `name = "Practice bench"
places = 3
room_c = 22.0
max_c = 300.0
[thermometer]
kind = "simulated"
[heater]
kind = "simulated"
[camera]
kind = "simulated"
frames_per_s = 1.0
[camera.scene]
seed = 11
${tube}${tube}${tube}`,
  );
}

/** Goes on with Tab until something has the focus. */
async function tabTo(page: Page, wanted: Locator): Promise<void> {
  await expect(wanted).toBeVisible();
  for (let i = 0; i < 90; i += 1) {
    if (await wanted.evaluate((one) => one === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard does not reach ${wanted}`);
}

async function axeFindsNothing(page: Page, where: string): Promise<void> {
  const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
  const faults = found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2).join("\n")}`);
  expect(faults, where).toEqual([]);
}

/** Sits down at the practice bench and sets it to work, by keyboard. */
async function sitDown(page: Page, bench: Bench, speed: 1 | 20): Promise<void> {
  describe(bench);
  await openAs(page, bench, bench.analyst, "benches");
  await tabTo(page, page.getByRole("link", { name: "Sit down at Practice bench" }));
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { name: "Practice bench" })).toBeVisible();
  await tabTo(page, page.getByLabel("Speed of the simulated bench"));
  await page.keyboard.type(String(speed));
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { name: "Programme" })).toBeVisible();
  await expect(page.getByRole("img", { name: /Live picture/ })).toBeVisible();
}

/** Where temperature, leg and phase stand. */
const gauge = (page: Page) => page.getByRole("region", { name: "Block" });

async function planScouting(page: Page, upTo_c: number): Promise<void> {
  await tabTo(page, page.getByRole("radio", { name: /Measuring run/ }));
  await page.keyboard.press("ArrowRight");
  await tabTo(page, page.getByLabel("Heat up to"));
  await page.keyboard.type(String(upTo_c));
  await expect(page.getByText(/min to the end of the scan/)).toBeVisible();
}

/** Stops the run as a person does: reads the question, then answers it. */
async function stopForGood(page: Page): Promise<void> {
  const asked = page.getByText("Stop the run for good?");
  const over = page.getByRole("heading", { name: "The run is over" });
  await page.keyboard.press("s");
  await expect(asked).toBeVisible();
  await page.keyboard.press("s");
  // A machine with much else to do takes its time to close the recording.
  await expect(over).toBeVisible({ timeout: 40_000 });
}

const numbersOf = (text: string | null) => [...(text ?? "").matchAll(/(\d+(?:\.\d+)?) °C/g)].map((found) => Number(found[1]));

test("a scouting and a measuring run by keyboard alone, until the recording has its reading", async ({ page, request, empty }) => {
  // Twenty times as fast as life: at sixty, a busy machine draws and reads too late.
  test.setTimeout(600_000);
  const sample = await addSample(request, empty, "U-1", "irritates eyes and skin");
  await sitDown(page, empty, 20);
  await axeFindsNothing(page, "before");

  // The load: typed, found in the book, its hazards said where it is loaded and among the cautions.
  await tabTo(page, page.getByLabel("Place 1"));
  await page.keyboard.type("U-1");
  await expect(page.getByText("in the book")).toBeVisible();
  await expect(page.getByLabel("Before you heat or touch anything").getByText("irritates eyes and skin")).toBeVisible();

  await planScouting(page, 140);
  await page.keyboard.press("Control+Enter");
  await expect(page.getByRole("heading", { name: "Planned, wanted and actual temperature" })).toBeVisible();
  await expect(page.getByText("scouting run")).toBeVisible();

  // The engine calls; the person marks by one key. Nothing has the focus, so the keys act at once.
  await expect(page.getByText(/^first liquid\? .* °C at/).first()).toBeVisible({ timeout: 180_000 });
  await page.keyboard.press("1");
  await expect(page.getByRole("row", { name: /Tube 1: first liquid/ })).toBeVisible();
  await axeFindsNothing(page, "during");
  const next = page.getByRole("button", { name: "Next leg" });
  await expect(gauge(page).getByText("leg 2 of 2")).toBeVisible({ timeout: 180_000 });
  await expect(next).toBeEnabled();
  await page.keyboard.press("n");
  await expect(page.getByRole("heading", { name: "The run is over" })).toBeVisible();
  const [from = 0, to = 0] = numbersOf(await page.getByText(/It melts roughly between/).textContent());
  expect(Math.abs(from - MELTS_AT_C)).toBeLessThan(6);
  expect(to).toBeGreaterThanOrEqual(from);
  await axeFindsNothing(page, "after");

  // The measuring run is prefilled from it.
  await tabTo(page, page.getByRole("button", { name: "Plan the measuring run" }));
  await page.keyboard.press("Enter");
  const first = page.getByLabel("First liquid expected");
  expect(Math.abs(Number(await first.inputValue()) - from)).toBeLessThan(0.6);
  await expect(page.getByText(/at least 20 °C below the range|cool enough for the fresh tube/)).toBeVisible();
  await expect(page.getByText(/min to the end of the scan/)).toBeVisible();
  await expect(page.getByRole("button", { name: "Start the run" })).toBeEnabled();
  await page.keyboard.press("Enter");

  // It waits for the person before the scan, and says so in the window's title, too.
  await expect(page.getByRole("button", { name: /I am here/ })).toBeFocused({ timeout: 180_000 });
  await expect.poll(() => page.title()).toContain("The block is ready");
  await page.keyboard.press("Space");
  await expect(gauge(page).getByText("leg 4 of 5")).toBeVisible();
  await expect(page.getByText(/^first liquid\? .* °C at/).first()).toBeVisible({ timeout: 180_000 });
  await page.keyboard.press("1");
  await expect(page.getByText(/^last crystal\? .* °C at/).first()).toBeVisible({ timeout: 180_000 });
  await page.keyboard.press("Shift+1");
  for (const moment of ["first liquid", "last crystal"]) {
    const row = page.getByRole("row", { name: new RegExp(`Tube 1: ${moment}`) });
    const [marked = 0] = numbersOf(await row.textContent());
    // A person at twenty times is seconds late, which is most of a minute of the bench.
    expect(Math.abs(marked - MELTS_AT_C), moment).toBeLessThan(5);
  }

  // Every tube is clear: the scan ends by itself.
  await expect(gauge(page).getByText("leg 5 of 5").or(page.getByRole("heading", { name: "The run is over" }))).toBeVisible({ timeout: 180_000 });
  if (await next.isVisible()) await page.keyboard.press("n");
  await expect(page.getByRole("heading", { name: "The run is over" })).toBeVisible({ timeout: 180_000 });
  await tabTo(page, page.getByRole("link", { name: "Go to the recording" }));
  await page.keyboard.press("Enter");
  await expect(page).toHaveURL(/#\/recordings\//);
  await expect(page.locator("canvas").first()).toHaveAttribute("data-frame", /\d/, { timeout: 180_000 });

  // The recording waits for its reading, or has it; then the reading holds what is true.
  const id = decodeURIComponent(page.url().split("/").at(-1) ?? "");
  const recordings = (await (await request.get(`${empty.address}api/recordings?sample=${sample}`)).json()) as {
    rows: { id: string; state: string }[];
  };
  expect(["waits_for_reading", "read"]).toContain(recordings.rows.find((row) => row.id === id)?.state);
});

test("a fault is loud until it is mended, and the run goes on when the person says so", async ({ page, empty }) => {
  await sitDown(page, empty, 1);
  await planScouting(page, 250);
  await page.keyboard.press("Control+Enter");
  await expect(gauge(page).getByText("leg 1 of 2")).toBeVisible();
  await page.getByText("Provoke faults").click();
  const unplug = page.getByRole("button", { name: "thermometer unplugged" });
  await unplug.click();
  const banner = page.getByRole("alert").filter({ hasText: "Something is wrong at the bench" });
  await expect(banner).toBeVisible();
  await expect(banner).toContainText("Check the thermometer’s plug");
  await expect(gauge(page).getByText("suspended, heater off")).toBeVisible();
  await expect.poll(() => page.title()).toContain("Something is wrong");
  await axeFindsNothing(page, "fault");

  await unplug.click();
  await expect(page.getByText("Mended.")).toBeVisible();
  await expect(gauge(page).getByText("suspended, heater off")).toBeVisible();
  await page.keyboard.press("r");
  await expect(gauge(page).getByText("running", { exact: true })).toBeVisible();
  await expect(banner).toHaveCount(0);

  // Stop asks once more; Escape is no.
  await page.keyboard.press("s");
  await expect(page.getByText("Stop the run for good?")).toBeVisible();
  await page.keyboard.press("Escape");
  await expect(page.getByText("Stop the run for good?")).toHaveCount(0);
  await stopForGood(page);
});

test("a lost connection is said, and what was missed is caught up with", async ({ page, empty }) => {
  await sitDown(page, empty, 1);
  await planScouting(page, 250);
  await page.keyboard.press("Control+Enter");
  await expect(gauge(page).getByText("leg 1 of 2")).toBeVisible();
  const time = gauge(page).getByText(/run \d+:\d\d/);
  const seconds = async () => {
    const [, m = "0", s = "0"] = /run (\d+):(\d\d)/.exec((await time.textContent()) ?? "") ?? [];
    return Number(m) * 60 + Number(s);
  };
  await expect.poll(seconds).toBeGreaterThan(2);

  // The program stands still: nothing is closed, nothing comes.
  process.kill(empty.pid, "SIGSTOP");
  const banner = page.getByRole("alert").filter({ hasText: "No connection to the program" });
  await expect(banner).toBeVisible();
  await expect(banner).toContainText("When no page has looked for a minute the heater goes off");
  const frozen = await seconds();
  expect(await seconds()).toBe(frozen);
  process.kill(empty.pid, "SIGCONT");
  await expect(banner).toHaveCount(0, { timeout: 30_000 });
  await expect.poll(seconds).toBeGreaterThan(frozen + 3);
  await stopForGood(page);
});

test("what is pressed at the bench is at least 44 px on a tablet, and nothing runs out of the page", async ({ page, empty }) => {
  await sitDown(page, empty, 1);
  const check = async (where: string) => {
    for (const size of [
      { width: 1280, height: 800 },
      { width: 820, height: 1180 },
    ]) {
      await page.setViewportSize(size);
      const small = await page
        .locator("button:visible, a.button:visible, select:visible, summary:visible, main input:not([type=checkbox], [type=radio]):visible")
        .evaluateAll((all) =>
          all
            .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent?.trim() ?? "" }))
            .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
            .map(({ box, text }) => `${text} ${box.width.toFixed(0)} × ${box.height.toFixed(0)}`),
        );
      expect(small, `${where} at ${size.width}`).toEqual([]);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      expect(over, `${where} at ${size.width}`).toBeLessThanOrEqual(0);
    }
  };
  await check("before");
  await planScouting(page, 250);
  await page.keyboard.press("Control+Enter");
  await expect(gauge(page).getByText("leg 1 of 2")).toBeVisible();
  await check("during");
  await stopForGood(page);
  await check("after");
});
