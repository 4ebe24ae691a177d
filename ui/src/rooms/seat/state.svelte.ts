/** A student's seat: what the program says of it, and what was done here that it does not know yet. */
import { live } from "../../api/live.svelte";
import { outbox, type Outbox } from "../../api/outbox.svelte";
import * as api from "../../api/practicals";
import { Problem, wordsOf } from "../../api/problem";
import { Paced } from "../../parts/paced";
import { join as joinWords } from "../../words/practical";
import { myself } from "../me/state.svelte";
import { people } from "../people/state.svelte";
import { nowOf, type Now } from "./now";
import { isOwn, shownSeat, type ShownSeat } from "./overlay";
import { ResultDraft } from "./result.svelte";

/** The seat is asked for at most so often [ms]: a whole class does. */
const LEAST_MS = 500;
/** And at least so often, because time passes [ms]. */
const MOST_MS = 30_000;
const TICK_MS = 5000;
const KINDS = ["practical", "practical_step"];
const SEATS = "meltrange.seats";

/** A seat that was taken on this device. */
export interface TakenSeat {
  practical: string;
  person: string;
  title: string;
  seat: number;
}

export function takenSeats(): TakenSeat[] {
  try {
    const found = JSON.parse(localStorage.getItem(SEATS) ?? "[]") as unknown;
    return Array.isArray(found) ? found.filter((one: Partial<TakenSeat>) => typeof one.practical === "string" && typeof one.person === "string") : [];
  } catch {
    return [];
  }
}
function rememberSeats(seats: readonly TakenSeat[]): void {
  try {
    localStorage.setItem(SEATS, JSON.stringify(seats));
  } catch {
    // A browser that keeps nothing: the seat is lost with the page, and taken again with the code.
  }
}

/** Comes in with a code. */
export class JoinRoom {
  code = $state("");
  name = $state("");
  seat = $state<number | null>(null);
  busy = $state(false);
  problem = $state("");
  /** Seconds until codes are taken again; 0 when they are. */
  wait_s = $state(0);
  #waiting: ReturnType<typeof setInterval> | undefined;

  constructor(code: string) {
    this.code = code;
  }
  close(): void {
    clearInterval(this.#waiting);
  }

  /** Gives the practical, or nothing when that was refused. */
  async go(): Promise<string> {
    if (this.busy || this.wait_s > 0) return "";
    this.busy = true;
    this.problem = "";
    try {
      const joined = await api.join(this.code.trim(), this.name.trim() || null, this.seat);
      const { practical, person, title, seat } = joined;
      rememberSeats([...takenSeats().filter((one) => one.practical !== practical), { practical, person, title, seat }]);
      await myself.refresh();
      if (!myself.guarded) people.choose(person);
      return practical;
    } catch (error) {
      this.problem = wordsOf(error);
      if (error instanceof Problem && error.status === 429) this.#wait(error.wait_s ?? 60);
      return "";
    } finally {
      this.busy = false;
    }
  }

  #wait(seconds: number): void {
    clearInterval(this.#waiting);
    const until_ms = Date.now() + seconds * 1000;
    const look = () => {
      this.wait_s = Math.max(0, Math.ceil((until_ms - Date.now()) / 1000));
      this.problem = this.wait_s > 0 ? joinWords.wait(this.wait_s) : "";
      if (this.wait_s === 0) clearInterval(this.#waiting);
    };
    look();
    this.#waiting = setInterval(look, 1000);
  }
}

export class SeatRoom {
  page = $state.raw<api.SeatPage | null>(null);
  problem = $state("");
  /** Whether the program says that nobody here sits at this seat. */
  isOut = $state(false);
  fresh = $state(true);
  came_ms = $state(0);
  clock_ms = $state(Date.now());
  readonly draft = new ResultDraft();
  /** Whose seat this is, as this device remembers; empty where only the program knows. */
  readonly person: string;
  readonly path: string;
  readonly #paced: Paced;

  constructor(
    readonly practical: string,
    private readonly box: Outbox = outbox,
  ) {
    this.person = takenSeats().find((one) => one.practical === practical)?.person ?? "";
    this.path = api.paths.seatSteps(practical);
    this.#paced = new Paced(() => this.refresh(), LEAST_MS);
  }

  /** The seat with what is on its way to the program. */
  get shown(): ShownSeat | null {
    return this.page ? shownSeat(this.page, this.box.waiting.filter((kept) => kept.path === this.path)) : null;
  }
  /** Runs that have a result of whoever looks. */
  get ownRuns(): number[] {
    const shown = this.shown;
    return shown ? [...new Set(shown.results.filter((one) => isOwn(shown, one, this.person)).map((one) => one.run))] : [];
  }
  get now(): Now | null {
    return this.shown ? nowOf(this.shown, this.ownRuns, (minute) => this.timeOf(minute)) : null;
  }
  /** The time of day of a minute of the practical, by this device's clock. */
  timeOf(minute: number): string {
    const from_ms = this.came_ms + (minute - (this.page?.now_min ?? 0)) * 60_000;
    return new Date(from_ms).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  }

  follow(): () => void {
    if (!myself.guarded && this.person) people.choose(this.person);
    this.#paced.ask();
    const ask = () => this.#paced.ask();
    const stops = [live.on(ask, KINDS), this.box.hear(this.path, (answer) => this.take(answer as api.SeatPage))];
    const tick = setInterval(() => {
      this.clock_ms = Date.now();
      if (this.clock_ms - this.came_ms > MOST_MS || !this.fresh) ask();
    }, TICK_MS);
    window.addEventListener("online", ask);
    document.addEventListener("visibilitychange", ask);
    return () => {
      stops.forEach((stop) => stop());
      clearInterval(tick);
      this.#paced.stop();
      window.removeEventListener("online", ask);
      document.removeEventListener("visibilitychange", ask);
    };
  }

  async refresh(): Promise<void> {
    try {
      this.take(await api.seat(this.practical, myself.guarded ? "" : this.person));
      this.problem = "";
      this.isOut = false;
    } catch (error) {
      this.fresh = false;
      const status = error instanceof Problem ? error.status : 0;
      this.isOut = status === 401 || status === 403 || status === 404;
      if (!this.page || status !== 0) this.problem = wordsOf(error);
    }
  }

  take(page: api.SeatPage): void {
    this.page = page;
    this.fresh = true;
    this.came_ms = this.clock_ms = Date.now();
    this.problem = "";
  }

  /** Does something: kept on this device at once, sent as soon as it can be. */
  do(step: api.SeatStep): void {
    this.box.put(this.path, myself.guarded ? people.meId : this.person || people.meId, step, true);
  }

  /** Saves the result that was typed; whether it was whole. */
  saveResult(): boolean {
    const step = this.draft.step;
    if (!step) return false;
    this.do(step);
    const next = this.now?.run ?? step.run;
    this.draft.clear(next);
    return true;
  }

  /** Leaves the seat on this device; what is not sent yet goes first. */
  async leave(): Promise<boolean> {
    if (this.box.waiting.some((kept) => kept.path === this.path)) return false;
    rememberSeats(takenSeats().filter((one) => one.practical !== this.practical));
    if (myself.guarded) await myself.logOut();
    else people.choose("");
    return true;
  }
}
