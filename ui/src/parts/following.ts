/** One question under way at a time: what is asked meanwhile is the next one, and only the last of it. For what follows a hand. */
export class Following<Q, A> {
  #next: { question: Q } | null = null;
  #under = false;
  #closed = 0;

  constructor(
    private readonly ask: (question: Q) => Promise<A>,
    private readonly got: (answer: A) => void,
    private readonly failed: (error: unknown) => void,
  ) {}

  put(question: Q): void {
    this.#next = { question };
    if (!this.#under) void this.#work();
  }

  /** Answers to what was put before are not wanted any more. */
  drop(): void {
    this.#next = null;
    this.#closed += 1;
  }

  /** Whether something is asked or waits for it. */
  get busy(): boolean {
    return this.#under || this.#next !== null;
  }

  async #work(): Promise<void> {
    this.#under = true;
    // What is put in one turn, by a key or a move of the hand, is one question.
    await Promise.resolve();
    while (this.#next) {
      const { question } = this.#next;
      const closed = this.#closed;
      this.#next = null;
      let tell: () => void;
      try {
        const answer = await this.ask(question);
        tell = () => this.got(answer);
      } catch (error) {
        tell = () => this.failed(error);
      }
      if (!this.#next) this.#under = false;
      if (closed === this.#closed) tell();
    }
    this.#under = false;
  }
}
