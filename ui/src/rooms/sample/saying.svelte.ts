import { wordsOf } from "../../api/problem";
import type { RecordingRow } from "../../api/types";
import * as api from "../../api/verdicts";
import { findSubstances, type Substance } from "../../api/identity";
import { Latest } from "../../parts/latest";
import { verdict as words } from "../../words/verdict";
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
  pure_u_c = $state<number | null>(null);
  mixed = $state.raw<MixedChoice[]>([]);
  suggestions = $state.raw<Substance[]>([]);
  tried = $state.raw<api.SampleVerdict | null>(null);
  problem = $state("");
  busy = $state(false);
  #taken = "";
  readonly #latest = new Latest(REST_MS);
  readonly #names = new Latest(REST_MS);

  constructor(private readonly sample: string) {}

  /** Recordings that can be used; what was chosen of those that were there before stays. */
  follow(recordings: readonly RecordingRow[]): void {
    const before = new Map(this.mixed.map((one) => [one.row.id, one]));
    const alone = (row: RecordingRow) => row.load.filter((tube) => tube.sample === this.sample).length === 1;
    this.mixed = recordings.filter((row) => holdsThree(row) && alone(row)).map((row) => before.get(row.id) ?? new MixedChoice(row, this.sample));
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
    const used = this.mixed.filter((one) => one.used);
    // What stood beside it is said for itself, and not taken from what is claimed.
    if (used.some((one) => !one.reference.trim())) return null;
    return {
      says: this.says,
      ...(this.ofSubstance ? { substance: name } : {}),
      only_own: this.onlyOwn,
      mixed_meltings: used.map((one) => ({ recording: one.row.id, reference: one.reference.trim(), tubes: one.roles.request })),
      pure_c: this.ofSubstance ? this.pure_c : null,
      pure_u_c: this.ofSubstance && this.pure_c !== null ? this.pure_u_c : null,
      other_evidence: this.other.trim() || null,
    };
  }
  /** What is missing before anything can be worked out; empty when nothing is. */
  get missing(): string {
    if (this.ofSubstance && !this.substance.trim()) return words.needSubstance;
    return this.request ? "" : words.needReference;
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
    // Nothing is recorded that was not shown.
    this.tried = null;
    if (!request) {
      this.#latest.drop();
      return;
    }
    // Always what would be proposed; own words stand beside it.
    this.#latest.soon(
      (signal) => api.tryVerdict(this.sample, request, signal),
      (tried) => {
        this.tried = tried;
        // Words that were taken follow; words of one's own stay.
        if (this.#taken && this.words === this.#taken) this.take();
      },
      (error) => (this.problem = wordsOf(error)),
    );
  }

  /** Takes the proposed words. */
  take(): void {
    this.#taken = this.tried?.words ?? "";
    this.words = this.#taken;
  }

  /** After it was recorded the next one begins without words. */
  clear(): void {
    this.words = this.reason = this.#taken = "";
    this.tried = null;
  }

  /** Records it, in place of the one that is there, if any. */
  async state(supersedes: string | null): Promise<boolean> {
    const { request, tried } = this;
    if (!request || !tried) return false;
    this.busy = true;
    try {
      await api.stateVerdict(this.sample, {
        ...request,
        words: this.words.trim() || tried.words,
        result_record: tried.result_record,
        supersedes,
        reason: this.reason.trim() || null,
      });
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
