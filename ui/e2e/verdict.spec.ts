/** What a sample is said to be: a mixed melting out of three tubes, a verdict tried, confirmed and said anew. */
import AxeBuilder from "@axe-core/playwright";
import { addSample, expect, imported, openAs, test } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

test("three tubes of a recording are judged, and a verdict is recorded and said anew", async ({ page, request, read, simulated }) => {
  const reference = await addSample(request, read.bench, "acetanilide, store room");
  const mixedMelting = await imported(request, read.bench, simulated, [read.sample, reference, null]);
  await openAs(page, read.bench, read.bench.supervisor, "mixed");
  const from = page.getByRole("group", { name: "Take the three from a recording" });
  await from.getByLabel("Recording").selectOption(mixedMelting);
  // Three tubes of one sample are no mixed melting, and are not offered.
  await expect(from.locator(`option[value="${read.recordings[0]}"]`)).toHaveCount(0);
  await expect(from.getByText("Nobody has decided on all three readings yet.")).toBeVisible();
  await expect(page.getByRole("heading", { name: /^What it says/ })).toBeVisible();
  const first = page.getByRole("group", { name: "Mixture", exact: true }).getByLabel("First liquid, °C");
  await expect(first).toHaveValue(/^1\d\d\.\d+$/);
  const third = await first.inputValue();
  // Exchanged, sample and mixture exchange their ranges.
  await from.getByLabel("Mixture in place").selectOption("1");
  await expect(page.getByRole("group", { name: "Sample", exact: true }).getByLabel("First liquid, °C")).toHaveValue(third);

  await page.goto(`${read.bench.address}#/samples/${read.sample}`);
  const verdict = page.getByRole("region", { name: "Verdict" });
  const state = page.getByRole("button", { name: /^State the result/ });
  await expect(state).toBeVisible();
  await state.click();
  await verdict.getByRole("button", { name: /^Write/ }).click();
  const record = verdict.getByRole("button", { name: "Confirm and record" });
  await expect(record).toBeDisabled();
  await verdict.getByLabel("Substance, name or CAS number").fill("acetanilide");
  await expect(verdict.getByText(/is consistent with acetanilide; that is no proof/)).toBeVisible();
  await expect(verdict.getByText("the result is not corrected", { exact: false })).toBeVisible();
  const mixed = verdict.getByRole("group", { name: "Mixed meltings of this sample" });
  // Only the load in which the sample stands once.
  await expect(mixed.getByRole("checkbox")).toHaveCount(1);
  await mixed.getByRole("checkbox").check();
  await expect(verdict.getByText("Name the reference of the mixed melting.")).toBeVisible();
  await expect(record).toBeDisabled();
  await mixed.getByLabel("Reference in it").fill("benzoic acid");
  await expect(verdict.getByText(/which the book does not call benzoic acid/)).toBeVisible();
  await mixed.getByLabel("Reference in it").fill("acetanilide");
  await expect(verdict.getByText("Mixed melting with acetanilide", { exact: true })).toBeVisible();
  // "Go" on a tablet ends a field and records nothing.
  await verdict.getByLabel("Substance, name or CAS number").press("Enter");
  await expect(verdict.locator(".said")).toHaveCount(0);
  await verdict.getByLabel("Other evidence (optional)").fill("infrared spectrum, folder 3");
  await expect(verdict.getByText(/Besides: infrared spectrum, folder 3\./)).toBeVisible();
  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${scheme}: ${one.id}: ${one.nodes[0]?.html}`)).toEqual([]);
  }
  await verdict.getByRole("button", { name: "Take these words" }).click();
  await verdict.getByLabel("In your words").fill("U-1 fits acetanilide.");
  await record.click();
  await expect(verdict.locator(".said")).toHaveText("U-1 fits acetanilide.");
  await expect(verdict.locator(".said")).toBeFocused();
  await expect(verdict.getByText("acetanilide 103-84-4")).toBeVisible();
  await expect(verdict.getByRole("list", { name: "Mind" })).toContainText("not corrected");
  await expect(verdict).toContainText("R. Amsel");
  await verdict.getByText("What it rests on").click();
  await expect(verdict.getByRole("link", { name: "see the recording" })).toBeVisible();

  // Another takes its place, with a reason; nothing is said of a substance.
  await verdict.getByRole("button", { name: "Write another in its place" }).click();
  await verdict.getByLabel("Nothing yet").check();
  await expect(verdict.getByText(/what it is stays open/)).toBeVisible();
  await expect(record).toBeDisabled();
  await verdict.getByLabel("Why it takes the place of the earlier one").fill("the reference was of another lot");
  await record.click();
  await expect(verdict.locator(".said")).toContainText("what it is stays open");
  await expect(verdict).toContainText("the reference was of another lot");

  // A student who has not read the sample sees nothing of it.
  await page.getByLabel("At the bench").selectOption(read.bench.student.id);
  await expect(verdict).toHaveCount(0);
});
