import { expect, openAs, test } from "./bench";

/** A wrong tube, run or clock would be degrees away; how well the engine reads is tested elsewhere [°C]. */
const NEAR_C = 1;

test("a recording is imported, read and confirmed", async ({ page, empty, simulated }) => {
  await openAs(page, empty, empty.analyst, "today");
  await expect(page.getByText("The book is empty")).toBeVisible();
  await page.getByRole("link", { name: "Import a recording" }).first().click();

  await expect(page.getByText("Pick a video first.")).toBeVisible();
  await page.locator("input[type=file]").first().setInputFiles(simulated.video);
  await page.locator("input[type=file]").nth(1).setInputFiles(simulated.log);

  // The clocks are laid on each other by drag, by keys and by number.
  const film = page.getByRole("slider", { name: "Log time at which the video begins" });
  await expect(film).toBeVisible({ timeout: 30_000 });
  await expect(page.getByText("100 % of the video lies within the log")).toBeVisible();
  const box = await film.boundingBox();
  if (!box) throw new Error("the strip of pictures has no box");
  await page.mouse.move(box.x + box.width / 2, box.y + box.height / 2);
  await page.mouse.down();
  await page.mouse.move(box.x + box.width, box.y + box.height / 2, { steps: 4 });
  await page.mouse.up();
  const start = page.getByLabel("Video begins at log time, s");
  expect(Number(await start.inputValue())).toBeGreaterThan(60);
  await expect(page.getByText("100 % of the video")).toBeHidden();
  await start.fill("2");
  await start.press("Enter");
  await film.focus();
  await film.press("ArrowLeft");
  await film.press("Alt+ArrowLeft");
  await expect(start).toHaveValue("0.9");
  await start.fill("0");
  await start.press("Tab");

  // A sample that is not in the book yet is added where it is needed.
  for (const place of [1, 2, 3]) {
    const field = page.getByLabel(`Tube ${place}`, { exact: true });
    await field.fill("U-1");
    if (place === 1) await page.getByRole("button", { name: "Add “U-1”" }).click();
    await expect(page.getByText("in the book").nth(place - 1)).toBeVisible();
  }
  await page.getByRole("button", { name: "Import and read" }).click();
  await page.getByRole("link", { name: "Look at the reading" }).click({ timeout: 90_000 });

  // The engine's moments are the tubes' own.
  for (const [i, truth] of simulated.truth.tubes.entries()) {
    const card = page.getByRole("region", { name: `tube ${i + 1}`, exact: true });
    for (const [name, moment] of [
      ["first liquid", truth.first_liquid],
      ["last crystal", truth.last_crystal],
    ] as const) {
      const cell = card.getByRole("row", { name }).getByRole("cell").first();
      await expect(cell).toHaveText(/^\d+\.\d+ ± \d\.\d+ °C$/);
      const shown = Number.parseFloat((await cell.textContent()) ?? "");
      expect(Math.abs(shown - (moment?.temperature_c ?? Number.NaN))).toBeLessThan(NEAR_C);
    }
  }

  // Two tubes confirmed by key, one set otherwise with a reason.
  await page.keyboard.press("1");
  await page.keyboard.press("c");
  await expect(page.getByText("confirmed by M. Fink")).toHaveCount(1);
  await page.keyboard.press("2");
  await page.keyboard.press("c");
  await expect(page.getByText("confirmed by M. Fink")).toHaveCount(2);
  await page.keyboard.press("3");
  // Marks go to the picture that is shown: five frames after the engine's first moment.
  await page.keyboard.press("n");
  for (let i = 0; i < 5; i += 1) await page.keyboard.press("ArrowRight");
  const slider = page.getByRole("slider", { name: "Time in the recording" });
  await expect
    .poll(async () => (await page.locator("canvas").first().getAttribute("data-frame")) === (await slider.getAttribute("aria-valuenow")))
    .toBe(true);
  await page.keyboard.press("3");
  await page.keyboard.press("f");
  await page.keyboard.press("c");
  await expect(page.getByRole("dialog")).toContainText("Why does it differ?");
  await page.getByRole("button", { name: "Record it" }).click();
  await expect(page.getByRole("dialog")).toBeVisible();
  await page.getByLabel("Reason").fill("a droplet on the glass, not the powder");
  await page.getByRole("button", { name: "Record it" }).click();
  await expect(page.getByText("set otherwise by M. Fink")).toBeVisible();
  await expect(page.getByText("a droplet on the glass, not the powder")).toBeVisible();

  // It is in the book, not only on the page.
  await page.reload();
  await expect(page.getByText("confirmed by M. Fink")).toHaveCount(2);
  await page.getByRole("link", { name: "Samples", exact: true }).click();
  await page.getByRole("link", { name: "U-1" }).click();
  await expect(page.getByText("1 more run needed at least")).toBeVisible();
});
