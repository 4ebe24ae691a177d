import { expect, openAs, test } from "./bench";

test("a student reads before the engine's opinion is shown", async ({ page, read, simulated }) => {
  const answers: string[] = [];
  page.on("response", async (response) => {
    if (/\/api\/(recordings|readings)\//.test(response.url()) && response.headers()["content-type"]?.includes("json")) {
      answers.push(await response.text().catch(() => ""));
    }
  });
  const recording = read.recordings[0];
  await openAs(page, read.bench, read.bench.student, `recordings/${recording}`);
  await expect(page.locator("canvas").first()).toHaveAttribute("data-frame", "0");
  await expect(page.getByRole("checkbox", { name: "Read blind" })).toBeChecked();
  await expect(page.getByText("The engine’s opinion is hidden until you have sent yours.")).toBeVisible();

  // Neither on the page nor in anything that was fetched for it.
  await expect(page.getByText("±")).toHaveCount(0);
  await expect(page.getByRole("columnheader", { name: "Engine" })).toHaveCount(0);
  await page.keyboard.press("n");
  await expect(page.locator("canvas").first()).toHaveAttribute("data-frame", "0");
  await expect.poll(() => answers.length).toBeGreaterThan(1);
  expect(answers.join("\n")).not.toContain("standard_uncertainty_c");

  // Nothing can be sent before every tube is marked.
  await page.keyboard.press("s");
  await expect(page.getByRole("alert").filter({ hasText: "First liquid is not marked" })).toBeVisible();

  // Marked where the simulation knows the moments to be: by frame, a second apart.
  for (const [i, tube] of simulated.truth.tubes.entries()) {
    await page.keyboard.press(String(i + 1));
    for (const [key, moment] of [
      ["f", tube.first_liquid],
      ["l", tube.last_crystal],
    ] as const) {
      const target = Math.round(moment?.time_s ?? 0);
      await page.keyboard.press("Home");
      await page.evaluate((n) => {
        const slider = document.querySelector("[role=slider]");
        for (let k = 0; k < n; k += 1) {
          slider?.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowRight", bubbles: true, cancelable: true }));
        }
      }, target);
      await expect(page.locator("canvas").first()).toHaveAttribute("data-frame", String(target));
      await page.keyboard.press(key);
    }
  }
  await expect(page.getByText("All tubes are marked.")).toBeVisible();
  const sent = page.waitForRequest((request) => request.method() === "POST" && request.url().endsWith("/readings"));
  await page.keyboard.press("s");
  await sent;

  // Now both stand side by side, and the record says that it was read blind.
  await expect(page.getByRole("heading", { name: "Compared" })).toBeVisible();
  await expect(page.getByText("read blind.")).toBeVisible();
  await expect(page.getByRole("columnheader", { name: "Engine" }).first()).toBeVisible();
  const apart = page.getByRole("region", { name: "Compared" }).getByRole("row").nth(1).getByRole("cell").last();
  expect(Math.abs(Number.parseFloat((await apart.textContent())?.replace("−", "-") ?? ""))).toBeLessThan(1);
});

test("opinions stay hidden on the sample, too, and an analyst sees them", async ({ page, browser, read }) => {
  // The student has read one recording; the other is still hidden.
  await openAs(page, read.bench, read.bench.student, `recordings/${read.recordings[1]}`);
  await expect(page.getByText("The engine’s opinion is hidden until you have sent yours.")).toBeVisible();
  const other = await (await browser.newContext()).newPage();
  await openAs(other, read.bench, read.bench.analyst, `recordings/${read.recordings[1]}`);
  await expect(other.getByText("±").first()).toBeVisible();
  await expect(other.getByRole("checkbox", { name: "Read blind" })).not.toBeChecked();
  await other.getByRole("checkbox", { name: "Read blind" }).check();
  await expect(other.getByRole("columnheader", { name: "Engine" })).toHaveCount(0);
  await other.context().close();
});
