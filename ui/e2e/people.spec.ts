/** A guarded book in a browser: invitations, logging in and out, one's own account, what supervisors do. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import AxeBuilder from "@axe-core/playwright";
import { test as base, expect, type Locator, type Page } from "@playwright/test";
import { program, run, serve, stop } from "./bench";

/** WCAG 2.2 AA and what axe counts as good practice. */
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const GOOD = "three owls on a warm block";
const OTHER = "a kettle full of tuesday";

interface Guarded {
  address: string;
  /** The supervisor's invitation. */
  code: string;
}

const test = base.extend<{ guarded: Guarded }>({
  guarded: async ({}, use) => {
    const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
    const book = join(folder, "book");
    await run(program(), ["book", "new", book, "--title", "Evening practical", "--by", "R. Amsel"]);
    await run(program(), ["book", "person", book, "S. Drossel", "--role", "student", "--by", "R. Amsel"]);
    const { stdout } = await run(program(), ["person", "invite", book, "R. Amsel", "--json"]);
    const { code } = JSON.parse(stdout) as { code: string };
    const { address, child } = await serve(book, ["--guarded"]);
    await use({ address, code });
    await stop(child);
    rmSync(folder, { recursive: true });
  },
});

/** Presses Tab until this has the focus. */
async function tabTo(page: Page, wanted: Locator): Promise<void> {
  for (let i = 0; i < 80; i += 1) {
    if (await wanted.evaluate((one) => one === document.activeElement)) return;
    await page.keyboard.press("Tab");
  }
  throw new Error(`the keyboard does not reach ${wanted}`);
}

async function axeFindsNothing(page: Page, where: string): Promise<void> {
  const found = await new AxeBuilder({ page }).withTags(TAGS).analyze();
  const faults = found.violations.map((one) => `${one.id}: ${one.nodes.map((node) => node.html).slice(0, 2).join("\n")}`);
  expect(faults, where).toEqual([]);
}

/** Accepts an invitation as a person does who got a link. */
async function accept(page: Page, { address }: Guarded, code: string, passphrase: string): Promise<void> {
  await page.goto(`${address}#/invitation?code=${code}`);
  await expect(page.getByRole("heading", { name: "Accept an invitation" })).toBeVisible();
  await expect(page.getByLabel("Code")).toHaveValue(code);
  await page.getByLabel("New passphrase", { exact: true }).fill(passphrase);
  await page.getByRole("button", { name: "Choose this passphrase" }).click();
}

async function logIn(page: Page, name: string, passphrase: string): Promise<void> {
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Passphrase", { exact: true }).fill(passphrase);
  await page.getByRole("button", { name: "Log in" }).click();
}

const today = (page: Page) => page.getByRole("heading", { name: "Today" });

test("by keyboard: an invitation, a passphrase, out and in again", async ({ page, guarded }) => {
  await page.goto(guarded.address);
  await expect(page.getByRole("heading", { name: "Log in" })).toBeVisible();
  // Nothing of the book is shown, and nobody is chosen.
  await expect(page.getByRole("navigation")).toHaveCount(0);
  await expect(page.getByRole("combobox")).toHaveCount(0);
  await tabTo(page, page.getByRole("link", { name: "I have an invitation" }));
  await page.keyboard.press("Enter");
  await tabTo(page, page.getByLabel("Code"));
  await page.keyboard.type(guarded.code.toLowerCase().replaceAll("-", " "));
  await tabTo(page, page.getByLabel("New passphrase", { exact: true }));
  await page.keyboard.type("R. Amsel R. Amsel");
  await page.keyboard.press("Enter");
  await expect(page.getByRole("alert").filter({ hasText: "little more than your own name" })).toBeVisible();
  await tabTo(page, page.getByLabel("New passphrase", { exact: true }));
  await page.keyboard.press("Control+A");
  await page.keyboard.type(GOOD);
  await page.keyboard.press("Enter");
  await expect(today(page)).toBeVisible();
  // The code is no longer in the address.
  expect(page.url()).not.toContain("code");
  await expect(page.getByRole("link", { name: "R. Amsel: my account" })).toBeVisible();

  // The session is the browser's, hidden from scripts, and outlives the page.
  expect(await page.evaluate(() => document.cookie)).toBe("");
  await page.reload();
  await expect(today(page)).toBeVisible();
  await tabTo(page, page.getByRole("button", { name: "Log out" }));
  await page.keyboard.press("Enter");
  await expect(page.getByRole("heading", { name: "Log in" })).toBeVisible();
  await tabTo(page, page.getByLabel("Name"));
  await page.keyboard.type("r. amsel");
  await page.keyboard.press("Tab");
  await page.keyboard.type(OTHER);
  await page.keyboard.press("Enter");
  await expect(page.getByRole("alert").filter({ hasText: "do not belong together" })).toBeVisible();
  await tabTo(page, page.getByLabel("Passphrase", { exact: true }));
  await page.keyboard.press("Control+A");
  await page.keyboard.type(GOOD);
  await page.keyboard.press("Enter");
  await expect(today(page)).toBeVisible();
});

test("passphrases may be pasted, looked at, and filled in by a password manager", async ({ page, context, guarded }) => {
  await context.grantPermissions(["clipboard-read", "clipboard-write"]);
  await page.goto(guarded.address);
  const field = page.getByLabel("Passphrase", { exact: true });
  await expect(page.getByLabel("Name")).toHaveAttribute("autocomplete", "username");
  await expect(field).toHaveAttribute("autocomplete", "current-password");
  await page.evaluate((text) => navigator.clipboard.writeText(text), GOOD);
  await field.focus();
  await page.keyboard.press("Control+V");
  await expect(field).toHaveValue(GOOD);
  await expect(field).toHaveAttribute("type", "password");
  await page.getByRole("checkbox", { name: "Show what is typed" }).check();
  await expect(field).toHaveAttribute("type", "text");
  await page.getByRole("link", { name: "I have an invitation" }).click();
  await expect(page.getByLabel("New passphrase", { exact: true })).toHaveAttribute("autocomplete", "new-password");
});

test("a supervisor invites somebody, locks them out and lets them in again", async ({ page, browser, guarded }) => {
  await accept(page, guarded, guarded.code, GOOD);
  await expect(today(page)).toBeVisible();
  await page.goto(`${guarded.address}#/people`);
  const row = page.getByRole("row", { name: /S\. Drossel/ });
  await expect(row.getByText("none")).toBeVisible();
  await row.getByRole("button", { name: "Invite S. Drossel" }).click();
  const code = (await page.getByRole("group", { name: /The code for S\. Drossel/ }).locator(".text").textContent())?.trim() ?? "";
  expect(code).toMatch(/^([0-9A-Z]{4}-){5}[0-9A-Z]{4}$/);
  await expect(row.getByText(/^invited until/)).toBeVisible();

  const theirs = await browser.newContext();
  const other = await theirs.newPage();
  await accept(other, guarded, code, OTHER);
  await expect(today(other)).toBeVisible();
  await expect(other.getByRole("link", { name: "S. Drossel: my account" })).toBeVisible();
  // No student adds people, or sees the log.
  await other.goto(`${guarded.address}#/people`);
  await expect(other.getByText("A supervisor adds people.")).toBeVisible();
  await expect(other.getByRole("button", { name: /Invite|Lock/ })).toHaveCount(0);
  await other.goto(`${guarded.address}#/access`);
  await expect(other.getByText("Nothing is kept under this address.")).toBeVisible();

  await page.reload();
  await row.getByRole("button", { name: "Lock S. Drossel" }).click();
  await expect(row.getByText("locked")).toBeVisible();
  // Whatever they do next shows that they are out.
  await other.goto(`${guarded.address}#/samples`);
  await expect(other.getByRole("heading", { name: "Log in" })).toBeVisible({ timeout: 30_000 });
  await logIn(other, "S. Drossel", OTHER);
  await expect(other.getByRole("alert").filter({ hasText: "locked" })).toBeVisible();
  await row.getByRole("button", { name: "Unlock S. Drossel" }).click();
  await expect(row.getByText(/^last in/)).toBeVisible();
  await logIn(other, "S. Drossel", OTHER);
  await expect(other.getByRole("heading", { name: "Samples" })).toBeVisible();
  await theirs.close();

  await page.getByRole("link", { name: "Who came in, was refused, or changed accounts" }).click();
  await expect(page.getByRole("heading", { name: "Access log" })).toBeVisible();
  for (const what of ["invited", "accepted an invitation", "locked", "unlocked", "refused"]) {
    await expect(page.getByRole("cell", { name: what, exact: true }).first()).toBeVisible();
  }
});

test("by keyboard: an organisation that is away, and why somebody is not let in", async ({ page }) => {
  const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
  const book = join(folder, "book");
  await run(program(), ["book", "new", book, "--by", "R. Amsel"]);
  const { stdout } = await run(program(), ["person", "invite", book, "R. Amsel", "--json"]);
  const { code } = JSON.parse(stdout) as { code: string };
  const file = join(folder, "sign-in.toml");
  writeFileSync(join(folder, "secret"), "a kettle full of tuesday\n");
  // Nobody listens at port 1.
  writeFileSync(file, 'issuer = "http://127.0.0.1:1"\nclient_id = "bench"\nsecret_file = "secret"\nshown_name = "Example College"\n');
  const { address, child } = await serve(book, ["--guarded", "--sign-in", file]);
  await page.goto(address);
  await tabTo(page, page.getByRole("button", { name: "Sign in with Example College" }));
  await page.keyboard.press("Enter");
  await expect(page.getByRole("alert").filter({ hasText: "Example College cannot be asked just now" })).toBeVisible();
  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    await axeFindsNothing(page, `log in with an organisation, ${scheme}`);
  }
  // As one comes back from there.
  await page.goto(`${address}#/sign-in?trouble=name-taken`);
  await expect(page.getByRole("alert").filter({ hasText: "has your name already" })).toBeVisible();
  await page.goto(`${address}#/invitation?code=${code}`);
  await expect(page.getByRole("button", { name: "Sign in with Example College" })).toBeVisible();
  await axeFindsNothing(page, "an invitation with an organisation");
  await page.getByLabel("New passphrase", { exact: true }).fill(GOOD);
  await page.getByRole("button", { name: "Choose this passphrase" }).click();
  await expect(today(page)).toBeVisible();
  await stop(child);
  rmSync(folder, { recursive: true });
});

test("by keyboard: a practical is a group, locked and unlocked at once", async ({ page, guarded }) => {
  await accept(page, guarded, guarded.code, GOOD);
  await expect(today(page)).toBeVisible();
  await page.goto(`${guarded.address}#/people`);
  const groups = page.getByRole("region", { name: "Groups" });
  await expect(groups.getByText("There is no group.")).toBeVisible();
  await tabTo(page, groups.getByLabel("Name of a new group"));
  await page.keyboard.type("evening practical 2026");
  await page.keyboard.press("Enter");
  const group = groups.getByRole("region", { name: /evening practical 2026/ });
  await expect(group.getByText("Nobody is in it.")).toBeVisible();
  await group.getByLabel("Who joins evening practical 2026").selectOption("S. Drossel");
  await tabTo(page, group.getByRole("button", { name: "Put in evening practical 2026" }));
  await page.keyboard.press("Enter");
  await expect(group.getByText("1 person")).toBeVisible();
  await group.getByRole("button", { name: "Lock all evening practical 2026", exact: true }).click();
  await expect(group.getByText(/Lock the accounts of all in/)).toBeVisible();
  for (const scheme of ["light", "dark"] as const) {
    await page.emulateMedia({ colorScheme: scheme });
    await axeFindsNothing(page, `groups, ${scheme}`);
  }
  await group.getByRole("button", { name: "Yes" }).click();
  await expect(groups.getByText("1 account is locked.")).toBeVisible();
  await group.getByRole("button", { name: "Unlock all evening practical 2026" }).click();
  await expect(groups.getByText("1 account is unlocked.")).toBeVisible();
  await group.getByRole("button", { name: "Take out S. Drossel, evening practical 2026" }).click();
  await expect(group.getByText("Nobody is in it.")).toBeVisible();
  await group.getByRole("button", { name: "Dissolve the group evening practical 2026" }).click();
  await group.getByRole("button", { name: "Yes" }).click();
  await expect(groups.getByText("There is no group.")).toBeVisible();
});

test("one's own account: passphrase, tokens, sessions", async ({ page, request, guarded }) => {
  await accept(page, guarded, guarded.code, GOOD);
  await page.getByRole("link", { name: "R. Amsel: my account" }).click();
  await expect(page.getByRole("heading", { name: "My account" })).toBeVisible();
  await page.getByLabel("What it is for").fill("scale at bench A");
  await page.getByRole("button", { name: "Make a token" }).click();
  const token = (await page.getByRole("group", { name: /The new token/ }).locator(".text").textContent())?.trim() ?? "";
  expect(token).toMatch(/^meltrange_[\w-]{43}$/);
  const asked = async () =>
    (await request.get(`${guarded.address}api/samples`, { headers: { authorization: `Bearer ${token}` } })).status();
  expect(await asked()).toBe(200);
  await page.getByRole("button", { name: "Take back scale at bench A" }).click();
  await expect(page.getByText("There is no token.")).toBeVisible();
  expect(await asked()).toBe(401);

  await page.getByLabel("Passphrase until now", { exact: true }).fill(GOOD);
  await page.getByLabel("New passphrase", { exact: true }).fill(OTHER);
  await page.getByRole("button", { name: "Change the passphrase" }).click();
  await expect(page.getByText("The passphrase is changed.")).toBeVisible();
  await expect(page.getByText("this one")).toBeVisible();
  await page.getByRole("button", { name: "Log out everywhere" }).click();
  await expect(page.getByRole("heading", { name: "Log in" })).toBeVisible();
  await logIn(page, "R. Amsel", OTHER);
  await expect(page.getByRole("heading", { name: "My account" })).toBeVisible();
});

for (const scheme of ["light", "dark"] as const) {
  test(`axe finds nothing, and what is pressed is large enough, ${scheme}`, async ({ page, guarded }) => {
    await page.emulateMedia({ colorScheme: scheme });
    await page.setViewportSize({ width: 820, height: 1180 });
    const look = async (where: string) => {
      await axeFindsNothing(page, where);
      const small = await page.locator("button:visible, a.button:visible, select:visible, main input:not([type=checkbox]):not([tabindex='-1']):visible").evaluateAll((all) =>
        all
          .map((one) => ({ box: one.getBoundingClientRect(), text: one.textContent?.trim() ?? "" }))
          .filter(({ box }) => box.height < 43.5 || box.width < 43.5)
          .map(({ box, text }) => `${text} ${box.width.toFixed(0)} × ${box.height.toFixed(0)}`),
      );
      expect(small, where).toEqual([]);
      const over = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
      expect(over, where).toBeLessThanOrEqual(0);
    };
    await page.goto(guarded.address);
    await expect(page.getByRole("heading", { name: "Log in" })).toBeVisible();
    await look("logging in");
    await logIn(page, "R. Amsel", "no");
    await expect(page.getByRole("alert").filter({ hasText: "do not belong together" })).toBeVisible();
    await look("refused");
    await page.goto(`${guarded.address}#/invitation`);
    await expect(page.getByRole("heading", { name: "Accept an invitation" })).toBeVisible();
    await look("invitation");
    await accept(page, guarded, guarded.code, GOOD);
    await expect(today(page)).toBeVisible();
    await page.goto(`${guarded.address}#/me`);
    await expect(page.getByText("this one")).toBeVisible();
    await page.getByLabel("What it is for").fill("scale");
    await page.getByRole("button", { name: "Make a token" }).click();
    await expect(page.getByText(/^meltrange_/)).toBeVisible();
    await look("my account");
    await page.goto(`${guarded.address}#/people`);
    await page.getByRole("button", { name: "Invite S. Drossel" }).click();
    await expect(page.getByRole("group", { name: /The code for/ })).toBeVisible();
    await look("people");
    await page.goto(`${guarded.address}#/access`);
    await expect(page.getByRole("cell", { name: "accepted an invitation" })).toBeVisible();
    await look("access log");
  });
}
