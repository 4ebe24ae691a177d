import { wordsOf } from "../../api/problem";

/** How often the bar moves [ms]. */
const BAR_MS = 100;

/** Something that is looked for over seconds, one at a time, with how far that is. */
export class Search {
  /** What is looked for; empty while nothing is. */
  what = $state("");
  /** 0..1. */
  progress = $state(0);
  left_s = $state(0);
  #abort: AbortController | undefined;

  /** Why nothing was found; empty where something was, or where it was stopped. */
  async run(what: string, seconds: number, work: (signal: AbortSignal) => Promise<void>): Promise<string> {
    const abort = new AbortController();
    this.#abort = abort;
    this.what = what;
    this.progress = 0;
    this.left_s = seconds;
    const begun_ms = Date.now();
    const bar = setInterval(() => {
      const gone_s = (Date.now() - begun_ms) / 1000;
      this.progress = Math.min(1, gone_s / seconds);
      this.left_s = seconds - gone_s;
    }, BAR_MS);
    let refused = "";
    try {
      await work(abort.signal);
    } catch (error) {
      if (!abort.signal.aborted) refused = wordsOf(error);
    }
    clearInterval(bar);
    this.what = "";
    return refused;
  }
  stop(): void {
    this.#abort?.abort();
  }
}
