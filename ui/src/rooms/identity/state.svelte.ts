import * as api from "../../api/identity";
import { wordsOf } from "../../api/problem";
import { Latest } from "../../parts/latest";
import type { to } from "../../router.svelte";
import { identity as words, rangeConventions } from "../../words/identity";

/** A change rests so long before it is asked for [ms]. */
const REST_MS = 150;
/** So many candidates are asked for, and so many are shown until more is wanted. */
const ASKED = 50;
const SHOWN = 12;
/** With more than these a shorter list is called for. */
const MANY = 30;
/** Where nothing was handed over [°C]. */
const USUAL_U_C = 0.5;

/** A number of an address; null where it is none. */
export function numberOf(text: string | null): number | null {
  const value = text?.trim() ? Number(text) : NaN;
  return Number.isFinite(value) ? value : null;
}

/** CAS number, or the name where there is none: what the program finds it by. */
export const keyOf = (one: { cas: string; name: string }): string => one.cas || one.name;

/** Whether it is not to be heated at all; the program says so in the first of its hazards. */
export const isRefused = (one: { hazards: readonly string[] }): boolean => one.hazards[0]?.startsWith("refused") ?? false;

/** What a solid could be that melts over a range. */
export class IdentityState {
  first_c = $state<number | null>(null);
  last_c = $state<number | null>(null);
  u_c = $state<number | null>(USUAL_U_C);
  convention = $state<api.RangeConvention>("unstated");
  onlyOwn = $state(false);
  /** Whose result it is; empty where the range was typed. */
  sample = $state("");
  /** The result that was handed over is not corrected. */
  uncorrected = $state(false);

  found = $state.raw<api.Candidates | null>(null);
  /** The range that was found for. */
  foundFor = $state.raw<api.IdentifyRequest | null>(null);
  problem = $state("");
  busy = $state(false);
  all = $state(false);
  readonly #latest = new Latest(REST_MS);

  constructor(query: URLSearchParams) {
    this.first_c = numberOf(query.get("first"));
    this.last_c = numberOf(query.get("last"));
    this.u_c = numberOf(query.get("u")) ?? USUAL_U_C;
    this.sample = query.get("sample") ?? "";
    const convention = query.get("convention") ?? "";
    this.uncorrected = convention === "as_logged";
    if (convention in rangeConventions) this.convention = convention as api.RangeConvention;
  }
  close(): void {
    this.#latest.drop();
  }

  /** Why nothing is asked; empty when all is there. */
  get missing(): string {
    if (this.first_c === null || this.last_c === null || this.u_c === null) return words.needRange;
    return this.first_c > this.last_c ? words.order : "";
  }

  get request(): api.IdentifyRequest | null {
    const { first_c, last_c, u_c } = this;
    if (first_c === null || last_c === null || u_c === null || this.missing) return null;
    return {
      first_liquid_c: first_c,
      last_crystal_c: last_c,
      standard_uncertainty_c: u_c,
      convention: this.convention,
      only_own: this.onlyOwn,
      top: ASKED,
    };
  }

  /** The range is another one than the sample's. */
  typed(): void {
    this.sample = "";
    this.uncorrected = false;
    this.change();
  }

  change(): void {
    const request = this.request;
    if (!request) {
      this.#latest.drop();
      this.busy = false;
      this.problem = "";
      this.found = null;
      return;
    }
    this.busy = true;
    this.#latest.soon(
      (signal) => api.candidates(request, signal),
      (found) => {
        this.found = found;
        this.foundFor = request;
        this.problem = "";
        this.busy = false;
      },
      (error) => {
        this.found = null;
        this.problem = wordsOf(error);
        this.busy = false;
      },
    );
  }

  get shown(): api.Candidate[] {
    const candidates = this.found?.candidates ?? [];
    return this.all ? candidates : candidates.slice(0, SHOWN);
  }
  /** So many can be shown still. */
  get more(): number {
    return this.all ? 0 : Math.max(0, (this.found?.candidates.length ?? 0) - SHOWN);
  }
  /** That it is one of those that are not shown. */
  get othersProbability(): number {
    const hidden = (this.found?.candidates ?? []).slice(this.shown.length);
    return (this.found?.rest_probability ?? 0) + hidden.reduce((sum, one) => sum + one.probability, 0);
  }
  get othersCount(): number {
    return Math.max(0, (this.found?.library_size ?? 0) - this.shown.length);
  }
  /** Whether a list of what is likely would say more. */
  get many(): boolean {
    return !this.onlyOwn && (this.found?.credible_95.length ?? 0) > MANY;
  }

  /** For the mixed-melting page: the reference with the likeliest other candidate, and the sample's range. */
  mixing(test: { cas: string; with: string }): NonNullable<Parameters<typeof to.mixed>[0]> {
    const reference = keyOf({ cas: test.cas, name: test.with });
    const other = this.found?.candidates.find((one) => keyOf(one) !== reference && !isRefused(one));
    return {
      ...(other ? { a: keyOf(other) } : {}),
      b: reference,
      first: this.first_c,
      last: this.last_c,
      sample: this.sample,
    };
  }
}

/** How pure a sample is, if it is one certain substance. */
export class PurityState {
  pure_c = $state<number | null>(null);
  u_c = $state<number | null>(null);
  told = $state.raw<api.PurityTold | null>(null);
  problem = $state("");
  busy = $state(false);
  readonly #latest = new Latest(REST_MS);

  constructor(
    readonly candidate: api.Candidate,
    private range: api.IdentifyRequest,
  ) {
    this.u_c = range.standard_uncertainty_c;
  }
  /** The sample melts over another range; what was typed here stays. */
  follow(range: api.IdentifyRequest): void {
    this.range = range;
    this.change();
  }
  close(): void {
    this.#latest.drop();
  }

  /** Literature values that can be taken, each once. */
  get values(): number[] {
    return [...new Set(this.candidate.literature_c)];
  }

  get request(): api.PurityRequest | null {
    if (this.u_c === null) return null;
    return {
      substance: { name: keyOf(this.candidate) },
      first_liquid_c: this.range.first_liquid_c,
      last_crystal_c: this.range.last_crystal_c,
      pure_c: this.pure_c,
      standard_uncertainty_c: this.u_c,
    };
  }

  change(): void {
    const request = this.request;
    if (!request) return;
    this.busy = true;
    this.#latest.soon(
      (signal) => api.purity(request, signal),
      (told) => {
        this.told = told;
        this.problem = "";
        this.busy = false;
      },
      (error) => {
        this.told = null;
        this.problem = wordsOf(error);
        this.busy = false;
      },
    );
  }

  get ways(): api.Purity[] {
    return [this.told?.by_clear_point, this.told?.by_width].filter((one) => one != null);
  }
}
