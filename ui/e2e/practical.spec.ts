/** A class session and what goes wrong in one: late, lost, swapped, failed, offline. */
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import AxeBuilder from "@axe-core/playwright";
import type { Page } from "@playwright/test";
import { expect, openAs, program, run, serve, stop, test } from "./bench";
import { benchCard, card, Class, joinBy, joinQuietly, openBoard, PHONE, stepQuietly, typeResult, UNKNOWNS } from "./practical";

const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const alertOf = (page: Page, text: string | RegExp) => page.getByRole("alert").filter({ hasText: text });

// What is not there is said where it is missing, not at the end of the test.
test.use({ actionTimeout: 20_000 });

test("two of one name, somebody late, and a board that is reloaded", async ({ page: board, request, empty, browser }) => {
  const session = await Class.setUp(request, empty.address, empty.supervisor.id, { seats: 2 });
  await openBoard(board, empty, session);
  const { class_code } = await session.labels();
  const pages = await Promise.all([0, 1, 2].map(async () => (await browser.newContext({ viewport: PHONE })).newPage()));
  const [one, other, late] = pages as [Page, Page, Page];
  const a = await joinBy(one, empty.address, class_code, "A. Wren");
  const b = await joinBy(other, empty.address, class_code, "A. Wren");
  expect([a.seat, b.seat, a.person === b.person]).toEqual([1, 2, false]);
  await expect(board.getByText("A. Wren")).toHaveCount(2);
  const pseudonyms = (await session.board()).seats.flatMap((seat) => seat.people.map((person) => person.pseudonym));
  expect(new Set(pseudonyms).size).toBe(2);
  await board.getByRole("button", { name: "Begin" }).click();
  await typeResult(one, 1, 113.1, 114.2);
  await typeResult(other, 1, 94.1, 95.2);
  await expect(card(board, 1).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();
  await expect(card(board, 2).getByText("Run 1: 94.1–95.2 °C")).toBeVisible();
  await expect(card(board, 2).getByText("113.1")).toHaveCount(0);

  // Every seat is taken until one is added.
  await late.goto(`${empty.address}#/join?code=${class_code}`);
  await late.getByRole("button", { name: "Sit down" }).click();
  await expect(alertOf(late, /add a seat/)).toBeVisible();
  await board.getByRole("button", { name: "Add a seat" }).click();
  await expect(card(board, 3)).toBeVisible();
  await late.getByRole("button", { name: "Sit down" }).click();
  await expect(late.getByRole("heading", { name: /^Seat 3 · Vial / })).toBeVisible();
  await expect(late.getByText(/Your turn at bench|loads? before you|You are next/).first()).toBeVisible();

  // Help, oldest first; and all of it is there again after a reload.
  await late.getByLabel("What is the matter?").fill("my tube broke");
  await late.getByRole("button", { name: "Ask for help" }).click();
  await expect(board.locator("[data-seat]").first()).toHaveAttribute("data-seat", "3");
  await one.getByRole("button", { name: "Ask for help" }).click();
  await expect(board.locator("[data-seat]").nth(1)).toHaveAttribute("data-seat", "1");
  await board.reload();
  await expect(board.locator("[data-seat]").first()).toHaveAttribute("data-seat", "3");
  await expect(card(board, 3).getByText("my tube broke")).toBeVisible();
  await expect(card(board, 1).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();
  await board.getByRole("button", { name: "Help given to seat 3" }).click();
  await expect(card(board, 3).getByText("my tube broke")).toHaveCount(0);
  await expect(late.getByRole("button", { name: "Ask for help" })).toBeVisible();

  // Names are forgotten only after two questions; the record stays.
  await board.getByText("More", { exact: true }).click();
  await board.getByRole("button", { name: "Forget names" }).click();
  const dialog = board.getByRole("dialog");
  await dialog.getByRole("button", { name: "Yes" }).click();
  await expect(dialog.getByText(/^Really\?/)).toBeVisible();
  await dialog.getByRole("button", { name: "Yes" }).click();
  await expect(board.getByText("A. Wren")).toHaveCount(0);
  await expect(card(board, 1).getByText(pseudonyms[0] ?? "?")).toBeVisible();
  await expect(card(board, 1).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();
  await Promise.all(pages.map((page) => page.context().close()));
});

test("a bench that fails, a vial that was swapped, points set by hand", async ({ page: board, request, empty, browser }) => {
  const session = await Class.setUp(request, empty.address, empty.supervisor.id);
  const phone = await (await browser.newContext({ viewport: PHONE })).newPage();
  const { labels } = await session.labels();
  const seat = await joinBy(phone, empty.address, labels[0]?.code ?? "");
  for (const { code } of labels.slice(1)) expect((await joinQuietly(phone, code, null)).status).toBe(200);
  await session.do({ what: "begin" });
  await openBoard(board, empty, session);
  await expect(phone.getByText(/Your turn at bench|loads? before you|You are next/).first()).toBeVisible();

  await board.getByRole("button", { name: "Bench A out" }).click();
  await board.getByLabel("What is wrong with it").fill("thermometer shows nonsense");
  await board.getByRole("button", { name: "Take it out" }).click();
  await expect(benchCard(board, "A").getByText("out: thermometer shows nonsense")).toBeVisible();
  await expect(benchCard(board, "A").getByRole("button", { name: /Set in/ })).toHaveCount(0);
  const without = await session.board();
  expect(without.benches.find((bench) => bench.bench === "A")).toMatchObject({ out: true, now: null, next: null });
  expect(without.seats.filter((one) => one.turn?.bench === "A" && one.turn.standing !== "over")).toEqual([]);
  expect(without.benches.find((bench) => bench.bench === "B")?.next?.called).toBe(true);
  await expect(phone.getByText(/bench A/)).toHaveCount(0);
  await board.getByRole("button", { name: "Bench A is back" }).click();
  await expect(benchCard(board, "A").getByRole("button", { name: "Bench A out" })).toBeVisible();

  await board.getByRole("button", { name: "Details of seat 1", exact: true }).click();
  const panel = board.getByRole("dialog");
  const dealt = without.seats[0]?.unknown ?? 0;
  const really = (dealt + 1) % UNKNOWNS.length;
  await panel.getByText("Another unknown is in the vial").click();
  await panel.getByLabel("Really in it").selectOption(UNKNOWNS[really]?.[0] ?? "");
  await panel.getByLabel("How that is known").fill("the stock bottle was relabelled");
  await panel.getByRole("button", { name: "Write it down" }).click();
  await expect(panel.getByText(`in the vial: ${UNKNOWNS[really]?.[0]}`)).toBeVisible();
  await expect(panel.getByText("vial swapped")).toBeVisible();

  await typeResult(phone, 1, 100.2, 101.4);
  await expect(panel.getByText("100.2 °C")).toBeVisible();
  await panel.locator("summary", { hasText: "Set these marks" }).click();
  await panel.getByLabel(/^Care/).fill("4.5");
  await panel.getByLabel("Why they are changed").fill("worked cleanly");
  await panel.getByRole("button", { name: "Set these marks" }).click();
  await expect(panel.getByText("Set by you")).toBeVisible();
  await panel.getByRole("button", { name: "Close" }).click();
  await board.getByText("History", { exact: true }).last().click();
  const history = board.getByRole("group", { name: "History" });
  await expect(history.getByText("the stock bottle was relabelled")).toBeVisible();
  await expect(history.getByText("worked cleanly")).toBeVisible();
  await expect(history.getByText("thermometer shows nonsense")).toBeVisible();
  // The student is not told what was in the vial by any of it.
  expect(seat.seat).toBe(1);
  expect(await phone.locator("main").textContent()).not.toContain("relabelled");
  await phone.context().close();
});

/** Gives a seat a new code on the board; resolves with it. */
async function newCode(board: Page, seat: number): Promise<string> {
  await board.getByRole("button", { name: `Details of seat ${seat}`, exact: true }).click();
  const panel = board.getByRole("dialog");
  await panel.locator("summary", { hasText: "New code (lost phone)" }).click();
  await panel.getByRole("button", { name: "New code (lost phone)" }).click();
  await expect(panel.getByText(`New code for seat ${seat}`)).toBeVisible();
  await expect(panel.getByAltText(`Square code for seat ${seat}`)).toBeVisible();
  const code = (await panel.locator(".code").textContent())?.trim() ?? "";
  await panel.getByRole("button", { name: "Close" }).click();
  return code;
}

test("a phone is lost: the seat is taken over with what was done there", async ({ page: board, request, empty, browser }) => {
  const session = await Class.setUp(request, empty.address, empty.supervisor.id);
  await openBoard(board, empty, session);
  const old = await (await browser.newContext({ viewport: PHONE })).newPage();
  const code = await session.codeOf(2);
  const before = await joinBy(old, empty.address, code, "B. Finch");
  await session.do({ what: "begin" });
  await typeResult(old, 1, 113.1, 114.2);
  await expect(card(board, 2).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();
  const fresh = await newCode(board, 2);
  expect(fresh).not.toBe(code);

  // What the old phone still does is not taken, and it is said so.
  await old.getByLabel("New note").fill("found behind the sink");
  await old.getByRole("button", { name: "Add the note" }).click();
  await expect(alertOf(old, "Not taken: Note")).toBeVisible();
  const next = await (await browser.newContext({ viewport: PHONE })).newPage();
  await next.goto(`${empty.address}#/join?code=${code}`);
  await next.getByRole("button", { name: "Sit down" }).click();
  await expect(alertOf(next, "leads to no class session")).toBeVisible();
  const after = await joinBy(next, empty.address, fresh);
  expect([after.seat, after.person]).toEqual([2, before.person]);
  await expect(next.getByText("113.1–114.2 °C")).toBeVisible();
  await typeResult(next, 2, 113.3, 114.3);
  await expect(card(board, 2).getByText("Run 2: 113.3–114.3 °C")).toBeVisible();
  await Promise.all([old, next].map((page) => page.context().close()));
});

test("on a guarded book students come in without an account, and a lost phone is out", async ({ page: board, browser }) => {
  const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
  const book = join(folder, "book");
  await run(program(), ["book", "new", book, "--title", "Evening practical", "--by", "R. Amsel"]);
  const { stdout } = await run(program(), ["person", "invite", book, "R. Amsel", "--json"]);
  const { code: invitation } = JSON.parse(stdout) as { code: string };
  const { address, child } = await serve(book, ["--guarded"]);
  await board.goto(`${address}#/invitation?code=${invitation}`);
  await board.getByLabel("New passphrase", { exact: true }).fill("three owls on a warm block");
  await board.getByRole("button", { name: "Choose this passphrase" }).click();
  await expect(board.getByRole("heading", { name: "Today" })).toBeVisible();
  const session = await Class.setUp(board.context().request, address, "");
  await board.goto(`${address}#/practicals/${session.id}`);
  await expect(board.getByRole("heading", { name: "Evening practical" })).toBeVisible();

  const old = await (await browser.newContext({ viewport: PHONE })).newPage();
  await joinBy(old, address, await session.codeOf(1), "C. Robin");
  // A session of its own, hidden from scripts; nothing of the book around it.
  expect(await old.evaluate(() => document.cookie)).toBe("");
  await expect(old.getByRole("navigation")).toHaveCount(0);
  await old.reload();
  await expect(old.getByRole("heading", { name: /^Seat 1 · Vial / })).toBeVisible();
  await expect(card(board, 1).getByText("C. Robin")).toBeVisible();
  await session.do({ what: "begin" });
  await typeResult(old, 1, 113.1, 114.2);
  await expect(card(board, 1).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();

  const fresh = await newCode(board, 1);
  await old.reload();
  await expect(old.getByRole("heading", { name: "Join a practical" })).toBeVisible();
  await expect(old.getByText("You are not at this seat any more")).toBeVisible();
  const next = await (await browser.newContext({ viewport: PHONE })).newPage();
  await joinBy(next, address, fresh);
  await expect(next.getByText("113.1–114.2 °C")).toBeVisible();
  // Somebody who comes in by a code sees no board.
  await next.goto(`${address}#/practicals/${session.id}`);
  await expect(next.locator("[data-seat]")).toHaveCount(0);
  await expect(next.getByRole("alert").filter({ hasText: /./ })).toBeVisible();
  await Promise.all([old, next].map((page) => page.context().close()));
  await stop(child);
  rmSync(folder, { recursive: true });
});

test("after some wrong codes one has to wait, and is told how long", async ({ page, empty }) => {
  await page.goto(`${empty.address}#/join`);
  const sit = page.getByRole("button", { name: "Sit down" });
  const wait = alertOf(page, /Too many wrong codes from here\. Wait \d+ seconds?, then try again\./);
  for (let i = 0; i < 20; i += 1) {
    await page.getByLabel("Code", { exact: true }).fill(`WRONG${i}`);
    await sit.click();
    await expect(page.getByRole("alert").filter({ hasText: /./ })).toBeVisible();
    await expect(page.getByRole("button", { name: "One moment…" })).toHaveCount(0);
    if ((await wait.count()) > 0) break;
  }
  await expect(wait).toBeVisible();
  await expect(sit).toBeDisabled();
  // It may be tried again once that is over: the button says so by itself.
  await expect(sit).toBeEnabled({ timeout: 70_000 });
});

test("without a network nothing that is done gets lost", async ({ page: board, request, empty, browser }) => {
  const session = await Class.setUp(request, empty.address, empty.supervisor.id);
  const context = await browser.newContext({ viewport: PHONE });
  const phone = await context.newPage();
  await joinBy(phone, empty.address, await session.codeOf(1));
  await session.do({ what: "begin" });
  await openBoard(board, empty, session);
  await expect(phone.getByText(/Your turn at bench/)).toBeVisible();

  await context.setOffline(true);
  await phone.getByRole("button", { name: "Set in" }).click();
  await expect(phone.getByText(/Heating at bench/)).toBeVisible();
  await phone.getByRole("button", { name: "Ended" }).click();
  await typeResult(phone, 1, 113.1, 114.2);
  await typeResult(phone, 2, 113.3, 114.4);
  await phone.getByLabel("New note").fill("settled before it melted");
  await phone.getByRole("button", { name: "Add the note" }).click();
  await phone.getByLabel("Choose from the stock list").selectOption("acetanilide");
  await phone.getByRole("button", { name: "Say that it is this" }).click();
  await expect(phone.getByText("6 not sent yet")).toBeVisible();
  await expect(phone.getByText("not sent yet", { exact: true })).toHaveCount(2);
  await expect(card(board, 1).getByText("Run 1:")).toHaveCount(0);
  // Long enough that the program is told when it was done.
  await phone.waitForTimeout(7000);

  await context.setOffline(false);
  await expect(phone.getByText(/not sent yet/)).toHaveCount(0);
  await expect(card(board, 1).getByText("Run 1: 113.1–114.2 °C")).toBeVisible();
  await expect(card(board, 1).getByText("Run 2: 113.3–114.4 °C")).toBeVisible();
  await expect(card(board, 1).getByText("says: acetanilide")).toBeVisible();
  const { history } = await session.board();
  const done = history.filter((one) => one.seat === 1 || one.what === "set_in" || one.what === "ended").map((one) => one.what);
  expect(done.filter((what) => what !== "joined")).toEqual(["set_in", "ended", "result", "result", "noted", "identified"]);
  expect(history.filter((one) => one.words.includes("sent later"))).toHaveLength(6);
  await context.close();
});

test("a practical is set up: unknowns that cannot be told apart stand out", async ({ page, empty }) => {
  await openAs(page, empty, empty.supervisor, "today");
  await page.getByRole("link", { name: "Practicals", exact: true }).click();
  await expect(page.getByText("No practical is prepared yet.")).toBeVisible();
  await page.getByRole("link", { name: "Prepare a practical" }).click();
  await page.getByRole("button", { name: "Deal the vials" }).click();
  await expect(page.getByText("There are fewer than two unknowns.")).toBeVisible();
  // Out of the library, with the keyboard alone.
  await page.getByLabel("Find in the library").fill("benzil");
  await expect(page.getByRole("button", { name: "Take benzil", exact: true })).toBeVisible();
  await page.getByRole("button", { name: "Take benzil", exact: true }).click();
  await expect(page.getByLabel("Substance")).toHaveValue("benzil");
  await expect(page.getByLabel("Last crystal, °C")).not.toHaveValue("");
  const typed: [string, number, number][] = [["acetanilide", 113.2, 114.4], ["urea", 132.1, 133], ["trans-cinnamic acid", 132.2, 133.1]];
  for (const [i, [name, first, last]] of typed.entries()) {
    await page.getByRole("button", { name: "Add a line" }).click();
    await page.getByLabel("Substance").nth(i + 1).fill(name);
    await page.getByLabel("First liquid, °C").nth(i + 1).fill(String(first));
    await page.getByLabel("Last crystal, °C").nth(i + 1).fill(String(last));
  }
  await expect(page.getByRole("row", { name: /urea · trans-cinnamic acid/ })).toBeVisible();
  await expect(page.getByText(/^\d pairs? told by range, 1 by mixed melting only, 0 too close\.$|^\d pairs? told by range, 0 by mixed melting only, 1 too close\.$/)).toBeVisible();
  await page.getByRole("button", { name: "Drop trans-cinnamic acid" }).last().click();
  await expect(page.getByText("3 pairs told by range, 0 by mixed melting only, 0 too close.")).toBeVisible();
  await page.getByLabel("Title").fill("Evening practical");
  await page.getByLabel("Seats", { exact: true }).fill("8");
  await page.getByRole("button", { name: "Deal the vials" }).click();
  await expect(page.getByRole("heading", { name: "Evening practical" })).toBeVisible();
  await expect(page.locator("[data-seat]")).toHaveCount(8);
  await page.getByRole("link", { name: "Labels" }).click();
  await expect(page.getByRole("listitem").filter({ hasText: "Seat 8" })).toBeVisible();
  // No label says what is in a vial.
  const labels = (await page.locator("main").textContent()) ?? "";
  for (const name of ["benzil", "acetanilide", "urea"]) expect(labels).not.toContain(name);
  await page.emulateMedia({ media: "print" });
  await expect(page.getByRole("button", { name: "Print" })).toBeHidden();
  await expect(page.getByRole("img", { name: "Square code for the class" })).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing, a phone scrolls one way, what is pressed is large enough, ${scheme}`, async ({ page, request, empty, browser }) => {
    const session = await Class.setUp(request, empty.address, empty.supervisor.id);
    const phone = await (await browser.newContext({ viewport: PHONE, colorScheme: scheme })).newPage();
    const student = await joinBy(phone, empty.address, await session.codeOf(1), "D. Lark");
    await session.do({ what: "begin" });
    await stepQuietly(student, { what: "result", run: 1, first_liquid_c: 90, last_crystal_c: 97, heating_rate_c_per_min: 2, fresh_tube: false, note: "a long note ".repeat(12) });
    await stepQuietly(student, { what: "result", run: 2, first_liquid_c: 93, last_crystal_c: 94, heating_rate_c_per_min: null, fresh_tube: true, note: "" });
    await stepQuietly(student, { what: "ask_help", text: "Is this still solid?" });
    await page.emulateMedia({ colorScheme: scheme });
    const look = async (on: Page, where: string) => {
      const found = await new AxeBuilder({ page: on }).withTags(TAGS).analyze();
      expect(found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2).join("\n")}`), where).toEqual([]);
      expect(await on.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth), where).toBeLessThanOrEqual(0);
      const small = await on.locator("main button:visible, main a.button:visible, main select:visible, main summary:visible").evaluateAll((all) =>
        all
          .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent?.trim() ?? "" }))
          .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
          .map(({ box, text }) => `${text} ${box.width.toFixed(0)} × ${box.height.toFixed(0)}`),
      );
      expect(small, where).toEqual([]);
    };
    const rooms: [string, string][] = [
      ["practicals", "Evening practical"],
      ["practicals/new", "Can they be told apart?"],
      [`practicals/${session.id}`, "Is this still solid?"],
      [`practicals/${session.id}/labels`, "Class code"],
      ["join", "You are known here by a pseudonym."],
    ];
    for (const size of [{ width: 1180, height: 820 }, PHONE]) {
      await page.setViewportSize(size);
      for (const [room, shown] of rooms) {
        await openAs(page, empty, empty.supervisor, room);
        await expect(page.locator("main").getByText(shown).first()).toBeVisible();
        await look(page, `${room} at ${size.width}`);
      }
      await openAs(page, empty, empty.supervisor, `practicals/${session.id}`);
      await page.getByRole("button", { name: "Details of seat 1", exact: true }).click();
      for (const summary of await page.getByRole("dialog").locator("summary").all()) await summary.click();
      await look(page, `details of a seat at ${size.width}`);
      await page.getByRole("dialog").getByRole("button", { name: "Close" }).click();
    }
    await expect(phone.getByText(/Asked at/)).toBeVisible();
    await look(phone, "seat");
    await phone.getByLabel("First liquid, °C").fill("99");
    await phone.getByLabel("Last crystal, °C").fill("90");
    await phone.getByRole("button", { name: "Save the result" }).click();
    await expect(phone.getByText("The last crystal cannot come below the first liquid")).toBeVisible();
    await look(phone, "seat with a slip");
    await session.do({ what: "release" });
    await expect(phone.getByText("Your marks are here.")).toBeVisible();
    await look(phone, "seat with marks");
    await phone.context().close();
  });
}
