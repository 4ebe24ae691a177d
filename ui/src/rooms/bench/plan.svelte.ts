import * as api from "../../api/live";
import type { Leg, Plan, PlanOrder, Purpose } from "../../api/live";
import { wordsOf } from "../../api/problem";
import type { Handed } from "../../parts/handed";
import { bench as words } from "../../words/bench";

/** Typing rests so long before the curve is reckoned anew [ms]. */
const REST_MS = 250;
/** The block moved so far that the curve no longer begins where it stands [°C]. */
const MOVED_C = 2;

const tenth = (c: number): number => Math.round(c * 10) / 10;

/** What is to be done in the next run. Empty fields are left to the program's own defaults. */
export class PlanState {
  kind = $state<Purpose>("measuring");
  first_c = $state<number | null>(null);
  last_c = $state<number | null>(null);
  rate = $state<number | null>(1);
  soak_min = $state<number | null>(3);
  below_c = $state<number | null>(3);
  above_c = $state<number | null>(2);
  cool_c = $state<number | null>(20);
  attend = $state(true);
  upTo_c = $state<number | null>(null);
  scoutRate = $state<number | null>(10);
  endWhenClear = $state(true);
  /** Where the expected range came from; empty when it was typed. */
  origin = $state("");
  /** Legs as they were planned elsewhere; they take the place of the fields. */
  given = $state.raw<Leg[] | null>(null);
  /** Who planned what was handed over, in words; empty when it was planned here. */
  handedFrom = $state("");

  plan = $state.raw<Plan | null>(null);
  problem = $state("");
  busy = $state(false);
  #rest: ReturnType<typeof setTimeout> | undefined;
  #asked = 0;
  #expected = "";
  #plannedFrom_c: number | null = null;

  constructor(private readonly bench: string) {}

  /** As it goes to the program; null while something is missing. */
  get order(): PlanOrder | null {
    if (this.given) return { kind: "legs", legs: this.given as Extract<PlanOrder, { kind: "legs" }>["legs"] };
    if (this.kind === "scouting") {
      if (this.upTo_c === null) return null;
      return { kind: "scouting", up_to_c: this.upTo_c, ...set({ rate_c_per_min: this.scoutRate }) };
    }
    if (this.first_c === null || this.last_c === null) return null;
    return {
      kind: "measuring",
      first_liquid_c: this.first_c,
      last_crystal_c: this.last_c,
      attend: this.attend,
      ...set({
        rate_c_per_min: this.rate,
        soak_min: this.soak_min,
        start_below_c: this.below_c,
        stop_above_c: this.above_c,
        cool_below_c: this.cool_c,
      }),
    };
  }

  /** Takes an expected range, unless the person typed one or it is the one that was taken last. */
  expect(first_c: number, last_c: number, origin: string): void {
    const range = `${first_c} ${last_c} ${origin}`;
    // What was planned on purpose is not taken back by an older result.
    if (this.handedFrom) return;
    if (range === this.#expected || (this.origin === "" && this.first_c !== null)) return;
    this.#expected = range;
    this.first_c = tenth(first_c);
    this.last_c = tenth(Math.max(first_c, last_c));
    this.origin = origin;
  }

  /** Takes what was planned elsewhere. */
  take(handed: Handed): void {
    const plan = handed.plan;
    this.handedFrom = handed.from;
    this.origin = "";
    this.given = null;
    if (handed.range) [this.first_c, this.last_c] = handed.range;
    if (plan.kind === "legs") {
      this.kind = "measuring";
      this.given = plan.legs;
    } else if (plan.kind === "scouting") {
      this.kind = "scouting";
      this.upTo_c = plan.up_to_c;
      this.scoutRate = plan.rate_c_per_min ?? this.scoutRate;
    } else {
      this.kind = "measuring";
      this.rate = plan.rate_c_per_min ?? this.rate;
      this.soak_min = plan.soak_min ?? this.soak_min;
      this.below_c = plan.start_below_c ?? this.below_c;
      this.above_c = plan.stop_above_c ?? this.above_c;
      this.cool_c = plan.cool_below_c ?? this.cool_c;
      this.attend = plan.attend ?? this.attend;
    }
  }

  /** Plans here after all, around the range that was handed over. */
  leaveGiven(): void {
    this.given = null;
    this.handedFrom = "";
    this.change();
  }

  /** The range was typed: nothing takes its place by itself. */
  typed(): void {
    this.origin = "";
  }

  /** After a scouting run: the measuring run around what it found. */
  measureAround(estimate_c: readonly [number, number]): void {
    this.given = null;
    this.handedFrom = "";
    this.kind = "measuring";
    this.first_c = tenth(estimate_c[0]);
    this.last_c = tenth(Math.max(...estimate_c));
    this.origin = words.prefilled.scouting;
  }

  /** Reckons the curve anew once the typing rests. */
  change(): void {
    clearTimeout(this.#rest);
    const order = this.order;
    this.#asked += 1;
    if (!order) {
      this.plan = null;
      this.problem = "";
      this.busy = false;
      return;
    }
    const asked = this.#asked;
    this.busy = true;
    this.#rest = setTimeout(() => void this.#ask(order, asked), REST_MS);
  }

  /** Reckons it anew when the block no longer stands where the curve begins. */
  blockAt(temperature_c: number | null): void {
    if (temperature_c === null) return;
    if (this.#plannedFrom_c !== null && Math.abs(temperature_c - this.#plannedFrom_c) < MOVED_C) return;
    this.#plannedFrom_c = temperature_c;
    if (this.plan || this.handedFrom) this.change();
  }

  async #ask(order: PlanOrder, asked: number): Promise<void> {
    try {
      const plan = await api.plan(this.bench, order);
      if (asked !== this.#asked) return;
      this.plan = plan;
      this.problem = "";
    } catch (error) {
      if (asked !== this.#asked) return;
      this.plan = null;
      this.problem = wordsOf(error);
    }
    this.busy = false;
  }

  close(): void {
    clearTimeout(this.#rest);
    this.#asked += 1;
  }
}

/** What is not null. */
function set<T extends Record<string, number | null>>(values: T): { [K in keyof T]?: number } {
  return Object.fromEntries(Object.entries(values).filter(([, value]) => value !== null && value !== undefined)) as {
    [K in keyof T]?: number;
  };
}
