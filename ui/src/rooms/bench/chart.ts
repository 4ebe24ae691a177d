/** What the one plot of a run shows, made of its points and the planned curve. */
import type { CurvePoint, LegKind, Programme, SeriesPoint } from "../../api/live";

/** Minutes, then planned, wanted and actual temperature [°C]; null where a curve has no point of its own. */
export type Table = [number[], (number | null)[], (number | null)[], (number | null)[]];

/** More points than this cannot be told apart on a screen. */
const MOST_POINTS = 1500;
/** Drawn near now: so much before and after [min]. */
const NEAR_BEFORE_MIN = 5;
const NEAR_AFTER_MIN = 1;
/** Room above and below the curves, as a part of their height. */
const PAD = 0.06;
/** Least height of the plot [°C]: noise is not to fill it. */
const LEAST_C = 2;

/** Every n-th point, so that at most so many are left; always the last one. */
export function thinned<T>(points: readonly T[], most: number): T[] {
  const every = Math.max(1, Math.ceil(points.length / most));
  return points.filter((_, i) => i % every === 0 || i === points.length - 1);
}

/** Both sets of points on one ascending time axis, without repeats. */
export function table(points: readonly SeriesPoint[], curve: readonly CurvePoint[]): Table {
  const run = thinned(points, MOST_POINTS);
  const out: Table = [[], [], [], []];
  let i = 0;
  let j = 0;
  while (i < run.length || j < curve.length) {
    const point = run[i];
    const planned = curve[j];
    const at = point === undefined ? Infinity : point.time_s / 60;
    const plannedAt = planned?.time_min ?? Infinity;
    const now = Math.min(at, plannedAt);
    out[0].push(now);
    out[1].push(planned && plannedAt === now ? planned.temperature_c : null);
    out[2].push(point && at === now ? point.wanted_c : null);
    out[3].push(point && at === now ? point.actual_c : null);
    // Vertices at one time (a leg that begins where another ended) are one point of the plot.
    while (j < curve.length && curve[j]?.time_min === now) j += 1;
    while (i < run.length && (run[i]?.time_s ?? 0) / 60 === now) i += 1;
  }
  return out;
}

/** From where to where the plot goes [min]. */
export function timeSpan(data: Table, now_min: number, near: boolean): readonly [number, number] {
  if (near) return [Math.max(0, now_min - NEAR_BEFORE_MIN), Math.max(NEAR_BEFORE_MIN, now_min) + NEAR_AFTER_MIN];
  return [0, Math.max(1, data[0].at(-1) ?? 1, now_min)];
}

/** From where to where it goes upwards [°C]: all that is drawn within the span, with some room. */
export function temperatureSpan(data: Table, span: readonly [number, number]): readonly [number, number] {
  let low = Infinity;
  let high = -Infinity;
  const take = (c: number) => {
    low = Math.min(low, c);
    high = Math.max(high, c);
  };
  for (const column of [data[1], data[2], data[3]]) {
    let before: { at: number; c: number } | null = null;
    for (let i = 0; i < column.length; i += 1) {
      const c = column[i];
      const at = data[0][i];
      if (c === null || c === undefined || at === undefined) continue;
      // A line that crosses the span's edges is in it though its ends are not.
      if (before) {
        for (const edge of span) {
          if (before.at < edge && at > edge) take(before.c + ((c - before.c) * (edge - before.at)) / (at - before.at));
        }
      }
      if (at >= span[0] && at <= span[1]) take(c);
      before = { at, c };
    }
  }
  if (low > high) return [0, 1];
  const missing = Math.max(0, LEAST_C - (high - low)) / 2;
  const pad = (high - low) * PAD + missing;
  return [low - pad, high + pad];
}

/** Where the first scan begins and the last one ends [°C]; null when there is none or its beginning is not told. */
export function windowOf(programme: Programme): readonly [number, number] | null {
  let from: number | null = null;
  let window: readonly [number, number] | null = null;
  for (const leg of programme.legs) {
    if (leg.kind === "scan" && leg.to_c != null && (window || from !== null)) {
      window = [window ? window[0] : (from ?? leg.to_c), leg.to_c];
    }
    from = leg.to_c ?? from;
  }
  return window;
}

export interface LegLeft {
  seconds: number;
  /** As planned rather than counted. */
  about: boolean;
}

/** How long the leg under way still lasts; null when nothing tells. `curve` is the planned one. */
export function leftOf(
  leg: { kind: LegKind; to_c?: number | null; rate_c_per_min?: number | null; minutes?: number | null },
  number: number,
  elapsed_s: number,
  wanted_c: number,
  curve: readonly CurvePoint[],
): LegLeft | null {
  if (leg.kind === "soak" && leg.minutes != null) {
    return { seconds: Math.max(0, leg.minutes * 60 - elapsed_s), about: true };
  }
  if (leg.kind === "scan" && leg.to_c != null && leg.rate_c_per_min) {
    return { seconds: Math.max(0, ((leg.to_c - wanted_c) / leg.rate_c_per_min) * 60), about: true };
  }
  if (leg.kind === "attend") return null;
  const planned = curve.filter((point) => point.leg === number);
  const begin = planned[0];
  const end = planned.at(-1);
  const before = begin && curve[curve.indexOf(begin) - 1];
  if (!begin || !end) return null;
  const seconds = (end.time_min - (before ?? begin).time_min) * 60 - elapsed_s;
  return seconds > 0 ? { seconds, about: true } : null;
}
