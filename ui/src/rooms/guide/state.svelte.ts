/** The guide through a first determination: what the book says is done, what was ticked, which step is looked at. */
import * as api from "../../api/client";
import * as thermometers from "../../api/thermometers";
import type { SampleDetail, SampleRow, ThermometerRow } from "../../api/types";
import { wordsOf } from "../../api/problem";
import { guide as words, steps, STEPS, type StepName } from "../../words/guide";
import { noticed } from "./noticed";

const KEY = "meltrange.guide";
/** Samples to choose from. */
const SAMPLES = 50;

/** What is kept on this device, for each person. */
interface Kept {
  on: boolean;
  /** When it was first switched on (RFC 3339): a sample that was added later is taken for theirs. */
  begun: string;
  sample: string;
  ticks: StepName[];
}

export type Store = Pick<Storage, "getItem" | "setItem">;

export class GuideState {
  on = $state(false);
  sample = $state("");
  ticks = $state.raw<readonly StepName[]>([]);
  /** A step that is looked at instead of the next one. */
  looksAt = $state<StepName | null>(null);
  samples = $state.raw<SampleRow[]>([]);
  detail = $state.raw<SampleDetail | null>(null);
  thermometers = $state.raw<ThermometerRow[]>([]);
  problem = $state("");
  /** What is told to one who listens. */
  said = $state("");

  #begun = $state("");
  #person = $state("");
  #loaded = false;
  #asked = 0;

  constructor(
    private readonly store: Store,
    private readonly now: () => Date = () => new Date(),
  ) {}

  /** Whether it was switched on before, by whoever it is now. */
  get begun(): boolean {
    return this.#begun !== "" && this.#person !== "";
  }

  /** Steps that the book itself says are done. */
  get found(): ReadonlySet<StepName> {
    return noticed(this.detail, this.thermometers, this.#person);
  }

  isDone(step: StepName): boolean {
    return this.found.has(step) || this.ticks.includes(step);
  }
  /** The first step that is not done; null when all are. */
  get next(): StepName | null {
    return STEPS.find((step) => !this.isDone(step)) ?? null;
  }
  get shown(): StepName {
    return this.looksAt ?? this.next ?? "report";
  }
  get done(): number {
    return STEPS.filter((step) => this.isDone(step)).length;
  }

  /** Takes what was kept of a person; of nobody there is nothing. */
  open(person: string): void {
    this.#person = person;
    this.#loaded = false;
    this.#asked += 1;
    const kept = this.#kept();
    this.on = kept.on;
    this.#begun = kept.begun;
    this.sample = kept.sample;
    this.ticks = kept.ticks;
    this.looksAt = null;
    this.detail = null;
    this.said = "";
  }

  start(): void {
    if (!this.#person) return;
    this.on = true;
    this.#begun ||= this.now().toISOString();
    this.#keep();
  }

  putAway(): void {
    this.on = false;
    this.#keep();
  }

  tick(step: StepName, done: boolean): void {
    this.#tell(() => {
      this.ticks = done ? [...this.ticks.filter((one) => one !== step), step] : this.ticks.filter((one) => one !== step);
      this.looksAt = null;
    });
    this.#keep();
  }

  look(step: StepName | null): void {
    this.looksAt = step === this.next ? null : step;
  }
  /** To the step before or after the one that is shown. */
  lookBeside(way: 1 | -1): void {
    const beside = STEPS[STEPS.indexOf(this.shown) + way];
    if (beside) this.look(beside);
  }

  async choose(sample: string): Promise<void> {
    this.sample = sample;
    this.detail = null;
    this.#keep();
    await this.refresh();
  }

  /** Asks the book how far things are. */
  async refresh(): Promise<void> {
    if (!this.on || !this.#person) return;
    const asked = (this.#asked += 1);
    try {
      const [{ rows }, found] = await Promise.all([thermometers.thermometers(), api.samples({ per_page: SAMPLES, order: "newest" })]);
      // Newest first: the first one that was added since.
      const since = Date.parse(this.#begun);
      const own = this.sample || (found.rows.findLast((row) => Date.parse(row.added) >= since)?.id ?? "");
      const detail = own ? await api.sample(own) : null;
      if (asked !== this.#asked) return;
      const take = () => {
        this.samples = found.rows;
        this.thermometers = rows;
        this.sample = own;
        this.detail = detail;
      };
      // What was done before the guide was opened is no news.
      if (this.#loaded) this.#tell(take);
      else take();
      this.#loaded = true;
      this.problem = "";
      this.#keep();
    } catch (error) {
      if (asked === this.#asked) this.problem = wordsOf(error);
    }
  }

  /** Says which step became done by a change, and what comes next. */
  #tell(change: () => void): void {
    const before = STEPS.filter((step) => this.isDone(step));
    change();
    const fresh = STEPS.filter((step) => this.isDone(step) && !before.includes(step));
    const last = fresh.at(-1);
    if (!last) return;
    if (this.looksAt !== null && fresh.includes(this.looksAt)) this.looksAt = null;
    const next = this.next;
    this.said = next ? words.said(steps[last].title, steps[next].title) : words.saidAll(steps[last].title);
  }

  #kept(): Kept {
    const none: Kept = { on: false, begun: "", sample: "", ticks: [] };
    if (!this.#person) return none;
    try {
      const found = JSON.parse(this.store.getItem(`${KEY}.${this.#person}`) ?? "null") as Partial<Kept> | null;
      return {
        on: found?.on === true,
        begun: typeof found?.begun === "string" ? found.begun : "",
        sample: typeof found?.sample === "string" ? found.sample : "",
        ticks: Array.isArray(found?.ticks) ? STEPS.filter((step) => found.ticks?.includes(step)) : [],
      };
    } catch {
      return none;
    }
  }

  #keep(): void {
    if (!this.#person) return;
    const kept: Kept = { on: this.on, begun: this.#begun, sample: this.sample, ticks: [...this.ticks] };
    this.store.setItem(`${KEY}.${this.#person}`, JSON.stringify(kept));
  }
}

export const guide = new GuideState(
  typeof localStorage === "undefined" ? { getItem: () => null, setItem: () => {} } : localStorage,
);
