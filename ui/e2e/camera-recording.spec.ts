/** A browser's camera through a run at a bench to a recording in the book, held against the film that it shows. */
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "@playwright/test";
import { expect, openAs, test } from "./bench";
import { film, following, numbers, RATE, scatter } from "./numbered_film";

const BENCH = `name = "North"
places = 3
room_c = 22.0
max_c = 300.0
[thermometer]
kind = "simulated"
[heater]
kind = "simulated"
[camera]
kind = "browser"
`;

test("a run with a browser's camera leaves a recording whose pictures and times match the film", async ({ empty: bench, request }, info) => {
  test.setTimeout(120_000);
  const folder = mkdtempSync(join(tmpdir(), "meltrange-recording-"));
  const playing = join(folder, "numbers.y4m");
  film(playing);
  mkdirSync(join(bench.folder, "benches"));
  writeFileSync(join(bench.folder, "benches", "north.toml"), BENCH);
  const browser = await chromium.launch({
    executablePath: process.env["CHROMIUM"] ?? "/usr/bin/chromium",
    args: [
      "--no-sandbox",
      "--use-fake-ui-for-media-stream",
      "--use-fake-device-for-media-stream",
      `--use-file-for-fake-video-capture=${playing}`,
    ],
  });
  try {
    const as = { headers: { "x-person": bench.analyst.id } };
    const live = `${bench.address}api/live/North`;
    const post = async (what: string, data: object, status: number) => {
      const answer = await request.post(`${live}/${what}`, { ...as, data });
      expect(answer.status(), await answer.text()).toBe(status);
      return answer;
    };
    await post("open", {}, 204);
    const page = await browser.newPage();
    await openAs(page, bench, bench.analyst, "camera/North");
    await page.getByLabel("Pictures a second").selectOption("10");
    await page.getByRole("button", { name: "Start showing" }).click();
    await expect(page.getByRole("status").getByText("Showing", { exact: true })).toBeVisible();
    const begun = await post("runs", { plan: { kind: "scouting", up_to_c: 200 }, tubes: [], end_when_clear: false }, 201);
    const { recording } = (await begun.json()) as { recording: string };
    await page.waitForTimeout(15_000);
    await post("press", { key: "stop" }, 204);
    const path = `${bench.address}api/recordings/${recording}/frames`;
    let times_s: number[] = [];
    await expect
      .poll(async () => {
        const answer = await request.get(path, as);
        if (!answer.ok()) return 0;
        times_s = ((await answer.json()) as { time_s: number[] }).time_s;
        return times_s.length;
      })
      .toBeGreaterThan(13 * RATE);
    for (const [n] of times_s.entries()) {
      const picture = await request.get(`${path}/${n}`, as);
      expect(picture.status()).toBe(200);
      writeFileSync(join(folder, `${String(n + 1).padStart(6, "0")}.jpg`), await picture.body());
    }
    const found = await numbers(folder);
    following(found, 2);
    const line = scatter(found, times_s);
    info.annotations.push({ type: "measured", description: JSON.stringify({ pictures: found.length, ...line }) });
    console.log(info.title, { pictures: found.length, ...line });
    expect(Math.abs(line.spacing_s - 1 / RATE)).toBeLessThan(0.003);
    expect(line.rms_s).toBeLessThan(0.03);
  } finally {
    await browser.close();
    rmSync(folder, { recursive: true });
  }
});
