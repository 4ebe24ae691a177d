/** Attempts that could not be sent: kept on this device until the program answers, each under its own id. */
import type { PracticeAttempt, PracticeMarked } from "../../api/practice";
import { Problem, wordsOf } from "../../api/problem";

const KEY = "meltrange.practice.unsent";

interface Kept {
  /** Whose it is: only sent in that person's name. */
  person: string;
  attempt: PracticeAttempt;
}

export type Store = Pick<Storage, "getItem" | "setItem" | "removeItem">;

/** Whether the program, asked later, may well take what it did not take now. */
export function mayComeLater(error: unknown): boolean {
  return error instanceof Problem && (error.status === 0 || error.status === 401 || error.status === 429 || error.status >= 500);
}

export class Outbox {
  constructor(private readonly store: Store) {}

  /** How many of a person's attempts wait. */
  waiting(person: string): number {
    return this.#all().filter((one) => one.person === person).length;
  }

  keep(person: string, attempt: PracticeAttempt): void {
    const others = this.#all().filter((one) => one.attempt.id !== attempt.id);
    this.#write([...others, { person, attempt }]);
  }

  /**
   * Sends what waits of a person, oldest first, and stops where the program does not answer. What it refuses for good is put
   * away, or it would stand in the way of the rest. Resolves with the answers, and with what was refused, in words.
   */
  async send(
    person: string,
    post: (attempt: PracticeAttempt) => Promise<PracticeMarked>,
  ): Promise<{ answers: PracticeMarked[]; refused: string[] }> {
    const answers: PracticeMarked[] = [];
    const refused: string[] = [];
    for (const { attempt } of this.#all().filter((one) => one.person === person)) {
      try {
        answers.push(await post(attempt));
      } catch (error) {
        if (mayComeLater(error)) break;
        refused.push(wordsOf(error));
      }
      this.drop(attempt.id);
    }
    return { answers, refused };
  }

  /** It has arrived, or never will. */
  drop(id: string): void {
    // Read anew: another window may have put something there meanwhile.
    this.#write(this.#all().filter((one) => one.attempt.id !== id));
  }

  #all(): Kept[] {
    try {
      const found = JSON.parse(this.store.getItem(KEY) ?? "[]") as unknown;
      return Array.isArray(found) ? (found as Partial<Kept>[]).filter(isKept) : [];
    } catch {
      return [];
    }
  }

  #write(all: Kept[]): void {
    if (all.length) this.store.setItem(KEY, JSON.stringify(all));
    else this.store.removeItem(KEY);
  }
}

function isKept(one: Partial<Kept>): one is Kept {
  return typeof one?.person === "string" && typeof one.attempt?.id === "string";
}
