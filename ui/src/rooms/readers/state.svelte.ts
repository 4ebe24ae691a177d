/** Readers set against each other: which study, which end, which two. */
import * as api from "../../api/readers";
import { REFERENCE, type Agreements, type Compared, type EndComparison, type ReadEnd, type ReaderComparison } from "../../api/readers";
import { wordsOf } from "../../api/problem";

export class ReadersState {
  of = $state<Compared>("practice");
  end = $state<ReadEnd>("first_liquid");
  one = $state("");
  other = $state<string>(REFERENCE);
  answer = $state.raw<ReaderComparison | null>(null);
  agreements = $state.raw<Agreements | null>(null);
  problem = $state("");
  agreementProblem = $state("");
  loading = $state(false);
  #asked = 0;
  #pairAsked = 0;

  get comparison(): EndComparison | null {
    return this.answer?.ends.find((one) => one.end === this.end)?.comparison ?? null;
  }
  /** Why there is nothing to compare, in the program's words. */
  get missing(): string {
    return this.answer?.ends.find((one) => one.end === this.end)?.missing ?? "";
  }
  get pair() {
    return this.agreements?.ends.find((one) => one.end === this.end) ?? null;
  }
  nameOf = (reader: string): string => this.answer?.readers.find((one) => one.id === reader)?.name ?? reader;
  isEngine = (reader: string): boolean => this.answer?.readers.find((one) => one.id === reader)?.engine ?? false;

  async refresh(): Promise<void> {
    const asked = (this.#asked += 1);
    this.loading = true;
    try {
      const answer = await api.comparison(this.of);
      if (asked !== this.#asked) return;
      this.answer = answer;
      this.problem = "";
      // Whoever was chosen stays, where they are in this study, too.
      const ids = answer.readers.map((one) => one.id);
      if (!ids.includes(this.one)) this.one = ids[0] ?? "";
      if (this.other !== REFERENCE && !ids.includes(this.other)) this.other = REFERENCE;
      await this.askPair();
    } catch (error) {
      if (asked === this.#asked) this.problem = wordsOf(error);
    } finally {
      if (asked === this.#asked) this.loading = false;
    }
  }

  async show(of: Compared): Promise<void> {
    this.of = of;
    this.answer = null;
    this.agreements = null;
    await this.refresh();
  }

  /** Sets two readers against each other, or one against what is true. */
  async choose(one: string, other: string): Promise<void> {
    this.one = one;
    this.other = other === one ? REFERENCE : other;
    await this.askPair();
  }

  async askPair(): Promise<void> {
    const asked = (this.#pairAsked += 1);
    if (!this.one) {
      this.agreements = null;
      return;
    }
    try {
      const found = await api.agreement(this.of, this.one, this.other);
      if (asked !== this.#pairAsked) return;
      this.agreements = found;
      this.agreementProblem = "";
    } catch (error) {
      if (asked !== this.#pairAsked) return;
      this.agreements = null;
      this.agreementProblem = wordsOf(error);
    }
  }
}
