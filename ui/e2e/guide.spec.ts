/** The guide through a first determination, above the real pages. */
import AxeBuilder from "@axe-core/playwright";
import { addBench, addCheck, addSample, addStandard, daysAgo, expect, imported, openAs, test } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

test("a newcomer is led by keyboard, and what the book shows is noticed by itself", async ({ page, empty, request, simulated }) => {
  test.setTimeout(240_000);
  await openAs(page, empty, empty.student, "today");
  await page.getByRole("button", { name: "Show me my first determination" }).focus();
  await page.keyboard.press("Enter");
  const strip = page.getByRole("complementary", { name: /^My first determination/ });
  const title = strip.locator(".title");
  await expect(title).toHaveText(/^Step 1 of 15: Check the thermometer/);
  await expect(strip.getByText("Beware:")).toBeVisible();
  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${scheme}: ${one.id}: ${one.nodes[0]?.html}`)).toEqual([]);
  }

  // It comes by the live connection; the page is not fetched anew.
  const standard = await addStandard(request, empty, "benzoic acid", 122.35);
  const bench = await addBench(request, empty, "West");
  await addCheck(request, empty, bench, { standard, made_on: daysAgo(0), indicated_c: 121.95 });
  await expect(title).toHaveText(/^Step 2 of 15: Add the sample/);
  await expect(strip.locator("[aria-live=polite]")).toHaveText("Done: Check the thermometer. Next: Add the sample.");
  const sample = await addSample(request, empty, "N-1", "irritates eyes");
  // Its hazards were noted with it.
  await expect(title).toHaveText(/^Step 4 of 15: Prepare and fill/);

  // What the book cannot know is ticked; the link leads to the real page, with the strip still above it.
  await strip.getByRole("link", { name: "How to fill a tube" }).focus();
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Filling a tube and reading a melt");
  await strip.getByRole("button", { name: "I have done this" }).focus();
  await page.keyboard.press("Enter");
  await expect(title).toHaveText(/^Step 5 of 15: Plan the heating/);
  await page.keyboard.press("Enter");
  await expect(title).toHaveText(/^Step 6 of 15: Heat and watch/);
  await expect(strip.getByRole("link", { name: "Or import a recording" })).toBeVisible();

  const recording = await imported(request, empty, simulated, [sample, null, null]);
  await expect(title).toHaveText(/^Step 7 of 15: Read it blind/);
  await strip.getByRole("link", { name: "The recording" }).click();
  await expect(page.getByRole("checkbox", { name: "Read blind" })).toBeChecked();
  // A reading of somebody else's is not one's own.
  const tubes = [1, 2, 3].map((place) => ({ place, first_liquid: { at: "frame", frame: 40 }, last_crystal: { at: "frame", frame: 60 } }));
  const read = async (person: string) => {
    const answer = await request.post(`${empty.address}api/recordings/${recording}/readings`, { headers: { "x-person": person }, data: { tubes } });
    expect(answer.ok(), await answer.text()).toBe(true);
  };
  await read(empty.analyst.id);
  await page.waitForTimeout(500);
  await expect(title).toHaveText(/^Step 7 of 15/);
  await read(empty.student.id);
  await expect(title).toHaveText(/^Step 8 of 15: Look at the engine’s opinion/);

  // Any step can be looked at, and what was done says so.
  await strip.getByText("All steps").click();
  await expect(strip.getByLabel("My sample")).toHaveValue(sample);
  await expect(strip.locator("ol .finished")).toHaveCount(7);
  await strip.getByRole("button", { name: /^Say what it is/ }).click();
  await expect(title).toHaveText(/^Step 14 of 15/);
  await page.setViewportSize({ width: 360, height: 780 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);

  // Put away, it is gone from every page; brought back, it goes on where it was. It is each person's own.
  await strip.getByRole("button", { name: "Put away" }).click();
  await expect(strip).toHaveCount(0);
  await expect(page.locator("h1")).toBeFocused();
  await page.goto(`${empty.address}#/today`);
  await page.reload();
  await expect(page.getByRole("heading", { level: 1, name: "Today" })).toBeVisible();
  await expect(strip).toHaveCount(0);
  await page.getByRole("button", { name: "Go on with my first determination" }).click();
  await expect(title).toHaveText(/^Step 8 of 15/);
  await page.getByLabel("At the bench").selectOption(empty.analyst.id);
  await expect(strip).toHaveCount(0);
});

test("viewers are not led, and paper shows no strip", async ({ page, empty, request }) => {
  const added = await request.post(`${empty.address}api/people`, { headers: { "x-person": empty.supervisor.id }, data: { name: "V. Zeisig", role: "viewer" } });
  await openAs(page, empty, (await added.json()) as { id: string; name: string }, "today");
  await expect(page.getByRole("button", { name: "Show me my first determination" })).toHaveCount(0);
  await page.getByLabel("At the bench").selectOption(empty.student.id);
  await page.getByRole("button", { name: "Show me my first determination" }).click();
  await expect(page.locator("aside.guide")).toBeVisible();
  await page.emulateMedia({ media: "print" });
  await expect(page.locator("aside.guide")).toBeHidden();
});
