/** A practical as it is set up: who comes, what the vials hold, where it is heated, what earns points. */
import { expectedOf, findSubstances, type Substance } from "../../api/identity";
import { planningBenches, type PlanningBench, type SessionBench } from "../../api/planning";
import * as api from "../../api/practicals";
import { wordsOf } from "../../api/problem";
import { Latest } from "../../parts/latest";
import { dayHere } from "../../words/format";
import { setUp as words } from "../../words/practical";
import { benchOf } from "../session/order";

/** A change rests so long before it is asked for [ms]. */
const REST_MS = 200;
/** So many of the library are shown at most. */
const SHOWN = 8;
/** A pure solid melts within about a degree: what a literature value is taken for until the lot was measured. */
const USUAL_WIDTH_C = 1;
const MOST_SEATS = 100;

/** A line of the list of unknowns, as it is typed. */
export interface UnknownEntry {
  library: string | null;
  name: string;
  first_c: number | null;
  last_c: number | null;
  hazards: string;
  fusion_j_per_mol: number | null;
  /** Whether its range came from the library. */
  literature: boolean;
}

export const emptyUnknown = (): UnknownEntry => ({
  library: null,
  name: "",
  first_c: null,
  last_c: null,
  hazards: "",
  fusion_j_per_mol: null,
  literature: false,
});

/** A bench nobody described yet. Common practice, no source. */
export const usualBench = (name: string): SessionBench => ({
  name,
  places: 3,
  room_c: 22,
  start_c: 22,
  heat_rate_c_per_min: 15,
  cool_time_constant_min: 12,
  max_c: 300,
});

const letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
/** The first name of a letter, or of a number behind the letters, that is not taken. */
export function freeName(taken: readonly string[]): string {
  const letter = [...letters].find((one) => !taken.includes(one));
  if (letter) return letter;
  let n = letters.length + 1;
  while (taken.includes(String(n))) n += 1;
  return String(n);
}

/** The value of the library that is taken for a substance: one that is not doubted before one that is. */
export function literatureOf(substance: Pick<Substance, "melting_c">): number | null {
  const trusted = substance.melting_c.find((one) => one.mark === "median") ?? substance.melting_c.find((one) => !one.mark);
  return trusted?.value_c ?? null;
}

function ready(entry: UnknownEntry): entry is UnknownEntry & { first_c: number; last_c: number } {
  return entry.name.trim() !== "" && entry.first_c !== null && entry.last_c !== null && entry.first_c <= entry.last_c;
}

function unknownOf(entry: UnknownEntry & { first_c: number; last_c: number }): api.Unknown {
  return {
    library: entry.library,
    name: entry.name.trim(),
    first_liquid_c: entry.first_c,
    last_crystal_c: entry.last_c,
    hazards: entry.hazards.trim() || null,
    fusion_j_per_mol: entry.fusion_j_per_mol,
  };
}

export class SetUpRoom {
  title = $state(words.nameUsual(dayHere()));
  seats = $state<number | null>(16);
  perRow = $state<number | null>(4);
  peopleEach = $state(1);
  runsEach = $state<number | null>(2);
  length_min = $state<number | null>(150);
  operators = $state<number | null>(6);
  uncertainty_c = $state<number | null>(0.5);
  unknowns = $state<UnknownEntry[]>([]);
  benches = $state<SessionBench[]>([...letters.slice(0, 6)].map(usualBench));
  rubric = $state<api.Rubric>({ identity: 10, range: 10, agreement: 5, care: 5, range_within_c: 1, agreement_within_c: 0.5, heating_rate_c_per_min: 1.5 });
  bookBenches = $state.raw<PlanningBench[]>([]);

  text = $state("");
  found = $state.raw<Substance[] | null>(null);
  finding = $state(false);
  compared = $state.raw<{ unknowns: string[]; told: api.UnknownsCompared } | null>(null);
  problem = $state("");
  /** Why something of the library was not taken. */
  refused = $state("");
  busy = $state(false);
  /** Said once, so that a second press makes nothing anew. */
  readonly #id = crypto.randomUUID();
  readonly #seed = crypto.getRandomValues(new Uint32Array(1))[0] ?? 1;
  readonly #finding = new Latest(REST_MS);
  readonly #comparing = new Latest(REST_MS);

  async begin(): Promise<void> {
    try {
      this.bookBenches = (await planningBenches()).benches;
    } catch {
      // Benches are typed then.
      this.bookBenches = [];
    }
  }
  close(): void {
    this.#finding.drop();
    this.#comparing.drop();
  }

  /** What stands in the way of dealing; empty when nothing does. */
  get faults(): string[] {
    const faults: string[] = [];
    const whole = (n: number | null, most = Infinity) => n !== null && Number.isInteger(n) && n >= 1 && n <= most;
    const names = this.unknowns.map((one) => one.name.trim());
    const benches = this.benches.map((one) => one.name.trim());
    if (!this.title.trim()) faults.push(words.faults.title);
    if (!whole(this.seats, MOST_SEATS)) faults.push(words.faults.seats);
    if (!whole(this.perRow)) faults.push(words.faults.perRow);
    if (!whole(this.runsEach) || !whole(this.operators) || !(this.length_min !== null && this.length_min > 0)) faults.push(words.faults.numbers);
    if (!(this.uncertainty_c !== null && this.uncertainty_c > 0)) faults.push(words.faults.uncertainty);
    if (this.unknowns.length < 2) faults.push(words.faults.unknowns);
    if (names.includes("")) faults.push(words.faults.name);
    for (const twice of new Set(names.filter((name, i) => name && names.indexOf(name) !== i))) faults.push(words.faults.twice(twice));
    for (const one of this.unknowns) {
      if (one.first_c === null || one.last_c === null) faults.push(words.faults.range(one.name.trim()));
      else if (one.first_c > one.last_c) faults.push(words.faults.backwards(one.name.trim()));
    }
    if (benches.length === 0) faults.push(words.faults.benches);
    else if (benches.includes("") || new Set(benches).size < benches.length) faults.push(words.faults.benchNames);
    return faults;
  }

  /** As it goes to the program; null while something stands in the way. */
  get setUp(): api.PracticalSetUp | null {
    const { seats, perRow, runsEach, length_min, operators, uncertainty_c } = this;
    if (this.faults.length || seats === null || perRow === null || runsEach === null || length_min === null) return null;
    if (operators === null || uncertainty_c === null) return null;
    return {
      title: this.title.trim(),
      seats,
      seats_per_row: perRow,
      people_per_seat: this.peopleEach,
      unknowns: this.unknowns.filter(ready).map(unknownOf),
      standard_uncertainty_c: uncertainty_c,
      runs_each: runsEach,
      length_min,
      operators,
      benches: this.benches.map((bench) => ({ ...bench, name: bench.name.trim() })),
      rubric: { ...this.rubric },
      seed: this.#seed,
    };
  }

  find(): void {
    const text = this.text.trim();
    this.refused = "";
    if (text.length < 2) {
      this.#finding.drop();
      this.found = null;
      this.finding = false;
      return;
    }
    this.finding = true;
    this.#finding.soon(
      (signal) => findSubstances(text, SHOWN, signal),
      ({ substances }) => {
        this.found = substances;
        this.finding = false;
      },
      (error) => {
        this.refused = wordsOf(error);
        this.finding = false;
      },
    );
  }

  /** Takes a substance of the library, with what has to be minded; one that is not to be heated is refused. */
  async take(substance: Substance): Promise<void> {
    this.refused = "";
    try {
      const told = await expectedOf(substance.cas || substance.name);
      if (told.refused) {
        this.refused = words.refused(substance.name, told.refused);
        return;
      }
      const value_c = literatureOf(substance);
      this.unknowns.push({
        library: substance.cas || substance.name,
        name: substance.name,
        first_c: value_c === null ? null : Math.round((value_c - USUAL_WIDTH_C) * 10) / 10,
        last_c: value_c,
        hazards: told.minds.join("; "),
        fusion_j_per_mol: (substance.hfus_j_per_mol ?? substance.hfus_estimate_j_per_mol)?.value ?? null,
        literature: value_c !== null,
      });
      this.text = "";
      this.found = null;
      this.typed();
    } catch (error) {
      this.refused = wordsOf(error);
    }
  }

  addLine(): void {
    this.unknowns.push(emptyUnknown());
  }
  drop(i: number): void {
    this.unknowns.splice(i, 1);
    this.typed();
  }
  addBench(known?: PlanningBench): void {
    this.benches.push(known ? benchOf(known) : usualBench(freeName(this.benches.map((one) => one.name))));
  }

  /** Something of the unknowns changed: every pair is looked at anew. */
  typed(): void {
    const whole = this.unknowns.filter(ready);
    const uncertainty_c = this.uncertainty_c;
    if (whole.length < 2 || uncertainty_c === null || !(uncertainty_c > 0)) {
      this.#comparing.drop();
      this.compared = null;
      return;
    }
    const unknowns = whole.map(unknownOf);
    this.#comparing.soon(
      (signal) => api.compare({ unknowns, standard_uncertainty_c: uncertainty_c }, signal),
      (told) => {
        this.compared = { unknowns: unknowns.map((one) => one.name), told };
        this.problem = "";
      },
      (error) => {
        this.compared = null;
        this.problem = wordsOf(error);
      },
    );
  }

  /** Makes the practical; gives its id, or nothing when that was refused. */
  async make(): Promise<string> {
    const set_up = this.setUp;
    if (!set_up || this.busy) return "";
    this.busy = true;
    try {
      const made = await api.make(this.#id, set_up);
      this.problem = "";
      return made.id;
    } catch (error) {
      this.problem = wordsOf(error);
      return "";
    } finally {
      this.busy = false;
    }
  }
}
