/** Does something again whenever it is asked to, but one at a time and not more often than it should. */
export class Paced {
  #timer: ReturnType<typeof setTimeout> | undefined;
  #under = false;
  #again = false;
  #last_ms = -Infinity;

  constructor(
    private readonly work: () => Promise<void>,
    private readonly least_ms: number,
  ) {}

  /** At once where it rests, else as soon as it may; however often it is asked meanwhile, that is once. */
  ask(): void {
    if (this.#under) {
      this.#again = true;
      return;
    }
    this.#timer ??= setTimeout(() => void this.#do(), Math.max(0, this.#last_ms + this.least_ms - Date.now()));
  }

  stop(): void {
    clearTimeout(this.#timer);
    this.#timer = undefined;
    this.#again = false;
  }

  async #do(): Promise<void> {
    this.#timer = undefined;
    this.#under = true;
    this.#last_ms = Date.now();
    try {
      await this.work();
    } finally {
      this.#under = false;
    }
    if (this.#again) {
      this.#again = false;
      this.ask();
    }
  }
}
