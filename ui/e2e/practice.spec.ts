/** Blind practice, readers' progress and the handout. */
import AxeBuilder from "@axe-core/playwright";
import { execFileSync } from "node:child_process";
import { writeFileSync } from "node:fs";
import { expect, openAs, test } from "./bench";
import type { Page } from "@playwright/test";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

async function axe(page: Page, what: string): Promise<void> {
  for (const scheme of ["light", "dark"] as const) {
    // Without fading: a colour half way is no colour of the page.
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${what}, ${scheme}: ${one.id}: ${one.nodes[0]?.html}`)).toEqual([]);
  }
}

/** To a picture by its number, and until it is shown. */
async function show(page: Page, n: number): Promise<void> {
  await page.getByLabel("Picture", { exact: true }).fill(String(n));
  await expect(page.locator("#exercise ~ div canvas")).toHaveAttribute("data-frame", String(n));
}

async function pictures(page: Page): Promise<number> {
  const slider = page.getByLabel("Picture", { exact: true });
  await expect(slider).toBeVisible({ timeout: 60_000 });
  return Number(await slider.getAttribute("max")) + 1;
}

test("a learner marks an exercise blind by keyboard and sees how far off it was", async ({ page, empty }) => {
  const blind: string[] = [];
  page.on("response", async (response) => {
    if (/\/api\/practice\/(next|exercises)/.test(response.url()) && response.headers()["content-type"]?.includes("json")) {
      blind.push(await response.text().catch(() => ""));
    }
  });
  await openAs(page, empty, empty.student, "practice?kind=plain&seed=1");
  const n = await pictures(page);
  expect(n).toBeGreaterThan(20);
  await expect(page.getByText("No attempt yet.")).toBeVisible();
  // Neither on the page nor in anything that was fetched for it.
  await expect(page.locator("main section", { has: page.locator("#exercise") })).not.toContainText("°C");
  expect(blind.length).toBeGreaterThan(0);
  expect(blind.join("\n")).not.toMatch(/temperature|true_|first_liquid|last_crystal_s/);
  await axe(page, "exercise");

  // The arrow keys step, the slider reaches, letters mark from the slider, too.
  await page.locator("h1").focus();
  await page.keyboard.press("ArrowRight");
  await expect(page.locator("#exercise ~ div canvas")).toHaveAttribute("data-frame", "1");
  await page.keyboard.press("Home");
  await page.keyboard.press("s");
  await expect(page.getByRole("alert").filter({ hasText: "First liquid is not marked" })).toBeVisible();
  await show(page, Math.round(n * 0.2));
  await page.keyboard.press("f");
  await show(page, Math.round(n * 0.9));
  await page.keyboard.press("l");
  await expect(page.getByText("Both ends are marked.")).toBeVisible();
  const sent = page.waitForRequest((request) => request.method() === "POST" && request.url().endsWith("/practice/attempts"));
  await page.keyboard.press("s");
  const attempt = (await sent).postDataJSON() as { id: string; exercise: { kind: string; seed: number } };
  expect(attempt.exercise).toMatchObject({ kind: "plain", seed: 1 });

  await expect(page.getByRole("heading", { name: "How you read it" })).toBeFocused();
  const how = page.getByRole("region", { name: "How you read it" });
  // Far too early: the sign says so.
  await expect(how.getByRole("row", { name: /^first liquid/ })).toContainText(/−\d\.\d\d °C/);
  await expect(how.getByRole("row", { name: /^first liquid/ })).toContainText("outside the limit");
  await expect(how.getByText("Compared with what the simulation knows.")).toBeVisible();
  for (const list of await how.getByRole("list").all()) {
    await expect(list.getByRole("img")).toHaveCount(4);
    await expect(list).toContainText("before");
    await expect(list).toContainText("where you marked");
    await expect(list.locator("canvas[data-frame]")).toHaveCount(4);
  }
  await axe(page, "marked");
  const progress = page.getByRole("region", { name: "Your progress" });
  await expect(progress.getByRole("img", { name: /Errors of 1 attempt in order/ })).toBeVisible();
  await expect(progress.getByText("Still missing:")).toBeVisible();
  await expect(progress.getByText("more attempts", { exact: true })).toBeVisible();

  await page.getByRole("button", { name: "Next exercise" }).click();
  await expect(page.getByRole("heading", { name: "How you read it" })).toHaveCount(0);
  await pictures(page);
  // By hand, and narrow.
  await page.setViewportSize({ width: 360, height: 780 });
  await page.getByText("Choose by hand").click();
  const asked = page.waitForResponse((response) => response.url().includes("practice/next?kind=glistening"));
  await page.getByRole("combobox", { name: /^Kind/ }).selectOption("glistening");
  expect((await asked).status()).toBe(200);
  await expect(page.getByText("Chosen by hand.")).toBeVisible();
  await expect(page.getByText("No recording of this book has been read by enough people yet.")).toBeVisible();
  await axe(page, "narrow");
  expect(await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)).toBeLessThanOrEqual(0);
});

test("an attempt that could not be sent is kept and arrives once", async ({ page, empty, request }) => {
  await openAs(page, empty, empty.student, "practice?kind=plain&seed=2");
  const n = await pictures(page);
  await show(page, Math.round(n * 0.3));
  await page.keyboard.press("f");
  await show(page, Math.round(n * 0.8));
  await page.keyboard.press("l");
  // It arrives, and the answer is lost: the worst that a network does.
  let lost = 0;
  await page.route("**/api/practice/attempts", async (route) => {
    if (lost > 0) return route.fallback();
    lost += 1;
    await route.fetch();
    await route.abort("connectionreset");
  });
  await page.keyboard.press("s");
  await expect(page.getByText("An attempt of yours could not be sent.")).toBeVisible();
  await page.reload();
  await expect(page.getByText("An attempt of yours could not be sent.")).toHaveCount(0, { timeout: 30_000 });
  await expect(page.getByRole("region", { name: "Your progress" }).getByRole("img", { name: /Errors of 1 attempt/ })).toBeVisible();
  const told = await request.get(`${empty.address}api/practice/progress`, { headers: { "x-person": empty.student.id } });
  expect(((await told.json()) as { curve: unknown[] }).curve).toHaveLength(1);
});

test("whoever teaches sees how far readers are; a student sees their own", async ({ page, browser, empty, request }) => {
  const item = (await (await request.get(`${empty.address}api/practice/exercises/plain/3`, { headers: { "x-person": empty.student.id } })).json()) as {
    exercise: unknown;
    times_s: number[];
  };
  const at = (part: number) => item.times_s[Math.floor(item.times_s.length * part)];
  const answer = await request.post(`${empty.address}api/practice/attempts`, {
    headers: { "x-person": empty.student.id },
    data: { id: crypto.randomUUID(), exercise: item.exercise, first_liquid_s: at(0.4), last_crystal_s: at(0.7), seconds_spent: 20 },
  });
  expect(answer.ok(), await answer.text()).toBe(true);
  await openAs(page, empty, empty.supervisor, "practice");
  const readers = page.getByRole("region", { name: "Readers" });
  await expect(readers.getByRole("row", { name: /S\. Drossel/ })).toContainText("not passed yet");
  await readers.getByRole("link", { name: "S. Drossel" }).click();
  await expect(page.getByRole("heading", { name: "Progress of S. Drossel" })).toBeVisible();
  await axe(page, "progress of another");
  const other = await (await browser.newContext()).newPage();
  await openAs(other, empty, empty.student, "practice");
  await expect(other.getByRole("heading", { name: "Your progress" })).toBeVisible();
  await expect(other.getByRole("heading", { name: "Readers" })).toHaveCount(0);
  await expect(other.getByRole("link", { name: "Reader against reader" })).toHaveCount(0);
  await other.context().close();
});

test("the handout is one page of A4 with all its pictures", async ({ page, empty }, info) => {
  await openAs(page, empty, empty.student, "handout");
  const images = page.locator("main figure img");
  await expect(images).toHaveCount(11, { timeout: 60_000 });
  await expect.poll(() => images.evaluateAll((all) => all.every((one) => (one as HTMLImageElement).naturalWidth > 0))).toBe(true);
  await expect(page.getByText("the responsible person decide")).toBeVisible();
  await expect(page.getByRole("button", { name: "Print" })).toBeVisible();
  await axe(page, "handout");
  await page.emulateMedia({ media: "print", colorScheme: "dark" });
  await expect(page.getByRole("button", { name: "Print" })).toBeHidden();
  const path = info.outputPath("handout.pdf");
  writeFileSync(path, await page.pdf({ preferCSSPageSize: true }));
  const told = execFileSync("pdfinfo", [path]).toString();
  expect(told).toMatch(/Pages:\s+1\n/);
  expect(told).toMatch(/Page size:.*A4/);
});
