/** Geometry of the time line under a marked exercise, and of the learning curve. */
import type { PracticeMarked, PracticePoint } from "../../api/practice";

/** Shown on either side of what happened, as a part of it. */
const MARGIN = 0.12;

/** The stretch of time that is shown [s]: all marks and events with a margin, within the recording. */
export function spanOf(marked: PracticeMarked): readonly [number, number] {
  const { first_liquid: first, last_crystal: last, events, times_s } = marked;
  const all = [first.marked_s, first.true_s, last.marked_s, last.true_s, ...events.flatMap((one) => [one.from_s, one.to_s ?? one.from_s])];
  const low = Math.min(...all);
  const high = Math.max(...all);
  const margin = Math.max(2, (high - low) * MARGIN);
  return [Math.max(times_s[0] ?? low, low - margin), Math.min(times_s.at(-1) ?? high, high + margin)];
}

/** Where round temperatures were first reached within the span: time [s] and temperature [°C]. */
export function reached(
  times_s: readonly number[],
  temperatures_c: readonly number[],
  at_c: readonly number[],
  span: readonly [number, number],
): { time_s: number; c: number }[] {
  const list: { time_s: number; c: number }[] = [];
  for (const c of at_c) {
    const i = temperatures_c.findIndex((one) => one >= c);
    const time_s = times_s[i];
    // What was passed before the span began is not named at its edge.
    if (time_s !== undefined && i > 0 && time_s >= span[0] && time_s <= span[1]) list.push({ time_s, c });
  }
  return list;
}

/** How far the errors are drawn to either side [°C]: all of them and the band, with a little air. */
export function reachOf(points: readonly PracticePoint[], limit_c: number): number {
  const most = Math.max(limit_c, ...points.flatMap((one) => [Math.abs(one.first_liquid_error_c), Math.abs(one.last_crystal_error_c)]));
  return most * 1.12;
}
