/** The board of a practical. All of it is the program's; this page asks anew whenever something happened, and may be reloaded at any time. */
import { live } from "../../api/live.svelte";
import { outbox, type Outbox } from "../../api/outbox.svelte";
import * as api from "../../api/practicals";
import { Problem, wordsOf } from "../../api/problem";
import { Paced } from "../../parts/paced";
import { people } from "../people/state.svelte";

/** The board is asked for at most so often [ms]. */
const LEAST_MS = 250;
/** And at least so often, because time passes and what has waited becomes stuck [ms]. */
const MOST_MS = 15_000;
const TICK_MS = 5000;
const VIALS = "meltrange.board.vials";
const KINDS = ["practical", "practical_step"];

type Step = api.InstructorStep;

export class BoardRoom {
  board = $state.raw<api.Board | null>(null);
  problem = $state("");
  /** When the board that is shown came [ms], and the clock of the page. */
  came_ms = $state(0);
  clock_ms = $state(Date.now());
  /** Whether the last question was answered. */
  fresh = $state(true);
  /** The seat whose details are open. */
  openSeat = $state<number | null>(null);
  order = $state<"need" | "number">("need");
  showVials = $state(false);
  labels = $state.raw<api.Labels | null>(null);
  readonly #paced: Paced;

  constructor(
    readonly id: string,
    private readonly box: Outbox = outbox,
  ) {
    this.#paced = new Paced(() => this.refresh(), LEAST_MS);
    try {
      this.showVials = localStorage.getItem(VIALS) === "1";
    } catch {
      // Then it is hidden at first.
    }
  }

  /** Minutes since the beginning, by now. */
  get now_min(): number {
    if (!this.board) return 0;
    return this.board.state === "under_way" ? this.board.now_min + Math.max(0, this.clock_ms - this.came_ms) / 60_000 : this.board.now_min;
  }
  /** The time of day of a minute of the practical, where it has begun. */
  timeOf(minute: number): string {
    if (!this.board?.began) return "";
    return new Date(Date.parse(this.board.began) + minute * 60_000).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  }
  get path(): string {
    return api.paths.steps(this.id);
  }
  /** Steps of this board that the program has not answered. */
  get waiting(): Step[] {
    return this.box.waiting.filter((kept) => kept.path === this.path).map((kept) => kept.step as Step);
  }
  /** Whether such a step is on its way. */
  isSent(what: Step["what"], about: Partial<Record<"seat" | "load" | "bench" | "help", string | number>> = {}): boolean {
    return this.waiting.some((step) => step.what === what && Object.entries(about).every(([key, value]) => (step as Record<string, unknown>)[key] === value));
  }

  follow(): () => void {
    this.#paced.ask();
    const ask = () => this.#paced.ask();
    const stops = [live.on(ask, KINDS), this.box.hear(this.path, (answer) => this.take(answer as api.Board))];
    const tick = setInterval(() => {
      this.clock_ms = Date.now();
      if (this.clock_ms - this.came_ms > MOST_MS) ask();
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
      this.take(await api.board(this.id));
      this.problem = "";
    } catch (error) {
      this.fresh = false;
      // A board that is there stays while the network is away.
      if (!this.board || (error instanceof Problem && error.status !== 0)) this.problem = wordsOf(error);
    }
  }

  /** Shows a board, unless a later one is shown: answers can overtake each other. */
  take(board: api.Board): void {
    this.fresh = true;
    if (this.board && board.seq < this.board.seq) return;
    this.board = board;
    this.came_ms = this.clock_ms = Date.now();
  }

  /** Does something: it is kept on this device at once, and goes out by itself. */
  do(step: Step): void {
    this.box.put(this.path, people.meId, step);
  }

  turnVials(): void {
    this.showVials = !this.showVials;
    try {
      localStorage.setItem(VIALS, this.showVials ? "1" : "0");
    } catch {
      // Only for this page then.
    }
  }

  async readLabels(): Promise<void> {
    try {
      this.labels = await api.labels(this.id);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  nameOf(unknown: number): string {
    return this.board?.set_up.unknowns[unknown]?.name ?? "";
  }
}

/** A drawing of the program as the address of a picture: nothing in it can run. */
export const pictureOf = (svg: string): string => `data:image/svg+xml;charset=utf-8,${encodeURIComponent(svg)}`;
