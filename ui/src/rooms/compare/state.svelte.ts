import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { FrameTimes, Reading, RecordingDetail, RecordingRow, TubeCurve } from "../../api/types";
import { Player } from "../../parts/player.svelte";
import { MOST_COMPARED } from "../recordings/state.svelte";

/** Pictures kept decoded of each recording. */
const KEPT = 32;
/** Width of a step by key [°C]. */
export const STEP_C = 0.1;

/** The highest temperature reached so far at each picture: rises only, so that a temperature names one picture. */
export function reachedBy(temperatures_c: readonly (number | null)[]): number[] {
  let high = -Infinity;
  return temperatures_c.map((t) => (high = Math.max(high, t ?? -Infinity)));
}

/** The first picture at which a temperature was reached; the last one where it never was. `reached` rises. */
export function firstReaching(reached: readonly number[], temperature_c: number): number {
  let low = 0;
  let high = reached.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((reached[middle] ?? Infinity) >= temperature_c - 1e-9) high = middle;
    else low = middle + 1;
  }
  return Math.max(0, Math.min(low, reached.length - 1));
}

/** Where a temperature lies against what a recording covers. */
export type Within = "before" | "within" | "after";

export class Track {
  detail = $state.raw<RecordingDetail | null>(null);
  frames = $state.raw<FrameTimes | null>(null);
  reading = $state.raw<Reading | null>(null);
  place = $state(1);
  problem = $state("");
  player: Player;
  reached: number[] = [];

  constructor(readonly id: string) {
    this.player = new Player((index, signal) => api.picture(id, index, signal), KEPT);
  }

  async load(): Promise<void> {
    try {
      this.detail = await api.recording(this.id);
      const newest = this.detail.readings.find((one) => one.reader.by === "engine");
      this.reading = newest ? await api.reading(newest.id) : null;
      this.place = this.places[0] ?? 1;
      if (this.detail.pictures !== "ready") return;
      const frames = await api.frameTimes(this.id);
      this.reached = reachedBy(frames.temperature_c);
      this.player.cursor.load(frames.time_s, frames.temperature_c);
      this.frames = frames;
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  get places(): number[] {
    const read = this.reading?.tubes.map((tube) => tube.place) ?? [];
    return read.length ? read : (this.detail?.row.load.map((tube) => tube.place) ?? []);
  }
  get curve(): TubeCurve | undefined {
    return this.reading?.curves.find((curve) => curve.place === this.place);
  }
  get lowest_c(): number | null {
    const first = this.reached.find(Number.isFinite);
    return first ?? null;
  }
  get highest_c(): number | null {
    const last = this.reached.at(-1);
    return last !== undefined && Number.isFinite(last) ? last : null;
  }
  within(temperature_c: number): Within {
    if (this.lowest_c === null || temperature_c < this.lowest_c - STEP_C / 2) return "before";
    return this.highest_c !== null && temperature_c > this.highest_c + STEP_C / 2 ? "after" : "within";
  }
  show(temperature_c: number): void {
    if (this.frames) this.player.cursor.toIndex(firstReaching(this.reached, temperature_c));
  }
}

export class CompareState {
  tracks: Track[];
  temperature_c = $state(0);
  playing = $state(false);
  /** Multiples of 1 °C/min. */
  speed = $state(8);
  zoomed = $state(true);
  loaded = $state(false);
  offered = $state.raw<RecordingRow[]>([]);

  constructor(readonly ids: readonly string[]) {
    this.tracks = ids.slice(0, MOST_COMPARED).map((id) => new Track(id));
  }

  async load(): Promise<void> {
    await Promise.all(this.tracks.map((track) => track.load()));
    this.#chooseTubes();
    this.loaded = true;
    const [low] = this.range;
    this.to(this.#firstLiquid() ?? low);
    try {
      this.offered = (await api.recordings({ per_page: 100 })).rows.filter((row) => !this.ids.includes(row.id));
    } catch {
      // Nothing to add then; what is compared already stays.
    }
  }

  /** In each recording the tube with the sample that most of them hold. */
  #chooseTubes(): void {
    const held = new Map<string, number>();
    for (const track of this.tracks) {
      const samples = new Set(track.detail?.row.load.flatMap((tube) => (tube.sample ? [tube.sample] : [])));
      for (const sample of samples) held.set(sample, (held.get(sample) ?? 0) + 1);
    }
    for (const track of this.tracks) {
      const load = track.detail?.row.load ?? [];
      const best = load
        .filter((tube) => tube.sample !== null)
        .reduce<(typeof load)[number] | undefined>(
          (best, tube) =>
            !best || (held.get(tube.sample ?? "") ?? 0) > (held.get(best.sample ?? "") ?? 0) ? tube : best,
          undefined,
        );
      if (best && track.places.includes(best.place)) track.place = best.place;
    }
  }

  /** A little below the lowest first liquid that may be seen. */
  #firstLiquid(): number | null {
    const seen = this.tracks.flatMap((track) => {
      const moment = track.reading?.tubes.find((tube) => tube.place === track.place)?.holds?.first_liquid;
      return moment ? [moment.temperature_c] : [];
    });
    return seen.length ? Math.min(...seen) - STEP_C : null;
  }

  /** Lowest and highest temperature of all [°C]. */
  get range(): [number, number] {
    const shown = this.tracks.filter((track) => track.frames);
    const lows = shown.flatMap((track) => track.lowest_c ?? []);
    const highs = shown.flatMap((track) => track.highest_c ?? []);
    return lows.length && highs.length ? [Math.min(...lows), Math.max(...highs)] : [0, 1];
  }

  to(temperature_c: number): void {
    const [low, high] = this.range;
    this.temperature_c = Math.max(low, Math.min(high, temperature_c));
    for (const track of this.tracks) track.show(this.temperature_c);
  }
  /** By whole steps, on multiples of the step. */
  step(n: number): void {
    this.playing = false;
    this.to((Math.round(this.temperature_c / STEP_C) + n) * STEP_C);
  }
  togglePlay(): void {
    const [low, high] = this.range;
    if (!this.playing && this.temperature_c >= high - 1e-6) this.to(low);
    this.playing = !this.playing;
  }
  advance(wall_s: number): void {
    if (!this.playing) return;
    this.to(this.temperature_c + (wall_s * this.speed) / 60);
    if (this.temperature_c >= this.range[1] - 1e-9) this.playing = false;
  }
  close(): void {
    for (const track of this.tracks) track.player.close();
  }
}
