import { expect, openAs, test } from "./bench";

test("samples are added, imported from a list, found and changed", async ({ page, empty }) => {
  await openAs(page, empty, empty.supervisor, "samples");
  await expect(page.getByText("No samples yet.")).toBeVisible();
  await page.getByRole("button", { name: "Add a sample" }).first().click();
  const list = [
    "label,expected_substance,hazards,dried,ground,column_height_mm",
    "U-2,urea,,true,true,2.5",
    "U-10,benzil,irritant,true,false,3",
    '"<img src=x onerror=alert(1)>",vanillin,,,,',
  ].join("\n");
  await page.getByLabel("Import from CSV").setInputFiles({ name: "unknowns.csv", mimeType: "text/csv", buffer: Buffer.from(list) });
  await expect(page.getByText("3 samples added")).toBeVisible();

  // HTML in a label is text.
  let alerted = false;
  page.on("dialog", (dialog) => {
    alerted = true;
    void dialog.dismiss();
  });
  await expect(page.getByRole("link", { name: "<img src=x onerror=alert(1)>" })).toBeVisible();
  expect(alerted).toBe(false);

  // A list with a fault adds nothing and says where the fault is.
  const faulty = "label,column_height_mm\nU-3,2\nU-4,2,5\nU-5,\"2,5\"";
  await page.getByLabel("Import from CSV").setInputFiles({ name: "faulty.csv", mimeType: "text/csv", buffer: Buffer.from(faulty) });
  await expect(page.getByRole("alert").filter({ hasText: "line" })).toBeVisible();
  await expect(page.getByRole("link", { name: "U-3" })).toHaveCount(0);

  await page.getByLabel("Order").selectOption("label");
  await expect(page.getByRole("rowheader").getByRole("link").filter({ hasText: "U-" })).toHaveText(["U-2", "U-10"]);
  await page.getByLabel("Search").fill("BENZ u-10");
  await expect(page.getByRole("rowheader").getByRole("link")).toHaveText(["U-10"]);
  await page.getByRole("link", { name: "U-10" }).click();

  await expect(page.getByRole("heading", { level: 1 })).toHaveText("U-10");
  await expect(page.getByText("Not recorded yet.")).toBeVisible();
  await expect(page.getByRole("complementary", { name: "Before you heat" })).toContainText("irritant");
  await page.getByRole("button", { name: "Change" }).click();
  await page.getByLabel("ground fine").selectOption("yes");
  await page.getByLabel("Remarks").fill("ground again on Thursday");
  await page.getByRole("button", { name: "Save the changes" }).click();
  await expect(page.getByText("ground again on Thursday")).toBeVisible();
  await page.reload();
  await expect(page.getByText("ground again on Thursday")).toBeVisible();
});

test("two agreeing runs give a result", async ({ page, read }) => {
  await openAs(page, read.bench, read.bench.supervisor, `samples/${read.sample}`);
  await expect(page.getByText(/runs agree within 0\.5 °C at both ends/)).toBeVisible();
  await page.getByRole("button", { name: /^State the result/ }).click();
  const result = page.getByRole("region", { name: "Result" });
  await expect(result).toContainText(/\d+\.\d–\d+\.\d °C/);
  await expect(result).toContainText("as logged, not corrected");
  await expect(page.locator(".tag.good", { hasText: /^✓agreed$/ })).toBeVisible();
});
