import AxeBuilder from "@axe-core/playwright";
import { addBench, addCheck, addSample, addStandard, daysAgo, expect, imported, openAs, test } from "./bench";

test("a standard is added from the usual ones, with the value of one's own label", async ({ page, empty }) => {
  await openAs(page, empty, empty.supervisor, "thermometers");
  await expect(page.getByText("No bench has a record yet.")).toBeVisible();
  await page.getByRole("link", { name: "Standards in the cupboard" }).click();
  await expect(page.getByText("No standard yet.")).toBeVisible();
  await page.getByRole("button", { name: "Add a standard" }).first().click();
  const form = page.getByRole("region", { name: "Add a standard" });

  await form.getByLabel("Start from a usual one").selectOption("benzoic acid");
  await expect(form.getByRole("textbox", { name: "Substance" })).toHaveValue("benzoic acid");
  await expect(form.getByLabel("Value on the label")).toHaveValue("");
  await expect(form.getByText("Type the value from your own label")).toBeVisible();
  await expect(form.getByLabel("Cautions")).not.toHaveValue("");

  await form.getByLabel("Value on the label").fill("112.4");
  await expect(form.getByText("more than 3 °C from the usual")).toBeVisible();
  await form.getByLabel("Value on the label").fill("122.4");
  await expect(form.getByText("more than 3 °C from the usual")).toBeHidden();
  await form.getByLabel("Standard uncertainty").fill("0.1");
  await form.getByRole("radio", { name: /^at a heating rate/ }).check();
  await form.getByLabel("Heating rate on the label").fill("1");
  await form.getByLabel("Use before").fill(daysAgo(3));
  await form.getByRole("button", { name: "Add a standard" }).click();

  const row = page.getByRole("row", { name: /benzoic acid/ });
  await expect(row).toContainText("122.40 ± 0.10 °C");
  await expect(row).toContainText("at 1.00 °C/min");
  await expect(row).toContainText("expired");

  await row.getByRole("button", { name: /^Change/ }).click();
  const change = page.getByRole("region", { name: /^Change/ });
  await change.getByLabel("Use before").fill("2099-01-31");
  await change.getByLabel("Reason for the change").fill("new bottle");
  await change.getByRole("button", { name: "Save the changes" }).click();
  await expect(row).toContainText("31 Jan 2099");
  await expect(row).not.toContainText("expired");

  await row.getByRole("button", { name: /^Retire/ }).click();
  await page.getByRole("dialog").getByLabel("Reason").fill("used up");
  await page.getByRole("dialog").getByRole("button", { name: "Retire" }).click();
  await expect(page.getByText("1 retired")).toBeVisible();
});

test("a check is entered with the keyboard alone, and declared void with a reason", async ({ page, empty, request }) => {
  await addStandard(request, empty, "benzoic acid", 122.35);
  await openAs(page, empty, empty.student, "thermometers");
  await page.getByRole("button", { name: "Add a bench" }).click();
  const adding = page.getByRole("region", { name: "Add a bench" });
  await adding.getByLabel("Name of the bench").fill("West");
  await adding.getByRole("textbox", { name: /^Thermometer/ }).fill("Pt100 no. 12");
  await adding.getByLabel("Highest temperature").fill("200");
  await adding.getByRole("button", { name: "Add a bench" }).click();
  await expect(page.getByRole("row", { name: /West/ })).toContainText("never checked");
  await page.getByRole("link", { name: "West" }).click();
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Thermometer of West");

  await page.getByRole("combobox", { name: /^Standard/ }).focus();
  await page.keyboard.press("b");
  await page.keyboard.press("Tab");
  await page.keyboard.type("121.95");
  await page.keyboard.press("Tab");
  await page.keyboard.type("0.05");
  await page.keyboard.press("Tab");
  await page.keyboard.type("0.5");
  await page.keyboard.press("Enter");
  await expect(page.getByText("Entered. The thermometer needs +0.40 °C there.")).toBeVisible();
  await expect(page.getByText("The value on the label of your own standard counts")).toBeVisible();
  const checks = page.getByRole("region", { name: "Checks" });
  await expect(checks.getByRole("row", { name: /benzoic acid/ })).toContainText("121.95 ± 0.05 °C");
  await expect(page.locator(".tag", { hasText: "in order" })).toBeVisible();
  // A student enters checks; calibrations are for those who answer for them.
  await expect(page.getByRole("button", { name: "Make a new calibration" })).toBeDisabled();

  // More than the bench may become.
  await page.getByRole("combobox", { name: /^Standard/ }).selectOption({ index: 1 });
  await page.getByLabel("Indicated, °C").fill("215");
  await page.getByRole("button", { name: "Enter it" }).click();
  await expect(checks.getByRole("row")).toHaveCount(2);

  await checks.getByRole("button", { name: /^Declare void/ }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByRole("button", { name: "Declare void" }).click();
  await expect(dialog).toBeVisible();
  await dialog.getByLabel("Reason").fill("the tube was cracked");
  await dialog.getByRole("button", { name: "Declare void" }).click();
  await expect(page.getByText("1 void check")).toBeVisible();
  await page.getByText("1 void check").click();
  await expect(page.getByText("the tube was cracked")).toBeVisible();
  await expect(page.locator(".tag", { hasText: "never checked" })).toBeVisible();
});

test("a drifting thermometer is out of control, in the chart, the table, the words and on Today", async ({ page, empty, request }) => {
  const standard = await addStandard(request, empty, "benzoic acid", 122.35);
  const at = await addBench(request, empty, "East");
  // Steady at first, then far off: three standard deviations of 0.1 °C are the least that a young chart believes.
  const off = [-0.03, 0.02, 0.0, 0.04, -0.02, 0.01, 0.03, -0.01, 0.9];
  for (const [i, by] of off.entries()) {
    await addCheck(request, empty, at, { standard, made_on: daysAgo(170 - i * 20), indicated_c: 122.35 + by });
  }
  await openAs(page, empty, empty.analyst, `thermometers/${at}`);
  await expect(page.locator(".tag", { hasText: "out of control" })).toBeVisible();
  const drift = page.getByRole("region", { name: "Drift" });
  await expect(drift.getByRole("img", { name: /^Drift of the thermometer/ })).toBeVisible();
  await expect(drift.getByText(/^upper limit/).first()).toBeVisible();
  await expect(drift.locator("svg path.alarm").nth(1)).toBeVisible();
  await expect(drift.getByRole("row", { name: /^9/ })).toContainText("+0.90 °C");
  await expect(drift.getByRole("row", { name: /^9/ })).toContainText("alarm");
  await expect(drift.getByText(/^. Check 9/).first()).toBeVisible();
  await drift.getByText("Rules and where they come from").click();
  await expect(drift.getByText(/NIST\/SEMATECH/).first()).toBeVisible();

  await openAs(page, empty, empty.analyst, "today");
  const waiting = page.getByRole("region", { name: /^Thermometers/ });
  await expect(waiting.getByRole("link", { name: /East/ })).toContainText("out of control");
  await waiting.getByRole("link", { name: /East/ }).click();
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Thermometer of East");
});

test("a calibration is tried, kept, changes the results, and is withdrawn with a reason", async ({ page, empty, request, simulated }) => {
  test.setTimeout(240_000);
  const standards = [
    await addStandard(request, empty, "benzophenone", 48.1),
    await addStandard(request, empty, "naphthalene", 80.2),
    await addStandard(request, empty, "benzoic acid", 122.4),
    await addStandard(request, empty, "salicylic acid", 158.6),
  ];
  const at = await addBench(request, empty, "North block");
  for (const [i, indicated_c] of [47.7, 79.8, 122.0, 158.2].entries()) {
    await addCheck(request, empty, at, { standard: standards[i] ?? "", made_on: daysAgo(5), indicated_c });
  }
  const sample = await addSample(request, empty, "U-1");
  await imported(request, empty, simulated, [sample, sample, sample], 0, at);
  await imported(request, empty, simulated, [sample, sample, null], 6, at);

  await openAs(page, empty, empty.analyst, `samples/${sample}`);
  const determination = page.getByRole("region", { name: "Determination" });
  await expect(determination).toContainText("as indicated, not corrected");
  const before = (await determination.locator(".range").textContent()) ?? "";
  await page.getByRole("button", { name: /^State the result/ }).click();
  await expect(page.getByRole("region", { name: "Result" })).toContainText(before);

  // Tried at once, nothing kept yet.
  await openAs(page, empty, empty.analyst, `thermometers/${at}`);
  await page.getByRole("button", { name: "Make a new calibration" }).click();
  const making = page.getByRole("region", { name: "Make a new calibration" });
  await expect(making).toContainText("add +0.40 °C at every temperature");
  await making.getByLabel("In force from").fill("2020-01-01");
  await making.getByLabel("In force from").blur();
  await expect(making).toContainText("1 of 1 result changes.");
  await making.getByLabel("Shape of the correction").selectOption("1");
  await expect(making).toContainText("as asked for");
  await making.getByLabel("Shape of the correction").selectOption("");
  await making.getByRole("button", { name: "Leave out: benzophenone" }).click();
  await expect(making.getByRole("button", { name: "Use again: benzophenone" })).toBeVisible();
  await making.getByRole("button", { name: "Use again: benzophenone" }).click();
  await expect(making.getByRole("button", { name: "Leave out: benzophenone" })).toBeVisible();
  await making.getByRole("button", { name: "Keep this calibration" }).click();

  await expect(page.getByText("The calibration is in force from 1 Jan 2020.")).toBeVisible();
  const changed = page.getByRole("region", { name: "What changed" });
  await expect(changed.getByRole("row", { name: /U-1/ })).toContainText("+0.40 °C");
  const inForce = page.getByRole("region", { name: "Calibration in force" });
  await inForce.getByLabel("Correct a reading of").fill("100");
  await expect(inForce).toContainText(/100\.40? ± 0\.\d+ °C/);

  // The result follows, with its convention.
  await changed.getByRole("link", { name: "U-1" }).click();
  const result = page.getByRole("region", { name: "Result" });
  await expect(result).toContainText("corrected, thermodynamic convention");
  await expect(result).toContainText("North block: in order");
  const numbers = (text: string | null) => (text?.match(/\d+\.\d/g) ?? []).map(Number);
  const low = numbers(before)[0] ?? Number.NaN;
  // Both are written to a tenth.
  expect(Math.abs((numbers(await result.locator(".range").textContent())[0] ?? 0) - low - 0.4)).toBeLessThan(0.11);

  // A required range, in words.
  await determination.getByLabel("From, °C").fill(String(low - 5));
  await determination.getByLabel("To, °C").fill(String(low + 15));
  await expect(determination).toContainText("The requirement is met.");
  await determination.getByLabel("From, °C").fill(String(low + 5));
  await expect(determination).toContainText("The requirement is not met.");
  await determination.getByText("What the uncertainty is made of").click();
  await expect(determination.getByRole("rowheader", { name: /correction/ }).first()).toBeVisible();
  await page.context().grantPermissions(["clipboard-read", "clipboard-write"]);
  await determination.getByRole("button", { name: "Copy" }).click();
  await expect(determination.getByText("Copied")).toBeVisible();
  expect(await page.evaluate(() => navigator.clipboard.readText())).toContain("°C");

  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    for (const room of [`samples/${sample}`, `thermometers/${at}`, "thermometers", "standards"]) {
      await openAs(page, empty, empty.analyst, room);
      await expect(page.locator("main .tag, main table").first()).toBeVisible();
      await page.locator("main details").evaluateAll((all) => all.forEach((one) => one.setAttribute("open", "")));
      const found = await new AxeBuilder({ page }).analyze();
      expect(found.violations.map((one) => `${one.id}: ${one.nodes[0]?.html}`), `${room}, ${scheme}`).toEqual([]);
    }
  }

  await openAs(page, empty, empty.analyst, `thermometers/${at}`);
  await page.getByRole("button", { name: /^Withdraw/ }).click();
  const dialog = page.getByRole("dialog");
  await dialog.getByLabel("Reason").fill("the label was misread");
  await dialog.getByRole("button", { name: "Withdraw" }).click();
  await expect(page.getByText("The calibration is withdrawn.")).toBeVisible();
  await expect(page.getByRole("region", { name: "Calibrations so far" })).toContainText("because: the label was misread");
  await openAs(page, empty, empty.analyst, `samples/${sample}`);
  await expect(page.getByRole("region", { name: "Result" })).toContainText("as logged, not corrected");
  await expect(page.getByRole("region", { name: "Result" })).toContainText(before);
});

test("settings of a thermometer are changed, and a tablet holds its pages", async ({ page, empty, request }) => {
  const at = await addBench(request, empty, "South");
  await openAs(page, empty, empty.analyst, `thermometers/${at}`);
  await page.getByRole("button", { name: "Change the settings" }).click();
  await page.getByLabel("Check every").fill("30");
  await page.getByRole("textbox", { name: /^Thermometer/ }).fill("Pt100 no. 13");
  await page.getByLabel("Reason (optional)").fill("the old one broke");
  await page.getByRole("button", { name: "Save the settings" }).click();
  await expect(page.getByText(/Pt100 no\. 13 .*checked every 30 days/)).toBeVisible();

  for (const size of [
    { width: 1080, height: 810 },
    { width: 810, height: 1080 },
  ]) {
    await page.setViewportSize(size);
    for (const room of ["thermometers", `thermometers/${at}`, "standards"]) {
      await openAs(page, empty, empty.analyst, room);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      expect(over, `${room} at ${size.width}`).toBeLessThanOrEqual(0);
      const small = await page.locator("button:visible, a.button:visible, select:visible").evaluateAll((all) =>
        all.map((one) => one.getBoundingClientRect()).filter((box) => box.height < 43.5 || box.width < 43.5).length,
      );
      expect(small, `${room} at ${size.width}`).toBe(0);
    }
  }
});
