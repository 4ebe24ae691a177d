/** Planning one run: typed and dragged, carried to the bench. */
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "@playwright/test";
import { addSample, expect, openAs, test, type Bench } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const simulated = join(dirname(fileURLToPath(import.meta.url)), "../../docs/bench-files/simulated.toml");

function describe(bench: Bench, name: string): void {
  mkdirSync(join(bench.folder, "benches"), { recursive: true });
  const text = readFileSync(simulated, "utf8").replace(/^name = .*$/m, `name = "${name}"`);
  writeFileSync(join(bench.folder, "benches", `${name}.toml`), text);
}

const minutes = async (page: Page) => Number.parseFloat((await page.getByTestId("minutes").textContent()) ?? "");
const field = (page: Page, label: string) => page.locator("main").getByLabel(label);

async function aRange(page: Page): Promise<void> {
  await field(page, "First liquid expected, °C").fill("121.5");
  await field(page, "Last crystal expected, °C").fill("122.5");
  await expect(page.getByTestId("minutes")).toBeVisible();
}

test("the curve follows what is typed, dragged and pressed", async ({ page, empty }) => {
  describe(empty, "North");
  await openAs(page, empty, empty.analyst, "today");
  await page.getByRole("link", { name: "Plan a run" }).click();
  await aRange(page);
  // Soak 3 min and a scan of 6.0 °C at 1 °C/min, by hand; the approach is between 96.5 °C at 15 °C/min and 3 min more.
  const before = await minutes(page);
  expect(before).toBeGreaterThan(9 + 96.5 / 15);
  expect(before).toBeLessThan(9 + 96.5 / 15 + 3);
  await expect(page.getByText("those of an ordinary block")).toBeVisible();

  await field(page, "Soak, min").fill("5");
  await expect.poll(() => minutes(page)).toBeCloseTo(before + 2, 1);

  // By keyboard on the handle: half a degree more above the last crystal is half a minute more.
  const end = page.getByRole("slider", { name: "Scan ends at" });
  await end.focus();
  await page.keyboard.press("ArrowUp");
  await expect(field(page, "Stop above last crystal by, °C")).toHaveValue("2.5");
  await expect.poll(() => minutes(page)).toBeCloseTo(before + 2.5, 1);
  await expect(end).toHaveAttribute("aria-valuetext", /125\.0 °C, 2\.5 °C above/);

  // By mouse: the soak becomes longer to the right, the scan begins lower further down.
  const drag = async (name: string, dx: number, dy: number) => {
    const knob = page.getByRole("slider", { name }).locator(".knob");
    // What was changed before is drawn first.
    let before = "";
    await expect
      .poll(async () => {
        const drawn = JSON.stringify(await knob.boundingBox());
        const stands = drawn === before;
        before = drawn;
        return stands;
      }, { intervals: [300] })
      .toBe(true);
    const box = await knob.boundingBox();
    if (!box) throw new Error(`no handle ${name}`);
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    await page.mouse.move(x, y);
    await page.mouse.down();
    await page.mouse.move(x + dx / 2, y + dy / 2);
    await page.mouse.move(x + dx, y + dy);
    await page.mouse.up();
  };
  await drag("Soak lasts", 120, 0);
  await expect.poll(async () => Number(await field(page, "Soak, min").inputValue())).toBeGreaterThan(6);
  await drag("Scan begins at", 0, 30);
  await expect.poll(async () => Number(await field(page, "Start below first liquid by, °C").inputValue())).toBeGreaterThan(6);
});

test("what there is no time for is given up and said; the programme goes to the bench", async ({ page, request, empty }) => {
  describe(empty, "North");
  await addSample(request, empty, "U-1", "irritates eyes");
  await openAs(page, empty, empty.analyst, "programme");
  await aRange(page);
  await field(page, "Sample of the book").fill("U-1");
  await expect(page.getByText("Nothing was read of U-1 yet")).toBeVisible();
  await expect(page.getByText("irritates eyes")).toBeVisible();
  // A published procedure's numbers, and what departs from them; no procedure scans at 9 °C/min.
  await field(page, "Procedure").selectOption({ index: 1 });
  await expect(page.getByText("check your own edition")).toBeVisible();
  await field(page, "Rate of the scan, °C/min").fill("9");
  await expect(page.getByText(/9 °C\/min is not as .* has it/)).toBeVisible();
  await field(page, "Procedure").selectOption({ label: "none: as typed here" });
  await field(page, "Rate of the scan, °C/min").fill("1");
  await field(page, "Start below first liquid by, °C").fill("3");
  await field(page, "Bench").selectOption("North");
  await expect(page.getByText("those of an ordinary block")).toHaveCount(0);
  const before = await minutes(page);
  await field(page, "Time there is, min").fill(String(before - 1));
  await expect(page.getByText(/^soak: (1\.9|2\.0)\d min instead of 3\.00 min/)).toBeVisible();
  await field(page, "Keep the soak").check();
  await expect(page.getByText(/^start below the range: /)).toBeVisible();
  await field(page, "Time there is, min").fill("2");
  await expect(page.getByText("no programme fits into 2 min")).toBeVisible();
  await field(page, "Time there is, min").fill("");
  await expect(page.getByText("no programme fits")).toHaveCount(0);
  await page.getByRole("link", { name: "Use at North" }).click();
  await expect(page.getByRole("heading", { name: "North" })).toBeVisible();
  await page.getByRole("button", { name: "Set the bench to work" }).click();
  await expect(page.getByText("From “Plan a run”.")).toBeVisible();
  await expect(page.getByLabel("First liquid expected, °C")).toHaveValue("121.5");
  await expect(page.getByLabel("Place 1")).toHaveValue("U-1");
  await expect(page.getByText(/min to the end of the scan/)).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing, and nothing runs out of the page, ${scheme}`, async ({ page, empty }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await page.setViewportSize({ width: 820, height: 1180 });
    await openAs(page, empty, empty.analyst, "programme");
    await aRange(page);
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).join("\n")}`)).toEqual([]);
    expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);
    const small = await page.locator("main button:visible, main a.button:visible, main select:visible, .reach").evaluateAll((all) =>
      all.map((one) => one.getBoundingClientRect()).filter((box) => box.height < 43.5 || box.width < 43.5).map((box) => `${box.width} × ${box.height}`),
    );
    expect(small).toEqual([]);
    await page.getByRole("radio", { name: "Scouting run" }).check();
    await field(page, "Heat up to, °C").fill("200");
    await expect(page.getByText("take a fresh one")).toBeVisible();
    const scouting = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(scouting.violations.map((one) => one.id)).toEqual([]);
  });
}
