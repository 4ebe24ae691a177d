import { wordsOf } from "../../api/problem";
import type { RecordingRow } from "../../api/types";
import * as api from "../../api/verdicts";
import { findSubstances, type Substance } from "../../api/identity";
import { Latest } from "../../parts/latest";
import { holdsThree, Roles } from "../mixed/recorded.svelte";

/** A change rests so long before it is asked for [ms]. */
const REST_MS = 200;
/** Suggestions while a name is typed, after fewer letters none. */
const SUGGESTED = 12;
const LETTERS = 2;

/** A recording that can be a mixed melting of the sample. */
export class MixedChoice {
  used = $state(false);
  reference = $state("");
  readonly roles = new Roles();

  constructor(
    readonly row: RecordingRow,
    sample: string,
  ) {
    const own = row.load.find((tube) => tube.sample === sample);
    if (own) this.roles.set("sample", own.place);
  }
}

/** What a sample is said to be, as it is being written. */
export class Saying {
  says = $state<api.Identified>("consistent_with");
  substance = $state("");
  onlyOwn = $state(false);
  pure_c = $state<number | null>(null);
  other = $state("");
  words = $state("");
  reason = $state("");
  mixed = $state.raw<MixedChoice[]>([]);
  suggestions = $state.raw<Substance[]>([]);
  tried = $state.raw<api.SampleVerdict | null>(null);
  problem = $state("");
  busy = $state(false);
  readonly #latest = new Latest(REST_MS);
  readonly #names = new Latest(REST_MS);

  constructor(private readonly sample: string) {}

  /** Recordings that can be used; what was chosen of those that were there before stays. */
  follow(recordings: readonly RecordingRow[]): void {
    const before = new Map(this.mixed.map((one) => [one.row.id, one]));
    this.mixed = recordings.filter(holdsThree).map((row) => before.get(row.id) ?? new MixedChoice(row, this.sample));
  }
  close(): void {
    this.#latest.drop();
    this.#names.drop();
  }

  get ofSubstance(): boolean {
    return this.says !== "open";
  }
  /** Null while something is missing. */
  get request(): api.VerdictRequest | null {
    const name = this.substance.trim();
    if (this.ofSubstance && !name) return null;
    return {
      says: this.says,
      ...(this.ofSubstance ? { substance: name } : {}),
      only_own: this.onlyOwn,
      mixed_meltings: this.mixed
        .filter((one) => one.used)
        .map((one) => ({ recording: one.row.id, reference: one.reference.trim() || name, tubes: one.roles.request })),
      pure_c: this.pure_c,
      other_evidence: this.other.trim() || null,
      words: this.words.trim() || null,
    };
  }

  suggest(): void {
    const text = this.substance.trim();
    if (text.length < LETTERS) {
      this.#names.drop();
      this.suggestions = [];
      return;
    }
    this.#names.soon(
      (signal) => findSubstances(text, SUGGESTED, signal),
      (found) => (this.suggestions = found.substances),
      // Without suggestions the name can still be typed.
      () => (this.suggestions = []),
    );
  }

  change(): void {
    const request = this.request;
    this.problem = "";
    if (!request) {
      this.#latest.drop();
      this.tried = null;
      return;
    }
    // Always what would be proposed; own words stand beside it.
    this.#latest.soon(
      (signal) => api.tryVerdict(this.sample, { ...request, words: null }, signal),
      (tried) => (this.tried = tried),
      (error) => {
        this.tried = null;
        this.problem = wordsOf(error);
      },
    );
  }

  /** Records it, in place of the one that is there, if any. */
  async state(supersedes: string | null): Promise<boolean> {
    const request = this.request;
    if (!request) return false;
    this.busy = true;
    try {
      await api.stateVerdict(this.sample, { ...request, supersedes, reason: this.reason.trim() || null });
      this.problem = "";
      return true;
    } catch (error) {
      this.problem = wordsOf(error);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
