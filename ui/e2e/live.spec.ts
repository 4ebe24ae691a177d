import { expect, openAs, test } from "./bench";

test("a second browser sees changes as they happen", async ({ page, browser, read }) => {
  const other = await (await browser.newContext()).newPage();
  await openAs(page, read.bench, read.bench.analyst, "samples");
  await openAs(other, read.bench, read.bench.supervisor, "samples");
  await expect(other.getByText("Live")).toBeAttached();

  await page.getByRole("button", { name: "Add a sample" }).click();
  await page.getByRole("textbox", { name: "Label" }).fill("U-9 seen at once");
  await page.getByRole("button", { name: "Add a sample" }).last().click();
  await expect(other.getByRole("link", { name: "U-9 seen at once" })).toBeVisible();

  const recording = `recordings/${read.recordings[1]}`;
  await page.goto(`${read.bench.address}#/${recording}`);
  await other.goto(`${read.bench.address}#/${recording}`);
  const seen = other.getByText("confirmed by M. Fink");
  await expect(other.getByText("±").first()).toBeVisible();
  const before = await seen.count();
  await page.getByRole("button", { name: /^Confirm/ }).first().click();
  await expect(seen).toHaveCount(before + 1);
  await other.context().close();
});
