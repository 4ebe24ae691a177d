import * as api from "../../api/identity";
import { Problem, wordsOf } from "../../api/problem";
import { Latest } from "../../parts/latest";
import { ownWords } from "../../words/library";

/** A change rests so long before it is asked for [ms]. */
const REST_MS = 150;
/** So many are shown at most. */
const SHOWN = 50;
const USUAL_WITHIN_C = 2;
/** A larger file is no list [bytes]. */
const LARGEST = 5_000_000;

/** Substances that are looked for, and the one that is looked at. */
export class LibraryState {
  by = $state<"text" | "temperature">("text");
  text = $state("");
  near_c = $state<number | null>(null);
  within_c = $state<number | null>(USUAL_WITHIN_C);
  found = $state.raw<api.Substances | null>(null);
  chosen = $state.raw<api.Substance | null>(null);
  problem = $state("");
  busy = $state(false);
  readonly #latest = new Latest(REST_MS);

  constructor(find: string) {
    this.text = find;
  }
  close(): void {
    this.#latest.drop();
  }

  get #ask(): ((signal: AbortSignal) => Promise<api.Substances>) | null {
    const { near_c, within_c } = this;
    const text = this.text.trim();
    if (this.by === "text") return text ? (signal) => api.findSubstances(text, SHOWN, signal) : null;
    return near_c === null ? null : (signal) => api.nearSubstances(near_c, within_c ?? USUAL_WITHIN_C, SHOWN, signal);
  }
  get ready(): boolean {
    return this.#ask !== null;
  }

  change(): void {
    const ask = this.#ask;
    if (!ask) {
      this.#latest.drop();
      this.busy = false;
      this.problem = "";
      this.found = null;
      this.chosen = null;
      return;
    }
    this.busy = true;
    this.#latest.soon(
      ask,
      (found) => {
        this.found = found;
        // The only one that matches, or the one that was named, is what was looked for.
        const one = this.by === "text" ? named(found.substances, this.text) : null;
        this.chosen = one ?? (found.substances.length === 1 ? (found.substances[0] ?? null) : null);
        this.problem = "";
        this.busy = false;
      },
      (error) => {
        this.found = null;
        this.chosen = null;
        this.problem = wordsOf(error);
        this.busy = false;
      },
    );
  }
}

/** The one whose CAS number or whole name was typed. */
export function named(substances: readonly api.Substance[], text: string): api.Substance | null {
  const wanted = text.trim().toLowerCase();
  return substances.find((one) => one.cas === wanted || one.name.toLowerCase() === wanted) ?? null;
}

/** The own list as it is saved and as it is being changed. */
export class OwnListState {
  /** As it was read last; null until then. */
  saved = $state.raw<api.OwnList | null>(null);
  csv = $state("");
  problem = $state("");
  note = $state("");
  busy = $state(false);
  /** Somebody else saved another one meanwhile. */
  stale = $state(false);
  /** What they saved. */
  theirs = $state("");

  get changed(): boolean {
    return this.saved !== null && this.csv !== this.saved.csv;
  }

  async read(): Promise<void> {
    try {
      const list = await api.ownList();
      const untouched = !this.changed;
      this.saved = list;
      if (untouched) this.csv = list.csv;
      // Edited by hand so that it does not read: shown, to be mended here.
      this.problem = list.fault ?? "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  /** After a refusal because somebody else was first: their list is shown, the text that was typed stays. */
  async catchUp(): Promise<void> {
    try {
      this.saved = await api.ownList();
      this.theirs = this.saved.csv;
      this.stale = false;
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  async load(file: File): Promise<void> {
    this.note = "";
    if (file.size > LARGEST) {
      this.problem = ownWords.tooLarge(file.name);
      return;
    }
    this.csv = await file.text();
    this.problem = "";
    this.note = ownWords.fileLoaded(file.name);
  }

  undo(): void {
    this.csv = this.saved?.csv ?? "";
    this.problem = "";
    this.note = "";
    this.stale = false;
  }

  /** Resolves with whether it is saved. */
  async save(): Promise<boolean> {
    if (!this.saved) return false;
    this.busy = true;
    this.note = "";
    try {
      this.saved = await api.keepOwnList(this.csv, this.saved.revision);
      this.csv = this.saved.csv;
      this.theirs = "";
      this.stale = false;
      this.problem = "";
      this.note = ownWords.saved(this.saved.substances);
      return true;
    } catch (error) {
      this.problem = wordsOf(error);
      this.stale = error instanceof Problem && error.status === 409;
      return false;
    } finally {
      this.busy = false;
    }
  }
}
