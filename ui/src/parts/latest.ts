/** Asks after a rest, and only for what was asked last: an earlier question is broken off, its answer dropped. */
export class Latest {
  #rest: ReturnType<typeof setTimeout> | undefined;
  #under: AbortController | undefined;

  constructor(private readonly rest_ms: number) {}

  /** `ask` must pass the signal on. Of `got` and `failed` one is called, or neither when something else was asked meanwhile. */
  soon<T>(ask: (signal: AbortSignal) => Promise<T>, got: (answer: T) => void, failed: (error: unknown) => void): void {
    this.drop();
    const under = new AbortController();
    this.#under = under;
    this.#rest = setTimeout(() => {
      ask(under.signal).then(
        (answer) => {
          if (!under.signal.aborted) got(answer);
        },
        (error: unknown) => {
          if (!under.signal.aborted) failed(error);
        },
      );
    }, this.rest_ms);
  }

  drop(): void {
    clearTimeout(this.#rest);
    this.#under?.abort();
  }
}
