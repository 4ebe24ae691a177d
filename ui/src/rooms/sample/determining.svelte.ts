import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import { tryDetermination } from "../../api/thermometers";
import type { DetermineRequest, DeterminationTried } from "../../api/types";

/** Rest after a change before it is tried [ms]. */
const REST_MS = 150;
/** Common practice [°C]. */
export const USUAL_LIMIT_C = 0.5;

/** A determination as it would be stated now: limit, requirement, and what comes of them. */
export class Determining {
  within_c = $state<number | null>(USUAL_LIMIT_C);
  from_c = $state<number | null>(null);
  to_c = $state<number | null>(null);
  guard = $state<number | null>(0.95);
  tried = $state.raw<DeterminationTried | null>(null);
  trouble = $state("");
  busy = $state(false);

  #asked = 0;
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly sample: string) {}

  /** Whether both limits are there and the lower one comes first; null while they are not both there. */
  get inOrder(): boolean | null {
    return this.from_c === null || this.to_c === null ? null : this.from_c < this.to_c;
  }

  get request(): DetermineRequest {
    const request: DetermineRequest = {};
    if (this.within_c !== null && this.within_c > 0) request.agree_within_c = this.within_c;
    if (this.inOrder && this.from_c !== null && this.to_c !== null) {
      request.required = { from_c: this.from_c, to_c: this.to_c };
      if (this.guard !== null) request.required.guard = this.guard;
    }
    return request;
  }

  soon(): void {
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.try(), REST_MS);
  }

  stop(): void {
    clearTimeout(this.#rest);
    this.#asked += 1;
  }

  /** Asks what would come of it. An answer that was overtaken by a later question is dropped. */
  async try(): Promise<void> {
    this.#asked += 1;
    const question = this.#asked;
    try {
      const tried = await tryDetermination(this.sample, this.request);
      if (question !== this.#asked) return;
      this.tried = tried;
      this.trouble = "";
    } catch (error) {
      if (question !== this.#asked) return;
      this.tried = null;
      this.trouble = wordsOf(error);
    }
  }

  /** States it: from now on it is in the book. */
  async state(): Promise<boolean> {
    this.busy = true;
    try {
      await api.determine(this.sample, this.request);
      this.trouble = "";
      return true;
    } catch (error) {
      this.trouble = wordsOf(error);
      return false;
    } finally {
      this.busy = false;
    }
  }
}
