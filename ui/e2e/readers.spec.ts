/** Reader against reader, from attempts at practice. */
import AxeBuilder from "@axe-core/playwright";
import type { APIRequestContext } from "@playwright/test";
import { expect, openAs, test, type Bench, type Person } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

interface Marked {
  first_liquid: { true_s: number };
  last_crystal: { true_s: number };
}

/** Reads an exercise so many seconds beside the truth, which the answer to a first attempt tells. */
async function reads(request: APIRequestContext, bench: Bench, person: Person, seed: number, late_s: number): Promise<void> {
  const headers = { "x-person": person.id };
  const item = (await (await request.get(`${bench.address}api/practice/exercises/plain/${seed}`, { headers })).json()) as {
    exercise: unknown;
    times_s: number[];
  };
  const send = async (first_liquid_s: number, last_crystal_s: number) => {
    const answer = await request.post(`${bench.address}api/practice/attempts`, {
      headers,
      data: { id: crypto.randomUUID(), exercise: item.exercise, first_liquid_s, last_crystal_s, seconds_spent: null },
    });
    expect(answer.ok(), await answer.text()).toBe(true);
    return (await answer.json()) as Marked;
  };
  const n = item.times_s.length;
  const truth = await send(item.times_s[Math.floor(n / 2)] ?? 0, item.times_s[Math.floor(n / 2) + 1] ?? 0);
  await send(truth.first_liquid.true_s + late_s, truth.last_crystal.true_s + late_s);
}

test("nothing to compare is said, not drawn", async ({ page, empty }) => {
  await openAs(page, empty, empty.analyst, "readers");
  await expect(page.getByText("ISO 5725-2")).toBeVisible();
  await expect(page.locator(".empty")).toBeVisible();
  await expect(page.getByRole("alert").filter({ hasText: /\S/ })).toHaveCount(0);
});

test("readers are set against each other in tables, bars and limits of agreement", async ({ page, empty, request }) => {
  test.setTimeout(240_000);
  const people = [empty.supervisor, empty.analyst, empty.student];
  for (const seed of [1, 2, 3]) {
    for (const [i, person] of people.entries()) await reads(request, empty, person, seed, i * 6 + seed);
  }
  await openAs(page, empty, empty.supervisor, "readers");
  const bias = page.getByRole("region", { name: "Bias and spread of each reader" });
  for (const person of people) await expect(bias.getByRole("row", { name: new RegExp(person.name) })).toContainText(/°C/);
  await expect(page.getByRole("region", { name: "Repeatability and reproducibility by level" }).getByRole("row", { name: /^plain/ })).toContainText(/°C/);
  for (const letter of ["h", "k"]) {
    await expect(page.getByRole("img", { name: new RegExp(`^Mandel’s ${letter} by reader and level`) })).toBeVisible();
  }
  await expect(page.getByRole("heading", { name: "What stands out" })).toBeVisible();

  const agreement = page.getByRole("region", { name: "Limits of agreement" });
  await agreement.getByRole("combobox", { name: /^Reader/ }).selectOption({ label: "S. Drossel" });
  await agreement.getByRole("combobox", { name: /^Against/ }).selectOption({ label: "what is true or agreed" });
  await expect(agreement.getByRole("img", { name: /differences against means; bias/ })).toBeVisible();
  await expect(agreement.getByRole("row", { name: /^upper limit/ })).toContainText("…");
  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${scheme}: ${one.id}: ${one.nodes[0]?.html}`)).toEqual([]);
  }
  await page.setViewportSize({ width: 360, height: 780 });
  expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);
  await page.getByLabel("From").selectOption("recordings");
  await expect(page.locator(".empty")).toBeVisible();
});

test("a student is not shown how others read", async ({ page, empty }) => {
  await openAs(page, empty, empty.student, "readers");
  await expect(page.getByRole("alert").filter({ hasText: /\S/ })).toBeVisible();
  await expect(page.getByRole("table")).toHaveCount(0);
});
