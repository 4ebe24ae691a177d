import type { Language } from "../../api/out";
import { wordsOf } from "../../api/problem";
import * as api from "../../api/reports";
import { Latest } from "../../parts/latest";

/** Several changes of the book at once are one question [ms]. */
const REST_MS = 150;

/** The sentences of a sample, in the language asked for last. */
export class SentencesOf {
  said = $state.raw<api.Sentences | null>(null);
  problem = $state("");
  #latest = new Latest(REST_MS);

  constructor(private readonly sample: string) {}

  ask(language: Language): void {
    this.#latest.soon(
      (signal) => api.sentences(this.sample, language, signal),
      (said) => {
        this.said = said;
        this.problem = "";
      },
      (error) => {
        this.said = null;
        this.problem = wordsOf(error);
      },
    );
  }

  stop(): void {
    this.#latest.drop();
  }
}
