import { expect, openAs, test } from "./bench";

test("two recordings stand side by side at one temperature and play together", async ({ page, read }) => {
  await openAs(page, read.bench, read.bench.analyst, "recordings");
  for (const box of await page.getByRole("checkbox").all()) await box.check();
  await page.getByRole("button", { name: "Compare 2 chosen" }).click();
  const cards = page.getByRole("article");
  await expect(cards).toHaveCount(2);

  const temperatures = async () =>
    Promise.all(
      (await cards.all()).map(async (card) => Number.parseFloat((await card.locator("strong").first().textContent()) ?? "")),
    );
  const wanted = async () => Number.parseFloat((await page.locator("output").first().textContent()) ?? "");
  const together = async () => {
    const shown = await temperatures();
    const at = await wanted();
    return Math.max(...shown.map((t) => Math.abs(t - at)));
  };
  // One frame a second at 1 °C/min lies 0.017 °C apart; the rest is the log's noise and rounding.
  await expect.poll(together).toBeLessThan(0.15);
  const start = await wanted();
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowRight");
  await expect.poll(wanted).toBeCloseTo(start + 1.1, 1);
  await expect.poll(together).toBeLessThan(0.15);

  // The second video began 6 s later on its log: the same temperature is another picture.
  const apart = async () => {
    const frames = await page
      .locator("article canvas[data-frame]")
      .evaluateAll((all) => all.map((one) => Number((one as HTMLElement).dataset["frame"])));
    return Math.abs((frames[0] ?? Number.NaN) - (frames[1] ?? Number.NaN));
  };
  await expect.poll(apart).toBeGreaterThanOrEqual(3);

  await page.keyboard.press("Home");
  const low = await wanted();
  await page.keyboard.press("Space");
  await expect.poll(wanted).toBeGreaterThan(low + 0.3);
  await page.keyboard.press("Space");
  await expect(page.getByRole("button", { name: "Play" })).toBeVisible();
  await expect.poll(together).toBeLessThan(0.15);

  await page.getByRole("link", { name: /^Take away/ }).first().click();
  await expect(cards).toHaveCount(1);
});
