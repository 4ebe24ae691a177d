/** The report of a sample and a second person's signature; results from before the book; files and paper. */
import AxeBuilder from "@axe-core/playwright";
import { readFileSync } from "node:fs";
import type { APIRequestContext, Download, Locator, Page } from "@playwright/test";
import { addSample, expect, imported, openAs, test, type Bench, type Simulated } from "./bench";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

async function axe(page: Page): Promise<void> {
  for (const scheme of ["light", "dark"] as const) {
    // Without fading: a colour half way is no colour of the page.
    await page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
    const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
    expect(found.violations.map((one) => `${scheme}: ${one.id}: ${one.nodes[0]?.html}`)).toEqual([]);
  }
}

/** A sample of its own with two runs and a result, stated by the supervisor. */
async function withResult(page: Page, request: APIRequestContext, bench: Bench, simulated: Simulated, label: string): Promise<string> {
  const sample = await addSample(request, bench, label);
  await imported(request, bench, simulated, [sample, sample, sample]);
  await imported(request, bench, simulated, [sample, sample, null], 6);
  await openAs(page, bench, bench.supervisor, `samples/${sample}`);
  await page.getByRole("button", { name: /^State the result/ }).click();
  await expect(page.getByRole("region", { name: "Result", exact: true })).toContainText(/\d+\.\d–\d+\.\d °C/);
  return sample;
}

async function bytesOf(download: Download): Promise<Buffer> {
  return readFileSync(await download.path());
}

async function saved(page: Page, button: Locator): Promise<{ name: string; content: Buffer }> {
  const [download] = await Promise.all([page.waitForEvent("download"), button.click()]);
  return { name: download.suggestedFilename(), content: await bytesOf(download) };
}

test("a second person signs a result off by keyboard alone, and a later word makes it a draft again", async ({ page, request, read, simulated }) => {
  const { bench } = read;
  await withResult(page, request, bench, simulated, "R-1");
  const report = page.getByRole("region", { name: "Report", exact: true });
  await expect(report.locator(".standing .tag")).toHaveText("○draft");
  // Whoever measured or stated it does not sign it off.
  await expect(report.getByText(/You cannot sign it off: .*second person/)).toBeVisible();
  await expect(report.getByRole("button", { name: "Sign off" })).toHaveCount(0);

  await page.getByLabel("At the bench").selectOption(bench.analyst.id);
  const open = report.getByRole("button", { name: "Sign off" });
  await expect(open).toBeVisible();
  await open.focus();
  await page.keyboard.press("Enter");
  const form = report.getByRole("form", { name: "What you sign" });
  const range = await page.getByRole("region", { name: "Result", exact: true }).locator(".range").innerText();
  await expect(form).toContainText(range);
  await expect(form).toContainText("nothing is said of what it is");
  await expect(form.getByRole("heading", { name: "What you sign" })).toBeFocused();
  await axe(page);
  await page.keyboard.press("Tab");
  await expect(form.getByRole("radio", { name: /^Reviewed\s*I looked/ })).toBeFocused();
  await page.keyboard.press("ArrowDown");
  await expect(form.getByRole("radio", { name: /^Reviewed and approved/ })).toBeChecked();
  await page.keyboard.press("Tab");
  await page.keyboard.type("Compared with the filmstrip.");
  await page.keyboard.press("Tab");
  await page.keyboard.press("Enter");
  await expect(report.locator(".standing .tag")).toHaveText("✓signed off");
  await expect(report.locator(".standing")).toContainText("Reviewed and approved: M. Fink");
  await expect(report.locator(".standing")).toBeFocused();
  await expect(report).toContainText("Compared with the filmstrip.");

  // Somebody says something of it: what was signed is no longer what is there.
  await page.getByLabel("At the bench").selectOption(bench.supervisor.id);
  const verdict = page.getByRole("region", { name: "Verdict", exact: true });
  await verdict.getByRole("button", { name: /^Write/ }).click();
  await verdict.getByLabel("Nothing yet").check();
  await expect(verdict.getByText(/what it is stays open/)).toBeVisible();
  await verdict.getByRole("button", { name: "Confirm and record" }).click();
  await expect(report.locator(".standing .tag")).toHaveText("!draft again");
  await expect(report.locator(".standing")).toContainText("changed since: the verdict");
});

test("what was overtaken is not signed, and a signature is taken back with a reason", async ({ page, request, read, simulated }) => {
  const { bench } = read;
  const sample = await withResult(page, request, bench, simulated, "R-2");
  await page.getByLabel("At the bench").selectOption(bench.analyst.id);
  const report = page.getByRole("region", { name: "Report", exact: true });
  await report.getByRole("button", { name: "Sign off" }).click();
  // Meanwhile the sample is changed elsewhere.
  const detail = (await (await request.get(`${bench.address}api/samples/${sample}`, { headers: { "x-person": bench.supervisor.id } })).json()) as {
    record: string;
    sample: Record<string, unknown>;
  };
  const changed = await request.post(`${bench.address}api/samples/${sample}`, {
    headers: { "x-person": bench.supervisor.id },
    data: { supersedes: detail.record, sample: { ...detail.sample, remarks: "second vial" }, reason: null },
  });
  expect(changed.ok(), await changed.text()).toBe(true);
  await expect(report.getByText(/Something changed since this form was opened/)).toBeVisible();
  const confirm = report.getByRole("button", { name: "Sign with my name" });
  await expect(confirm).toBeDisabled();
  await report.getByRole("button", { name: "Look again" }).click();
  await confirm.click();
  await expect(report.locator(".standing")).toContainText("Reviewed: M. Fink");

  await report.getByText("The signature", { exact: true }).click();
  await report.getByRole("button", { name: "Take the signature back" }).click();
  const dialog = page.getByRole("dialog", { name: "Take the signature back" });
  await dialog.getByLabel("Why").fill("the second vial was not looked at");
  await dialog.getByRole("button", { name: "Take the signature back" }).click();
  await expect(report.locator(".standing")).toContainText("taken back: the second vial was not looked at");
  await expect(report.locator(".standing .tag")).toHaveText("!draft again");
});

test("the report is saved in the language chosen, and sentences are copied", async ({ page, context, request, read, simulated }) => {
  const { bench } = read;
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await withResult(page, request, bench, simulated, "R-3");
  const report = page.getByRole("region", { name: "Report", exact: true });
  const journal = report.getByRole("group", { name: "For the experimental part of a paper" });
  const english = await journal.locator(".text").innerText();
  expect(english).toMatch(/\d\s°C/);
  await report.getByLabel("Language").selectOption({ label: "Deutsch" });
  await report.getByRole("combobox", { name: /^Paper/ }).selectOption("letter");
  await expect(journal.locator(".text")).not.toHaveText(english);
  const pdf = await saved(page, report.getByRole("button", { name: "Save PDF" }));
  expect(pdf.name).toBe("R-3.pdf");
  expect(pdf.content.subarray(0, 5).toString()).toBe("%PDF-");
  const html = await saved(page, report.getByRole("button", { name: "Save page (HTML)" }));
  expect(html.content.toString()).toMatch(/<html[^>]* lang="de"/);

  for (const kind of ["For the experimental part of a paper", "For a notebook", "For a certificate"]) {
    const group = report.getByRole("group", { name: kind });
    await group.getByRole("button", { name: "Copy" }).click();
    await expect(group.getByRole("status")).toHaveText("copied");
    expect(await page.evaluate(() => navigator.clipboard.readText())).toBe(await group.locator(".text").textContent());
  }
  // Language and paper are as chosen in this browser.
  await page.reload();
  await expect(report.getByLabel("Language")).toHaveValue("de");
  await expect(report.getByRole("combobox", { name: /^Paper/ })).toHaveValue("letter");

  // Without leave to write to the clipboard the words are marked.
  await page.evaluate(() => Object.defineProperty(navigator, "clipboard", { value: undefined }));
  await journal.getByRole("button", { name: "Copy" }).click();
  await expect(journal.getByRole("status")).toContainText("The text is selected");
  const marked = (await page.evaluate(() => getSelection()?.toString())) ?? "";
  expect(marked.trim()).toBe((await journal.locator(".text").innerText()).trim());

  // A student who has not read it sees no report.
  await page.getByLabel("At the bench").selectOption(bench.student.id);
  await expect(report).toHaveCount(0);
});

test("one report of the list as it is filtered", async ({ page, request, read }) => {
  const sample = await addSample(request, read.bench, "Lot 7731");
  await openAs(page, read.bench, read.bench.supervisor, "samples");
  await page.getByLabel("Search").fill("7731");
  await expect(page.getByRole("rowheader").getByRole("link")).toHaveText(["Lot 7731"]);
  const [answer] = await Promise.all([
    page.waitForResponse((one) => one.url().includes("/api/report.pdf")),
    page.getByRole("button", { name: "Report of these samples (PDF)" }).click(),
  ]);
  expect(new URL(answer.url()).searchParams.get("samples")).toBe(sample);
});

const TABLE = [
  "sample;mp;date;by;shelf",
  "P-1;114-115 (corr.);2019-03-12;E. Zeisig;3",
  "P-2;> 300 dec.;;;4",
  "P-3;clear oil;;;5",
  "P-4;132-3;;;<b>6</b>",
].join("\n");

test("earlier results are looked through, recorded, and let not count", async ({ page, request, empty }) => {
  await openAs(page, empty, empty.analyst, "out");
  const section = page.getByRole("region", { name: "Earlier results from a table" });
  await section.getByLabel("Choose a CSV, or drop it here").setInputFiles({ name: "cards.csv", mimeType: "text/csv", buffer: Buffer.from(TABLE) });
  await expect(section.getByRole("heading", { name: "What is understood of cards.csv" })).toBeFocused();
  await expect(section).toContainText("Between the cells: semicolon.");
  await expect(section.getByText("shelf", { exact: true }).locator("..")).toContainText("left alone");
  const rows = section.getByRole("region", { name: "3 rows understood" });
  await expect(rows.getByRole("row", { name: /P-1/ })).toContainText("114.0–115.0 °C");
  await expect(rows.getByRole("row", { name: /P-1/ })).toContainText("new sample");
  await expect(rows.getByRole("row", { name: /P-2/ })).toContainText("above 300.0 °C, decomposed");
  await expect(rows.getByRole("row", { name: /P-4/ })).toContainText("132-3 was read as 132–133");
  const faults = section.getByRole("region", { name: "Not understood" });
  await expect(faults).toContainText(/line 4, mp: found “clear oil”; expected /);
  await expect(faults).toContainText("row left out");
  await axe(page);
  // Nothing is recorded by looking.
  const total = async () => ((await (await request.get(`${empty.address}api/samples`)).json()) as { total: number }).total;
  expect(await total()).toBe(0);
  await expect(section).toContainText("Recorded in the name of M. Fink.");
  await section.getByRole("button", { name: "Record 3 results" }).press("Enter");
  await expect(section.getByText(/3 results recorded, 3 samples added, 1 row left out/)).toBeFocused();
  expect(await total()).toBe(3);

  // The same table again brings nothing new.
  await section.getByLabel("Choose a CSV, or drop it here").setInputFiles({ name: "cards.csv", mimeType: "text/csv", buffer: Buffer.from(TABLE) });
  await expect(rows.getByText("in the book already")).toHaveCount(3);
  await expect(section.getByRole("button", { name: "Record 0 results" })).toBeDisabled();
  await rows.getByRole("link", { name: "P-1" }).click();
  const past = page.getByRole("region", { name: "Earlier results" }).first();
  await expect(past).toContainText("no pictures here stand behind them");
  await expect(past.getByRole("row", { name: /114-115/ })).toContainText("cards.csv, line 2");
  await past.getByRole("button", { name: "Does not count: 114-115 (corr.)" }).click();
  const dialog = page.getByRole("dialog", { name: "This result does not count" });
  await dialog.getByLabel("Why").fill("another compound");
  await dialog.getByRole("button", { name: "Does not count" }).click();
  await expect(past).toContainText("does not count: another compound");
  await expect(past.getByRole("button", { name: /^Does not count/ })).toHaveCount(0);
});

test("a pasted table is looked through; what is no table is refused in words", async ({ page, empty }) => {
  await openAs(page, empty, empty.analyst, "out");
  const section = page.getByRole("region", { name: "Earlier results from a table" });
  await section.getByText("Or paste the table").first().click();
  await section.getByRole("textbox", { name: "Or paste the table" }).fill("colour,shape\nred,round\n");
  await section.getByRole("button", { name: "Look it through" }).click();
  await expect(section.getByRole("alert")).toContainText("names the samples");
  await section.getByRole("textbox", { name: "Or paste the table" }).fill("label\tmp\nP-9\t94-95");
  await section.getByRole("button", { name: "Look it through" }).click();
  await expect(section.getByRole("row", { name: /P-9/ })).toContainText("94.0–95.0 °C");
  await expect(section).toContainText("Between the cells: tab.");
});

test("the room Out and in is narrow on a phone, and its keys are large enough", async ({ page, empty }) => {
  for (const width of [360, 810]) {
    await page.setViewportSize({ width, height: 800 });
    await openAs(page, empty, empty.supervisor, "out");
    await expect(page.getByRole("button", { name: "Save the book (archive)" })).toBeVisible();
    const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    expect(over, `${width}`).toBeLessThanOrEqual(0);
    const small = await page.locator("main button:visible, main summary:visible").evaluateAll((all) =>
      all.map((one) => one.getBoundingClientRect()).filter((box) => box.height < 43.5 || box.width < 43.5).length,
    );
    expect(small).toBe(0);
  }
  await axe(page);
});

test("pages on paper hold what was found and nothing to press", async ({ page, read }) => {
  const rooms: [string, string][] = [
    [`samples/${read.sample}`, "Runs and readings"],
    [`recordings/${read.recordings[0]}`, "Filmstrip"],
    ["samples", "U-1"],
    ["identity", "What could it be"],
  ];
  for (const [room, shown] of rooms) {
    await page.emulateMedia({ media: "screen", colorScheme: "dark" });
    await openAs(page, read.bench, read.bench.supervisor, room);
    await page.locator("html").evaluate((one) => (one.dataset["theme"] = "dark"));
    await expect(page.locator("main").getByText(shown).first()).toBeVisible();
    await page.emulateMedia({ media: "print", colorScheme: "dark" });
    await expect(page.locator("main").getByText(shown).first()).toBeVisible();
    await expect(page.locator("nav:visible, button:not(.on-paper):visible, a.button:visible")).toHaveCount(0);
    // The pictures that are the evidence stay.
    if (room.startsWith("recordings/")) await expect(page.locator(".strip canvas").first()).toBeVisible();
    const colours = await page.locator("body").evaluate((one) => [getComputedStyle(one).color, getComputedStyle(document.documentElement).backgroundColor]);
    expect(colours, room).toEqual(["rgb(0, 0, 0)", "rgb(255, 255, 255)"]);
    // Ink stands on the page: more than one colour in the picture of it.
    const picture = (await page.screenshot({ fullPage: true })).toString("base64");
    const inked = await page.evaluate(async (data) => {
      const image = new Image();
      image.src = `data:image/png;base64,${data}`;
      await image.decode();
      const canvas = document.createElement("canvas");
      canvas.width = image.width;
      canvas.height = image.height;
      const context = canvas.getContext("2d");
      context?.drawImage(image, 0, 0);
      const pixels = context?.getImageData(0, 0, image.width, image.height).data ?? new Uint8ClampedArray();
      let dark = 0;
      for (let at = 0; at < pixels.length; at += 4) if ((pixels[at] ?? 255) < 64) dark += 1;
      return dark;
    }, picture);
    expect(inked, room).toBeGreaterThan(500);
    const pdf = await page.pdf({ preferCSSPageSize: true });
    expect(pdf.length, room).toBeGreaterThan(5_000);
  }
});
