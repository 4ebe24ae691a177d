/** A real program on a real book in a temporary folder, with people and, where asked for, recordings. */
import { execFile, spawn, type ChildProcess } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync, statSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { test as base, expect, type APIRequestContext, type Page } from "@playwright/test";

export const run = promisify(execFile);
const root = join(dirname(fileURLToPath(import.meta.url)), "../..");

/** The program named by MELTRANGE_PROGRAM, else the one built last. */
export function program(): string {
  const named = process.env["MELTRANGE_PROGRAM"];
  if (named) return named;
  const built = ["release", "debug"].map((kind) => join(root, "target", kind, "meltrange")).filter((path) => existsSync(path));
  const newest = built.sort((a, b) => statSync(b).mtimeMs - statSync(a).mtimeMs)[0];
  if (!newest) throw new Error("no meltrange program; build it with: cargo build --release -p meltrange-cli");
  return newest;
}

export interface Person {
  id: string;
  name: string;
}

/** A served book. */
export interface Bench {
  address: string;
  folder: string;
  /** Of the program's process. */
  pid: number;
  supervisor: Person;
  analyst: Person;
  student: Person;
}

/** A simulated recording whose truth is known. */
export interface Simulated {
  video: string;
  log: string;
  truth: Truth;
}
export interface Truth {
  tubes: { first_liquid: TruthMoment | null; last_crystal: TruthMoment | null }[];
}
export interface TruthMoment {
  time_s: number;
  temperature_c: number;
}

async function simulate(into: string): Promise<Simulated> {
  await run(program(), ["--quiet", "simulate", join(root, "tests/scenes/demo_unknown_1.toml"), "--out", into]);
  return {
    video: join(into, "video.mp4"),
    log: join(into, "temperature.csv"),
    truth: JSON.parse(readFileSync(join(into, "truth.json"), "utf8")) as Truth,
  };
}

/** Serves a book and resolves with its address as soon as the program prints it. */
export async function serve(folder: string, more: string[] = []): Promise<{ address: string; child: ChildProcess }> {
  const child = spawn(program(), ["serve", folder, "--port", "0", "--no-open", ...more], { stdio: ["ignore", "pipe", "pipe"] });
  const address = await new Promise<string>((resolve, reject) => {
    let said = "";
    const hear = (data: Buffer) => {
      said += data.toString();
      const found = /http:\/\/127\.0\.0\.1:\d+\//.exec(said);
      if (found) resolve(found[0]);
    };
    child.stdout.on("data", hear);
    child.stderr.on("data", hear);
    child.once("exit", (code) => reject(new Error(`meltrange serve ended with ${code}:\n${said}`)));
  });
  return { address, child };
}

export async function stop(child: ChildProcess): Promise<void> {
  if (child.exitCode !== null) return;
  const ended = new Promise((resolve) => child.once("exit", resolve));
  child.kill("SIGTERM");
  await ended;
}

async function newBench(request: APIRequestContext, folder: string): Promise<{ bench: Bench; child: ChildProcess }> {
  await run(program(), ["book", "new", folder, "--title", "Evening practical", "--by", "R. Amsel"]);
  const { address, child } = await serve(folder);
  const people = (await (await request.get(`${address}api/people`)).json()) as { people: Person[] };
  const supervisor = people.people[0];
  if (!supervisor) throw new Error("a new book has nobody in it");
  const add = async (name: string, role: string) => {
    const answer = await request.post(`${address}api/people`, {
      headers: { "x-person": supervisor.id },
      data: { name, role },
    });
    expect(answer.status(), await answer.text()).toBe(201);
    return (await answer.json()) as Person;
  };
  const analyst = await add("M. Fink", "analyst");
  const student = await add("S. Drossel", "student");
  return { bench: { address, folder, pid: child.pid ?? 0, supervisor, analyst, student }, child };
}

async function uploaded(request: APIRequestContext, bench: Bench, path: string, name: string): Promise<string> {
  const answer = await request.post(`${bench.address}api/uploads?name=${encodeURIComponent(name)}`, {
    headers: { "x-person": bench.supervisor.id, "content-type": "application/octet-stream" },
    data: readFileSync(path),
  });
  expect(answer.status(), await answer.text()).toBe(201);
  return ((await answer.json()) as { id: string }).id;
}

/** Imports a recording through the interface, and waits until the engine has read it. Resolves with its id. */
export async function imported(
  request: APIRequestContext,
  bench: Bench,
  simulated: Simulated,
  samples: (string | null)[],
  start_s = 0,
  at: string | null = null,
): Promise<string> {
  const video = await uploaded(request, bench, simulated.video, "unknown.mp4");
  const log = await uploaded(request, bench, simulated.log, "unknown.csv");
  const answer = await request.post(`${bench.address}api/imports`, {
    headers: { "x-person": bench.supervisor.id },
    data: { video, log, video_start_s: start_s, tubes: samples.map((sample, i) => ({ place: i + 1, sample })), read: true, bench: at },
  });
  expect(answer.status(), await answer.text()).toBe(202);
  const { id } = (await answer.json()) as { id: string };
  let last: { state: string; recording: string | null } = { state: "queued", recording: null };
  await expect
    .poll(
      async () => {
        last = (await (await request.get(`${bench.address}api/work/${id}`)).json()) as typeof last;
        return last.state;
      },
      { timeout: 90_000 },
    )
    .toBe("done");
  if (!last.recording) throw new Error("an import was done without a recording");
  return last.recording;
}

export async function addSample(request: APIRequestContext, bench: Bench, label: string, hazards?: string): Promise<string> {
  const answer = await request.post(`${bench.address}api/samples`, {
    headers: { "x-person": bench.supervisor.id },
    data: { label, hazards },
  });
  expect(answer.status(), await answer.text()).toBe(201);
  return ((await answer.json()) as { row: { id: string } }).row.id;
}

/** A standard whose label says what is given; resolves with its id. */
export async function addStandard(request: APIRequestContext, bench: Bench, substance: string, reference_c: number): Promise<string> {
  const answer = await request.post(`${bench.address}api/standards`, {
    headers: { "x-person": bench.supervisor.id },
    data: {
      substance,
      reference_c,
      standard_uncertainty_c: 0.05,
      convention: { kind: "thermodynamic" },
      end: "last_crystal",
      lot: "7",
      cautions: "irritates eyes",
    },
  });
  expect(answer.status(), await answer.text()).toBe(201);
  return ((await answer.json()) as { id: string }).id;
}

/** A bench that no file describes; resolves with its id. */
export async function addBench(request: APIRequestContext, bench: Bench, name: string): Promise<string> {
  const answer = await request.post(`${bench.address}api/benches`, {
    headers: { "x-person": bench.supervisor.id },
    data: { name, places: 3, thermometer: "Pt100 no. 12", max_c: 250 },
  });
  expect(answer.status(), await answer.text()).toBe(201);
  return ((await answer.json()) as { id: string }).id;
}

/** What a standard showed on a day. */
export async function addCheck(
  request: APIRequestContext,
  bench: Bench,
  at: string,
  check: { standard: string; made_on: string; indicated_c: number },
): Promise<void> {
  const answer = await request.post(`${bench.address}api/thermometers/${at}/checks`, {
    headers: { "x-person": bench.student.id },
    data: { ...check, standard_uncertainty_c: 0.05, heating_rate_c_per_min: 0.5 },
  });
  expect(answer.status(), await answer.text()).toBe(201);
}

/** The day so many days before today, as the program writes it. */
export function daysAgo(days: number): string {
  const day = new Date(Date.now() - days * 86_400_000);
  const two = (n: number) => String(n).padStart(2, "0");
  return `${day.getFullYear()}-${two(day.getMonth() + 1)}-${two(day.getDate())}`;
}

/** Opens a page of the book as somebody. */
export async function openAs(page: Page, bench: Bench, person: Person, room: string): Promise<void> {
  await page.addInitScript((id) => localStorage.setItem("meltrange.person", id), person.id);
  await page.goto(`${bench.address}#/${room}`);
  await expect(page.locator("h1")).toBeVisible();
}

interface Read {
  bench: Bench;
  sample: string;
  recordings: string[];
}

export const test = base.extend<{ empty: Bench }, { simulated: Simulated; read: Read }>({
  simulated: [
    async ({}, use) => {
      const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
      await use(await simulate(join(folder, "simulated")));
      rmSync(folder, { recursive: true });
    },
    { scope: "worker", timeout: 120_000 },
  ],
  /** A book with a sample and two recordings of it, read by the engine. */
  read: [
    async ({ playwright, simulated }, use) => {
      const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
      const request = await playwright.request.newContext();
      const { bench, child } = await newBench(request, join(folder, "book"));
      const sample = await addSample(request, bench, "U-1", "irritates eyes and skin");
      const recordings = [
        await imported(request, bench, simulated, [sample, sample, sample]),
        await imported(request, bench, simulated, [sample, sample, null], 6),
      ];
      await use({ bench, sample, recordings });
      await stop(child);
      await request.dispose();
      rmSync(folder, { recursive: true });
    },
    { scope: "worker", timeout: 240_000 },
  ],
  /** A book with people and nothing else. */
  empty: async ({ playwright }, use) => {
    const folder = mkdtempSync(join(tmpdir(), "meltrange-e2e-"));
    const request = await playwright.request.newContext();
    const { bench, child } = await newBench(request, join(folder, "book"));
    await use(bench);
    await stop(child);
    await request.dispose();
    rmSync(folder, { recursive: true });
  },
});

export { expect };
