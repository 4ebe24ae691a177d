import * as api from "../../api/client";
import type { PlanOrder, Purpose } from "../../api/live";
import {
  expectedRange,
  planningBenches,
  planProgramme,
  procedures,
  type Procedure,
  type Screening,
  type MeasuringOrder,
  type PlannedProgramme,
  type PlanningBench,
  type ProgrammeRequest,
} from "../../api/planning";
import { expectedOf, findSubstances, type Substance } from "../../api/identity";
import { wordsOf } from "../../api/problem";
import type { SampleRow } from "../../api/types";
import { handedText, type Handed } from "../../parts/handed";
import { origins, programme as words } from "../../words/programme";

/** A change rests so long before it is asked for [ms]: a key and the next one are one question. */
const REST_MS = 40;
/** Suggestions while a label is typed. */
const SUGGESTED = 12;
/** A block is set in at least this much cooler than where the scan of a procedure begins [°C], as the planner has it. */
const COOL_BEYOND_C = 10;

const tenth = (c: number): number => Math.round(c * 10) / 10;

/** What the handles of the curve set. */
export type Dragged = "below_c" | "soak_min" | "above_c" | "upTo_c";

/** One programme as it is being planned. Empty fields are left to the program's own defaults. */
export class ProgrammeState {
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
  bench = $state("");
  now_c = $state<number | null>(null);
  within_min = $state<number | null>(null);
  keepRate = $state(false);
  keepSoak = $state(false);
  keepBelow = $state(false);
  keepAbove = $state(false);

  label = $state("");
  /** Whether a sample of the book has this label. */
  known = $state(false);
  /** Where the expected range came from, in words; empty when it was typed. */
  origin = $state("");
  suggestions = $state.raw<SampleRow[]>([]);
  hazards = $state.raw<{ label: string; hazards: string }[]>([]);

  /** Published procedures, and the one that the programme starts from. */
  procedures = $state.raw<Procedure[]>([]);
  procedure = $state("");
  /** What the refuse list says to the sample that was chosen. */
  screening = $state.raw<Screening[]>([]);

  /** A substance of the library that the range is taken from. */
  substance = $state("");
  substances = $state.raw<Substance[]>([]);
  /** What is to be minded of it. */
  minds = $state.raw<string[]>([]);

  benches = $state.raw<PlanningBench[]>([]);
  planned = $state.raw<PlannedProgramme | null>(null);
  problem = $state("");
  trouble = $state("");
  busy = $state(false);
  #rest: ReturnType<typeof setTimeout> | undefined;
  #under = false;
  #again = false;
  #closed = false;

  async start(): Promise<void> {
    try {
      const [benches, published] = await Promise.all([planningBenches(), procedures()]);
      this.benches = benches.benches;
      this.procedures = published.procedures;
      this.trouble = "";
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }
  close(): void {
    this.#closed = true;
    clearTimeout(this.#rest);
  }

  get theBench(): PlanningBench | null {
    return this.benches.find((one) => one.name === this.bench) ?? null;
  }

  get theProcedure(): Procedure | null {
    return this.procedures.find((one) => one.id === this.procedure) ?? null;
  }
  /** Takes the numbers of a published procedure; they can be changed, and what departs from it is said. */
  follow(id: string): void {
    this.procedure = id;
    const found = this.theProcedure;
    if (found) {
      this.below_c = found.start_below_c;
      this.rate = found.rate_c_per_min;
      this.cool_c = Math.max(this.cool_c ?? 0, found.start_below_c + COOL_BEYOND_C);
    }
    this.change();
  }
  /** Why the sample that was chosen is not to be heated; empty where the list does not refuse it. */
  get refusedWhy(): string {
    return this.screening.flatMap((one) => (one.state === "refused" ? [one.why] : [])).join("; ");
  }

  /** As it goes to the program; null while something is missing. */
  get order(): PlanOrder | null {
    if (this.kind === "scouting") {
      if (this.upTo_c === null) return null;
      return { kind: "scouting", up_to_c: this.upTo_c, ...(this.scoutRate === null ? {} : { rate_c_per_min: this.scoutRate }) };
    }
    if (this.first_c === null || this.last_c === null) return null;
    const order: MeasuringOrder = { first_liquid_c: this.first_c, last_crystal_c: this.last_c, attend: this.attend };
    if (this.rate !== null) order.rate_c_per_min = this.rate;
    if (this.soak_min !== null) order.soak_min = this.soak_min;
    if (this.below_c !== null) order.start_below_c = this.below_c;
    if (this.above_c !== null) order.stop_above_c = this.above_c;
    if (this.cool_c !== null) order.cool_below_c = this.cool_c;
    return { kind: "measuring", ...order };
  }

  get request(): ProgrammeRequest | null {
    const plan = this.order;
    if (!plan) return null;
    return {
      plan,
      bench: this.bench || null,
      from_c: this.now_c,
      within_min: this.within_min,
      keep_rate: this.keepRate,
      keep_soak: this.keepSoak,
      keep_start_below: this.keepBelow,
      keep_stop_above: this.keepAbove,
      procedure: this.kind === "measuring" && this.procedure ? this.procedure : null,
    };
  }

  /** Reckons it anew, with at most one question under way: what changes meanwhile is the next one. */
  change(): void {
    if (!this.request) {
      clearTimeout(this.#rest);
      this.#again = false;
      this.planned = null;
      this.problem = "";
      this.busy = false;
      return;
    }
    this.busy = true;
    if (this.#under) {
      this.#again = true;
      return;
    }
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.#ask(), REST_MS);
  }

  async #ask(): Promise<void> {
    const request = this.request;
    if (!request) return;
    this.#under = true;
    try {
      const planned = await planProgramme(request);
      if (this.request) this.planned = planned;
      this.problem = "";
    } catch (error) {
      if (this.request) this.problem = wordsOf(error);
    }
    this.#under = false;
    if (this.#again && !this.#closed) {
      this.#again = false;
      void this.#ask();
    } else {
      this.busy = false;
    }
  }

  /** A handle was moved. */
  drag(what: Dragged, value: number): void {
    this[what] = value;
    this.keep(what);
    this.change();
  }

  /** What somebody sets by hand is not given up for the time there is. */
  keep(what: Dragged | "rate"): void {
    if (this.within_min === null) return;
    if (what === "soak_min") this.keepSoak = true;
    if (what === "rate") this.keepRate = true;
    if (what === "below_c") this.keepBelow = true;
    if (what === "above_c") this.keepAbove = true;
  }

  typedRange(): void {
    this.origin = "";
    this.change();
  }

  async typeLabel(label: string): Promise<void> {
    this.label = label;
    this.hazards = [];
    this.screening = [];
    this.known = false;
    this.origin = "";
    this.minds = [];
    if (!label.trim()) return;
    try {
      const found = await api.samples({ text: label.trim(), per_page: SUGGESTED });
      if (this.label !== label) return;
      this.suggestions = found.rows;
      const same = found.rows.find((row) => row.label.toLowerCase() === label.trim().toLowerCase());
      if (!same) return;
      this.known = true;
      this.hazards = same.hazards ? [{ label: same.label, hazards: same.hazards }] : [];
      const { range, screening } = await expectedRange(same.id);
      if (this.label !== label) return;
      this.screening = screening;
      if (!range) {
        this.origin = words.nothingKnown(same.label);
        return;
      }
      this.kind = "measuring";
      this.first_c = tenth(range.first_liquid_c);
      this.last_c = tenth(Math.max(range.first_liquid_c, range.last_crystal_c));
      this.origin = words.from(same.label, origins[range.origin]);
      this.change();
      this.trouble = "";
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  async typeSubstance(name: string): Promise<void> {
    this.substance = name;
    try {
      const found = name.trim().length < 2 ? [] : (await findSubstances(name.trim(), SUGGESTED)).substances;
      if (this.substance === name) this.substances = found;
    } catch {
      // Without suggestions the name can still be typed.
      if (this.substance === name) this.substances = [];
    }
  }

  /** Takes the range from the literature values of the substance that was typed. */
  async takeSubstance(): Promise<void> {
    const name = this.substance.trim();
    this.minds = [];
    if (!name) return;
    try {
      const found = await expectedOf(name);
      if (this.substance.trim() !== name) return;
      this.trouble = "";
      this.minds = found.minds;
      // It speaks of this substance now, not of a sample.
      this.label = "";
      this.known = false;
      this.hazards = [];
      this.screening = found.refused ? [{ state: "refused", why: found.refused }] : [];
      const [first_c, last_c] = found.range_c ?? [];
      if (first_c === undefined || last_c === undefined) {
        this.origin = found.refused ? "" : words.doubted(found.name);
        this.first_c = this.last_c = null;
      } else {
        [this.first_c, this.last_c] = [tenth(first_c), tenth(last_c)];
        this.origin = words.fromLibrary(found.name);
      }
      this.change();
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  /** What the bench's page is given: what fits the time there is. */
  get handed(): string | null {
    const order = this.order;
    const planned = this.planned;
    if (!order || !planned || this.problem || this.refusedWhy) return null;
    const plan: PlanOrder = planned.order ? { kind: "measuring", ...planned.order } : order;
    const handed: Handed = {
      plan,
      range: plan.kind === "measuring" ? [plan.first_liquid_c, plan.last_crystal_c] : null,
      labels: this.known ? [this.label.trim()] : [],
      from: words.handed,
    };
    return handedText(handed);
  }
}
