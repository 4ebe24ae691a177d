/** A class session against the real program: set up, joined, worked in. */
import type { APIRequestContext, Page } from "@playwright/test";
import type { components } from "../src/api/schema";
import type { Board, InstructorStep, Joined, Labels, PracticalSetUp, SeatPage, SeatStep } from "../src/api/practicals";
import { expect, openAs, type Bench } from "./bench";

/** Invented unknowns of the class with the ranges that its lots showed [°C]. */
export const UNKNOWNS: [string, number, number][] = [
  ["acetanilide", 113.2, 114.4],
  ["urea", 131.8, 133],
  ["benzil", 94, 95],
  ["vanillin", 80.6, 82],
  ["2-naphthol", 121, 122.4],
  ["trans-cinnamic acid", 132, 133.4],
];

export const PHONE = { width: 360, height: 740 };

/** A seat and a bench on the board. */
export const card = (page: Page, seat: number) => page.locator(`[data-seat="${seat}"]`);
export const benchCard = (page: Page, bench: string) => page.locator(`[data-bench="${bench}"]`);

type SessionBench = components["schemas"]["SessionBench"];
export const benchesOf = (names: string): SessionBench[] =>
  [...names].map((name) => ({ name, places: 3, room_c: 22, start_c: 22, heat_rate_c_per_min: 15, cool_time_constant_min: 12, max_c: 300 }));

export const setUpOf = (change: Partial<PracticalSetUp> = {}): PracticalSetUp => ({
  title: "Evening practical",
  seats: 4,
  seats_per_row: 2,
  people_per_seat: 1,
  unknowns: UNKNOWNS.map(([name, first_liquid_c, last_crystal_c]) => ({
    library: null,
    name,
    first_liquid_c,
    last_crystal_c,
    hazards: name === "vanillin" ? "irritates eyes" : null,
    fusion_j_per_mol: null,
  })),
  standard_uncertainty_c: 0.5,
  runs_each: 2,
  length_min: 240,
  operators: 6,
  benches: benchesOf("AB"),
  rubric: { identity: 10, range: 10, agreement: 5, care: 5, range_within_c: 1, agreement_within_c: 0.5, heating_rate_c_per_min: 1.5 },
  seed: 7,
  ...change,
});

/** Who acts on an open book says so; on a guarded one the session does. */
const as = (person: string) => ({ "x-own-page": "1", ...(person ? { "x-person": person } : {}) });

/** A class session that is set up already, as its instructor asks for it. */
export class Class {
  constructor(
    readonly request: APIRequestContext,
    readonly address: string,
    readonly instructor: string,
    readonly id: string,
  ) {}

  static async setUp(request: APIRequestContext, address: string, instructor: string, change: Partial<PracticalSetUp> = {}): Promise<Class> {
    const id = crypto.randomUUID();
    const answer = await request.post(`${address}api/practicals`, { headers: as(instructor), data: { id, set_up: setUpOf(change) } });
    expect(answer.status(), await answer.text()).toBe(201);
    return new Class(request, address, instructor, id);
  }

  async #get<T>(what: string): Promise<T> {
    const answer = await this.request.get(`${this.address}api/practicals/${this.id}/${what}`, { headers: as(this.instructor) });
    expect(answer.status(), await answer.text()).toBe(200);
    return (await answer.json()) as T;
  }
  board = () => this.#get<Board>("board");
  labels = () => this.#get<Labels>("labels");
  async codeOf(seat: number): Promise<string> {
    return (await this.labels()).labels.find((label) => label.seat === seat)?.code ?? "";
  }
  async do(step: InstructorStep): Promise<Board> {
    const data = { id: crypto.randomUUID(), step };
    const answer = await this.request.post(`${this.address}api/practicals/${this.id}/steps`, { headers: as(this.instructor), data });
    expect(answer.status(), await answer.text()).toBe(200);
    return (await answer.json()) as Board;
  }
}

/** Opens the board in an instructor's page of an open book. */
export async function openBoard(page: Page, bench: Bench, session: Class): Promise<void> {
  await openAs(page, bench, bench.supervisor, `practicals/${session.id}`);
  await expect(page.getByRole("heading", { name: "Evening practical" })).toBeVisible();
}

export interface Student {
  page: Page;
  practical: string;
  person: string;
  seat: number;
}

/** Sits down as a student does who scanned a label. */
export async function joinBy(page: Page, address: string, code: string, name = ""): Promise<Student> {
  await page.goto(`${address}#/join?code=${encodeURIComponent(code)}`);
  await expect(page.getByLabel("Code", { exact: true })).toHaveValue(code);
  if (name) await page.getByLabel("Your name (you may leave it empty)").fill(name);
  await page.getByRole("button", { name: "Sit down" }).click();
  await expect(page.getByRole("heading", { name: /^Seat \d+ · Vial / })).toBeVisible();
  const seats = await page.evaluate(() => JSON.parse(localStorage.getItem("meltrange.seats") ?? "[]") as { practical: string; person: string; seat: number }[]);
  const last = seats.at(-1);
  if (!last) throw new Error("the page does not remember the seat");
  return { page, ...last };
}

/** A request as the page itself would send it. */
export async function ask<T>(page: Page, path: string, person: string, body: unknown): Promise<{ status: number; json: T }> {
  const answer = await page.evaluate(
    async ([path, headers, body]) => {
      const answer = await fetch(`/api/${path}`, {
        method: "POST",
        headers: { "content-type": "application/json", ...(JSON.parse(headers) as Record<string, string>) },
        body,
      });
      return { status: answer.status, json: (await answer.json()) as unknown };
    },
    [path, JSON.stringify(as(person)), JSON.stringify(body)] as const,
  );
  return answer as { status: number; json: T };
}
export const joinQuietly = (page: Page, code: string, name: string | null) =>
  ask<Joined>(page, "practicals/join", "", { code, name, seat: null });
export async function stepQuietly(student: Student, step: SeatStep): Promise<SeatPage> {
  const body = { id: crypto.randomUUID(), at: null, step };
  const { status, json } = await ask<SeatPage>(student.page, `practicals/${student.practical}/seat/steps`, student.person, body);
  expect(status, JSON.stringify(json)).toBe(200);
  return json;
}

/** Types a result into the page of a seat and saves it. */
export async function typeResult(page: Page, run: number, first_c: number, last_c: number): Promise<void> {
  const results = page.getByRole("region", { name: "Results", exact: true });
  await results.getByRole("combobox", { name: "Run" }).selectOption(String(run));
  await results.getByLabel("First liquid, °C").fill(first_c.toFixed(1));
  await results.getByLabel("Last crystal, °C").fill(last_c.toFixed(1));
  await results.getByLabel("Heating rate, °C/min").fill("1");
  await results.getByRole("button", { name: "Save the result" }).click();
  await expect(results.getByRole("listitem").filter({ hasText: `${first_c.toFixed(1)}–${last_c.toFixed(1)} °C` }).first()).toBeVisible();
}

/** Resolves with the time at which something on the board says this [ms since 1970, by the board's page]. */
export function boardSays(board: Page, where: string, text: string): Promise<number> {
  return board.evaluate(
    ([where, text]) =>
      new Promise<number>((resolve, reject) => {
        const look = () => {
          if (!document.querySelector(where)?.textContent?.includes(text)) return false;
          clearTimeout(timer);
          observer.disconnect();
          resolve(Date.now());
          return true;
        };
        const observer = new MutationObserver(look);
        const timer = setTimeout(() => {
          observer.disconnect();
          reject(new Error(`${where} does not say “${text}”: ${document.querySelector(where)?.textContent ?? "not there"}`));
        }, 30_000);
        if (!look()) observer.observe(document.body, { subtree: true, childList: true, characterData: true });
      }),
    [where, text] as const,
  );
}
