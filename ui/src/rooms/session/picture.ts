/** Geometry of the wall of time: benches below one another, loads along the minutes, and the hands. */
import type { SessionDraft, SessionShown } from "../../api/planning";
import { begunOf, type At } from "./draft";
import { MOST_MIN } from "./order";

/** Room for the bench's name above its loads, for the strip of stages, for a load's number and times, and for one tube [px]. */
export const NAME = 28;
export const STRIP = 26;
export const HEAD = 28;
export const TUBE = 30;
const GAP = 22;
/** Room above the first bench for the axis [px]. */
export const AXIS = 46;
export const LEFT = 12;
const RIGHT = 26;
/** Least width of a minute [px]: a load of twenty minutes can carry its labels. */
export const LEAST_PX_PER_MIN = 5.2;

export interface Row {
  bench: string;
  top: number;
  /** Of the loads themselves. */
  loadsTop: number;
  height: number;
}

export interface Wall {
  pxPerMin: number;
  until_min: number;
  width: number;
  height: number;
  rows: Row[];
  handsTop: number;
}

/** As wide as there is room, but a minute never narrower than can be read; `zoom` widens it. */
export function wallOf(shown: SessionShown, length_min: number, now_min: number, room_px: number, zoom: number, operators: number): Wall {
  // A length mistyped by noughts is no reason to draw for ever.
  const until_min = Math.min(MOST_MIN, Math.max(10, ...[length_min, shown.plan.makespan_min, now_min].filter(Number.isFinite))) + 2;
  const fitting = (room_px - LEFT - RIGHT) / until_min;
  const pxPerMin = Math.max(LEAST_PX_PER_MIN, fitting) * zoom;
  let top = AXIS;
  const rows = shown.draft.benches.map((bench) => {
    const tubes = Math.max(2, ...bench.loads.map((load) => load.tubes.length));
    const height = STRIP + HEAD + tubes * TUBE + 6;
    const row = { bench: bench.bench, top, loadsTop: top + NAME, height };
    top += NAME + height + GAP;
    return row;
  });
  const handsTop = top;
  return {
    pxPerMin,
    until_min,
    width: LEFT + until_min * pxPerMin + RIGHT,
    height: handsTop + NAME + Math.max(1, operators) * 34 + 26,
    rows,
    handsTop,
  };
}

/** Least distance of two times on the axis [px]. */
const TICK_PX = 74;
const TICKS_MIN = [5, 10, 15, 30, 60, 120, 240];

/** Minutes for the axis. */
export function minuteTicks(wall: Wall): number[] {
  const step = TICKS_MIN.find((minutes) => minutes * wall.pxPerMin >= TICK_PX) ?? 480;
  return Array.from({ length: Math.floor(wall.until_min / step) + 1 }, (_, i) => i * step);
}

export const xOf = (wall: Wall, minutes: number): number => LEFT + minutes * wall.pxPerMin;
export const minutesOf = (wall: Wall, px: number): number => (px - LEFT) / wall.pxPerMin;

/** Loads numbered by when they are set in, bench by bench. */
export function numbered(shown: SessionShown): number[][] {
  const all = shown.plan.benches.flatMap((bench, b) => bench.loads.map((load, l) => ({ b, l, at: load.load_start_min })));
  all.sort((one, other) => one.at - other.at || one.b - other.b || one.l - other.l);
  const numbers = shown.plan.benches.map((bench) => bench.loads.map(() => 0));
  all.forEach(({ b, l }, i) => {
    const own = numbers[b];
    if (own) own[l] = i + 1;
  });
  return numbers;
}

export interface Handful {
  from_min: number;
  to_min: number;
  number: number;
  /** Which pair of hands, from 0; more than there are where a draft asks too much. */
  lane: number;
  at: At;
}

/** Who sets what in: each load goes to the first hands that are free. */
export function hands(shown: SessionShown): Handful[] {
  const numbers = numbered(shown);
  const all = shown.benches.flatMap((bench, b) =>
    bench.loads.flatMap((load, l) => {
      const stage = load.stages.find((one) => one.kind === "setting_in");
      return stage ? [{ from_min: stage.from_min, to_min: stage.to_min, number: numbers[b]?.[l] ?? 0, at: { bench: b, load: l } }] : [];
    }),
  );
  all.sort((one, other) => one.from_min - other.from_min || one.number - other.number);
  const free: number[] = [];
  return all.map((one) => {
    let lane = free.findIndex((until) => until <= one.from_min + 1e-6);
    if (lane < 0) lane = free.length;
    free[lane] = one.to_min;
    return { ...one, lane };
  });
}

/** The bench row at this height; the nearest where it is between two. */
export function rowAt(wall: Wall, py: number): number {
  let best = 0;
  let least = Infinity;
  wall.rows.forEach((row, i) => {
    const away = Math.abs(py - (row.loadsTop + row.height / 2));
    if (away < least) [best, least] = [i, away];
  });
  return best;
}

/** Before which load of a bench something goes that is dropped at a time: the first whose middle comes later. */
export function placeAt(shown: SessionShown, draft: SessionDraft, bench: number, minutes: number, without: At | null): number {
  const loads = (shown.plan.benches[bench]?.loads ?? []).filter((_, i) => !(without?.bench === bench && without.load === i));
  const begun = begunOf((draft.benches[bench]?.loads ?? []).filter((_, i) => !(without?.bench === bench && without.load === i)));
  const later = loads.findIndex((load) => (load.load_start_min + load.end_min) / 2 > minutes);
  return Math.max(begun, later < 0 ? loads.length : later);
}

/** The load under a point, of any bench. */
export function loadUnder(wall: Wall, shown: SessionShown, px: number, py: number): At | null {
  const bench = wall.rows.findIndex((row) => py >= row.loadsTop && py <= row.loadsTop + row.height);
  if (bench < 0) return null;
  const minutes = minutesOf(wall, px);
  const load = (shown.benches[bench]?.loads ?? []).findIndex((one) => {
    const from = one.stages[0]?.from_min;
    const to = one.stages.at(-1)?.to_min;
    return from !== undefined && to !== undefined && minutes >= from && minutes <= to;
  });
  return load < 0 ? null : { bench, load };
}

/** Mean width of a letter of a tube's name [px]. */
const LETTER_PX = 8;

/** A tube's name within so much room: the label gives way, its number does not. */
export function tubeName(sample: string, replicate: number, px: number): string {
  const letters = Math.floor(px / LETTER_PX);
  const whole = `${sample} · ${replicate}`;
  if (whole.length <= letters) return whole;
  const close = `${sample}·${replicate}`;
  if (close.length <= letters + 1) return close;
  const number = `…·${replicate}`;
  return letters <= number.length ? number : `${sample.slice(0, letters - number.length)}${number}`;
}
