import AxeBuilder from "@axe-core/playwright";
import { expect, openAs, test } from "./bench";

/** WCAG 2.2 AA and what axe counts as good practice. */
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing on any page, ${scheme}`, async ({ page, read }) => {
    await page.emulateMedia({ colorScheme: scheme });
    // Each with something that is there only when the page has got what it shows.
    const rooms: [string, string][] = [
      ["today", "Not yet agreed"],
      ["samples", "irritates eyes and skin"],
      [`samples/${read.sample}`, "Runs and readings"],
      ["recordings", "unknown.mp4"],
      [`recordings/${read.recordings[0]}`, "Filmstrip"],
      ["import", "Pick a video first."],
      [`compare?of=${read.recordings.join(",")}`, "melted fraction"],
      ["compare", "Nothing chosen yet."],
      ["thermometers", "Every temperature here"],
      ["standards", "Reference substances in the cupboard"],
      ["people", "S. Drossel"],
      ["out", "The whole book"],
      // Without a camera; with one it is looked at in camera.spec.ts.
      ["camera/North", "This device shows the tubes"],
      ["elsewhere", "Nothing is kept under this address."],
    ];
    for (const [room, shown] of rooms) {
      await openAs(page, read.bench, read.bench.analyst, room);
      await expect(page.locator("main").getByText(shown).first()).toBeVisible();
      if (room === "samples") await page.getByRole("button", { name: "Add a sample" }).first().click();
      if (room.startsWith("recordings/") || room.startsWith("compare?")) {
        await expect(page.locator("canvas").first()).toHaveAttribute("data-frame", /\d/);
      }
      const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
      const faults = found.violations.map(
        (one) => `${one.impact} ${one.id}: ${one.help}\n  ${one.nodes.map((node) => node.html).slice(0, 3).join("\n  ")}`,
      );
      expect(faults, `${room}, ${scheme}`).toEqual([]);
    }
  });
}

test("everything that is pressed is at least 44 px on a tablet, and nothing runs out of the page", async ({ page, read }) => {
  for (const size of [
    { width: 1080, height: 810 },
    { width: 810, height: 1080 },
  ]) {
    await page.setViewportSize(size);
    for (const room of ["today", "samples", `samples/${read.sample}`, "recordings", `recordings/${read.recordings[0]}`, "import"]) {
      await openAs(page, read.bench, read.bench.analyst, room);
      await expect(page.locator("main button, main a, main input").first()).toBeVisible();
      const small = await page.locator("button:visible, a.button:visible, select:visible, nav a:visible").evaluateAll((all) =>
        all
          .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent?.trim() ?? "" }))
          .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
          .map(({ box, text }) => `${text} ${box.width.toFixed(0)} × ${box.height.toFixed(0)}`),
      );
      expect(small, room).toEqual([]);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      expect(over, `${room} at ${size.width}`).toBeLessThanOrEqual(0);
    }
  }
});
