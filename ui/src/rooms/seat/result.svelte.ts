/** A result as it is typed, and what is odd about it. */
import type { SeatResult, SeatStep } from "../../api/practicals";
import { seat as words } from "../../words/practical";

type Result = Extract<SeatStep, { what: "result" }>;

/** Ends of what a capillary is heated through on these benches [°C]. */
const COLDEST_C = -50;
const HOTTEST_C = 450;
const FASTEST_C_PER_MIN = 50;
/** From here on something is remarked, and taken all the same. Common practice, no source. */
const WIDE_C = 4;
const FAST_C_PER_MIN = 3;

/** A number as people type it: with a point or a comma. Not a number: NaN; empty: null. */
export function numberOf(text: string): number | null {
  const bare = text.trim().replace(/\s*°?\s*C?$/i, "").replace(",", ".").replace("−", "-");
  if (bare === "") return null;
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(bare) ? Number(bare) : NaN;
}

export class ResultDraft {
  run = $state(1);
  first = $state("");
  last = $state("");
  rate = $state("");
  fresh = $state(true);
  note = $state("");

  get faults(): string[] {
    const [first, last, rate] = [numberOf(this.first), numberOf(this.last), numberOf(this.rate)];
    const faults: string[] = [];
    const bad = (value: number | null) => value === null || Number.isNaN(value);
    if (bad(first)) faults.push(words.faults.first);
    if (bad(last)) faults.push(words.faults.last);
    if ([first, last].some((value) => value !== null && (value < COLDEST_C || value > HOTTEST_C))) faults.push(words.faults.outside);
    if (first !== null && last !== null && last < first) faults.push(words.faults.backwards);
    if (rate !== null && !(rate > 0 && rate <= FASTEST_C_PER_MIN)) faults.push(words.faults.rate);
    return faults;
  }

  /** Odd, but possible. */
  get remarks(): string[] {
    const [first, last, rate] = [numberOf(this.first), numberOf(this.last), numberOf(this.rate)];
    const remarks: string[] = [];
    if (first !== null && last !== null && last - first > WIDE_C) remarks.push(words.wide(last - first));
    if (rate !== null && rate > FAST_C_PER_MIN && rate <= FASTEST_C_PER_MIN) remarks.push(words.fast(rate));
    return remarks;
  }

  get step(): Result | null {
    const [first, last] = [numberOf(this.first), numberOf(this.last)];
    if (this.faults.length || first === null || last === null) return null;
    return {
      what: "result",
      run: this.run,
      first_liquid_c: first,
      last_crystal_c: last,
      heating_rate_c_per_min: numberOf(this.rate),
      fresh_tube: this.fresh,
      note: this.note.trim(),
    };
  }

  /** Empty again, for another run. */
  clear(run: number): void {
    this.run = run;
    this.first = this.last = this.rate = this.note = "";
    this.fresh = true;
  }

  /** As it was saved, to be corrected. */
  correct(saved: SeatResult): void {
    this.run = saved.run;
    this.first = String(saved.first_liquid_c);
    this.last = String(saved.last_crystal_c);
    this.rate = saved.heating_rate_c_per_min === null ? "" : String(saved.heating_rate_c_per_min);
    this.fresh = saved.fresh_tube;
    this.note = saved.note;
  }
}
