import { wordsOf } from "../../api/problem";
import * as api from "../../api/thermometers";
import type { CalibrationDone, CalibrationRequest, CalibrationTried, CheckRow } from "../../api/types";
import { dayHere } from "../../words/format";
import { newestOfEach } from "./state.svelte";

/** Rest after a change before it is tried [ms]. */
const REST_MS = 120;

/** A calibration that is being made: which checks, which shape, from when. Each change is tried at once. */
export class Making {
  /** Checks of this calibration, used or left out. */
  chosen = $state.raw<ReadonlySet<string>>(new Set());
  leftOut = $state.raw<ReadonlySet<string>>(new Set());
  degree = $state<number | null>(null);
  from = $state(dayHere());
  tried = $state.raw<CalibrationTried | null>(null);
  trouble = $state("");
  trying = $state(false);
  keeping = $state(false);

  #asked = 0;
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly bench: string,
    checks: readonly CheckRow[],
  ) {
    this.chosen = new Set(newestOfEach(checks));
  }

  /** What is asked of the server; null while no check is used. */
  get request(): CalibrationRequest | null {
    const checks = [...this.chosen].filter((check) => !this.leftOut.has(check));
    if (checks.length === 0 || !this.from) return null;
    return { checks, left_out: [...this.leftOut].filter((check) => this.chosen.has(check)), degree: this.degree, in_force_from: this.from };
  }

  choose(checks: Iterable<string>): void {
    this.chosen = new Set(checks);
    this.leftOut = new Set([...this.leftOut].filter((check) => this.chosen.has(check)));
    this.soon();
  }

  /** Puts a check in or takes it out altogether. */
  toggle(check: string): void {
    const chosen = new Set(this.chosen);
    if (!chosen.delete(check)) chosen.add(check);
    this.choose(chosen);
  }

  /** Leaves a check out of the fit, so that the record shows it beside the others; or uses it again. */
  turn(check: string): void {
    const leftOut = new Set(this.leftOut);
    if (!leftOut.delete(check)) leftOut.add(check);
    this.leftOut = leftOut;
    this.soon();
  }

  shape(degree: number | null): void {
    this.degree = degree;
    this.soon();
  }

  inForceFrom(day: string): void {
    this.from = day;
    this.soon();
  }

  /** Tries it after a short rest. */
  soon(): void {
    clearTimeout(this.#rest);
    // What is drawn is no longer what was chosen.
    this.trying = true;
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
    const request = this.request;
    if (!request) {
      this.tried = null;
      this.trouble = "";
      this.trying = false;
      return;
    }
    this.trying = true;
    try {
      const tried = await api.tryCalibration(this.bench, request);
      if (question !== this.#asked) return;
      this.tried = tried;
      this.trouble = "";
    } catch (error) {
      if (question !== this.#asked) return;
      this.tried = null;
      this.trouble = wordsOf(error);
    }
    this.trying = false;
  }

  /** Keeps it; null when that was refused. */
  async keep(): Promise<CalibrationDone | null> {
    const request = this.request;
    if (!request) return null;
    this.keeping = true;
    try {
      return await api.calibrate(this.bench, request);
    } catch (error) {
      this.trouble = wordsOf(error);
      return null;
    } finally {
      this.keeping = false;
    }
  }
}
