import * as api from "../../api/identity";
import { wordsOf } from "../../api/problem";
import type { MixedTubesJudged } from "../../api/verdicts";
import { Following } from "../../parts/following";
import { Latest } from "../../parts/latest";
import { numberOf } from "../identity/state.svelte";

/** A change rests so long before it is asked for [ms]. */
const REST_MS = 150;
/** Suggestions while a name is typed, after fewer letters none. */
const SUGGESTED = 12;
const LETTERS = 2;
/** Equal masses ground together [%]. */
const EQUAL = 50;
/** Between two tubes of one load, where nothing is typed [°C]. */
const USUAL_U_C = 0.2;

/** One side of the mixture as it is typed. */
export class Side {
  name = $state("");
  melting_c = $state<number | null>(null);
  hfus_kj_per_mol = $state<number | null>(null);
  molar_mass_g_per_mol = $state<number | null>(null);
  suggestions = $state.raw<api.Substance[]>([]);
  /** What is to be minded of the substance that the name was taken for. */
  hazards = $state.raw<string[]>([]);
  #minded = "";
  readonly #latest = new Latest(REST_MS);

  constructor(name: string) {
    this.name = name;
  }

  get request(): api.SolidRequest {
    return {
      name: this.name.trim(),
      melting_c: this.melting_c,
      hfus_j_per_mol: this.hfus_kj_per_mol === null ? null : this.hfus_kj_per_mol * 1000,
      molar_mass_g_per_mol: this.molar_mass_g_per_mol,
    };
  }

  get ownNumbers(): boolean {
    return this.melting_c !== null || this.hfus_kj_per_mol !== null || this.molar_mass_g_per_mol !== null;
  }

  suggest(): void {
    const text = this.name.trim();
    if (text.length < LETTERS) {
      this.#latest.drop();
      this.suggestions = [];
      return;
    }
    this.#latest.soon(
      (signal) => api.findSubstances(text, SUGGESTED, signal),
      (found) => (this.suggestions = found.substances),
      // Without suggestions the name can still be typed; what is wrong is said by the diagram.
      () => (this.suggestions = []),
    );
  }
  /** Looks up what is to be minded of it, once for each. */
  async mind(cas: string): Promise<void> {
    if (cas === this.#minded) return;
    this.#minded = cas;
    this.hazards = [];
    if (!cas) return;
    try {
      const found = await api.findSubstances(cas, SUGGESTED);
      if (this.#minded === cas) this.hazards = found.substances.find((one) => one.cas === cas)?.hazards ?? [];
    } catch {
      // Looked up again with the next answer.
      if (this.#minded === cas) this.#minded = "";
    }
  }
  close(): void {
    this.#latest.drop();
  }
}

/** A measured mixture as it is typed. */
export interface PointRow {
  key: number;
  x: number | null;
  last_c: number | null;
  first_c: number | null;
}

/** What of the rows can be sent: a composition and one temperature at least. */
export function pointsOf(rows: readonly PointRow[]): api.PairPoint[] {
  return rows.flatMap((row) =>
    row.x === null || (row.last_c === null && row.first_c === null)
      ? []
      : [{ mole_fraction_b: row.x, liquidus_c: row.last_c, solidus_c: row.first_c }],
  );
}

/** What decides whether both molar masses are known. */
function pairOf({ a, b }: api.MixtureRequest): string {
  return JSON.stringify([a.name, a.molar_mass_g_per_mol, b.name, b.molar_mass_g_per_mol]);
}

/** How two solids melt together. */
export class MixedState {
  readonly a: Side;
  readonly b: Side;
  /** Mass fraction of the second [%]. */
  percent = $state<number | null>(EQUAL);
  rows = $state<PointRow[]>([]);
  told = $state.raw<api.Mixture | null>(null);
  problem = $state("");
  busy = $state(false);
  #rows = 0;
  /** The pair of which a molar mass is missing: a mass fraction cannot be asked for. */
  #massless = "";
  readonly #following = new Following<api.MixtureRequest, api.Mixture>(
    (request) => this.#ask(request),
    (told) => {
      this.told = told;
      this.problem = "";
      this.busy = this.#following.busy;
      void this.a.mind(told.a.cas);
      void this.b.mind(told.b.cas);
    },
    (error) => {
      this.problem = wordsOf(error);
      this.busy = this.#following.busy;
    },
  );

  constructor(query: URLSearchParams) {
    this.a = new Side(query.get("a") ?? "");
    this.b = new Side(query.get("b") ?? "");
  }
  close(): void {
    this.#following.drop();
    this.a.close();
    this.b.close();
  }

  get ready(): boolean {
    return this.a.name.trim() !== "" && this.b.name.trim() !== "";
  }
  /** Whether a mixture can be tried by mass. */
  get byMass(): boolean {
    return this.told?.a.molar_mass_g_per_mol != null && this.told.b.molar_mass_g_per_mol != null;
  }
  /** The mixture that is drawn. */
  get tried(): api.Melting | null {
    return this.told ? (this.told.at ?? this.told.equal_masses) : null;
  }

  get request(): api.MixtureRequest | null {
    if (!this.ready) return null;
    const request: api.MixtureRequest = { a: this.a.request, b: this.b.request, points: pointsOf(this.rows) };
    if (this.percent !== null && this.#massless !== pairOf(request)) request.mass_fraction_b = this.percent / 100;
    return request;
  }

  change(): void {
    const request = this.request;
    if (!request) {
      this.#following.drop();
      this.busy = false;
      this.problem = "";
      this.told = null;
      return;
    }
    this.busy = true;
    this.#following.put(request);
  }

  /** With the composition; where a molar mass is missing, without. */
  async #ask(request: api.MixtureRequest): Promise<api.Mixture> {
    try {
      return await api.mixture(request);
    } catch (error) {
      const { mass_fraction_b, ...without } = request;
      if (mass_fraction_b == null) throw error;
      // If it is refused for another reason, it is refused again.
      const told = await api.mixture(without);
      if (told.a.molar_mass_g_per_mol != null && told.b.molar_mass_g_per_mol != null) throw error;
      this.#massless = pairOf(request);
      return told;
    }
  }

  compose(percent: number): void {
    this.percent = percent;
    this.change();
  }

  swap(): void {
    const { a, b } = this;
    [a.name, b.name] = [b.name, a.name];
    [a.melting_c, b.melting_c] = [b.melting_c, a.melting_c];
    [a.hfus_kj_per_mol, b.hfus_kj_per_mol] = [b.hfus_kj_per_mol, a.hfus_kj_per_mol];
    [a.molar_mass_g_per_mol, b.molar_mass_g_per_mol] = [b.molar_mass_g_per_mol, a.molar_mass_g_per_mol];
    if (this.percent !== null) this.percent = 100 - this.percent;
    for (const row of this.rows) if (row.x !== null) row.x = Number((1 - row.x).toFixed(6));
    this.change();
  }

  addPoint(): void {
    this.#rows += 1;
    this.rows.push({ key: this.#rows, x: null, last_c: null, first_c: null });
  }
  removePoint(key: number): void {
    this.rows = this.rows.filter((row) => row.key !== key);
    this.change();
  }
}

export type TubeName = "sample" | "reference" | "mixture";

/** Three tubes of one load as they are typed. */
export class ThreeTubesState {
  tubes = $state<Record<TubeName, { first_c: number | null; last_c: number | null }>>({
    sample: { first_c: null, last_c: null },
    reference: { first_c: null, last_c: null },
    mixture: { first_c: null, last_c: null },
  });
  u_c = $state<number | null>(USUAL_U_C);
  sampleName = $state("");
  told = $state.raw<api.MixedMelting | null>(null);
  problem = $state("");
  readonly #latest = new Latest(REST_MS);

  constructor(query: URLSearchParams) {
    this.sampleName = query.get("sample") ?? "";
    this.tubes.sample = { first_c: numberOf(query.get("first")), last_c: numberOf(query.get("last")) };
  }
  close(): void {
    this.#latest.drop();
  }

  /** Three tubes that were read together, in place of what was typed. */
  take(judged: MixedTubesJudged | null, sample = ""): void {
    if (!judged) {
      for (const name of ["sample", "reference", "mixture"] as const) this.tubes[name] = { first_c: null, last_c: null };
      this.change();
      return;
    }
    this.sampleName = sample;
    for (const [i, name] of (["sample", "reference", "mixture"] as const).entries()) {
      const [first_c = null, last_c = null] = (judged.ranges_c[i] ?? []).map((end_c) => Number(end_c.toFixed(2)));
      this.tubes[name] = { first_c, last_c };
    }
    this.u_c = Number(judged.standard_uncertainty_c.toPrecision(2));
    this.change();
  }

  get request(): api.MixedMeltingRequest | null {
    const range = ({ first_c, last_c }: { first_c: number | null; last_c: number | null }) =>
      first_c === null || last_c === null ? null : [first_c, last_c];
    const [sample_c, reference_c, mixture_c] = [this.tubes.sample, this.tubes.reference, this.tubes.mixture].map(range);
    if (!sample_c || !reference_c || !mixture_c || this.u_c === null) return null;
    return { sample_c, reference_c, mixture_c, standard_uncertainty_c: this.u_c };
  }

  change(): void {
    const request = this.request;
    if (!request) {
      this.#latest.drop();
      this.told = null;
      this.problem = "";
      return;
    }
    this.#latest.soon(
      (signal) => api.mixedMelting(request, signal),
      (told) => {
        this.told = told;
        this.problem = "";
      },
      (error) => {
        this.told = null;
        this.problem = wordsOf(error);
      },
    );
  }
}
