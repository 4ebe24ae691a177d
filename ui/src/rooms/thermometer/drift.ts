/** Geometry of the drift chart: three panels below one another on one axis of checks in order. */
import type { ChartAlarm, ChartDay, ControlChart } from "../../api/types";
import { ticks } from "../../parts/ticks";

/** One check as the chart shows it [°C]. */
export interface DriftPoint {
  /** 1.. in order of time. */
  number: number;
  check: string;
  made_on: string;
  substance: string;
  /** Off by: corrected as on that day, less the label. */
  value_c: number;
  /** From the check before; null for the first. */
  step_c: number | null;
  average_c: number | null;
  alarms: ChartAlarm[];
  /** Whether it was used in the calibration that it is corrected with. */
  own: boolean;
}

/** Joins the numbers of the chart with the checks they came from. */
export function driftPoints(chart: ControlChart, days: readonly ChartDay[]): DriftPoint[] {
  return chart.points.flatMap((point, i) => {
    const day = days[i];
    if (!day) return [];
    return [
      {
        number: i + 1,
        check: day.check,
        made_on: day.made_on,
        substance: day.substance,
        value_c: point.value_c,
        step_c: chart.moving_range.values_c[i] ?? null,
        average_c: chart.weighted_average.values_c[i] ?? null,
        alarms: point.alarms,
        own: day.own,
      },
    ];
  });
}

/** What a panel spans [°C], with room for its marks; 0 is always within. */
export function span(values: readonly (number | null | undefined)[]): [number, number] {
  const known = values.filter((value): value is number => typeof value === "number" && Number.isFinite(value));
  const low = Math.min(0, ...known);
  const high = Math.max(0, ...known);
  const room = Math.max(0.02, (high - low) * 0.12);
  return [low < 0 ? low - room : -room / 2, high > 0 ? high + room : room / 2];
}

export interface Panel {
  top: number;
  height: number;
  range: [number, number];
  ticks: { at: number[]; places: number };
  y: (value: number) => number;
}

/** A panel from its top edge [px]. */
export function panel(top: number, height: number, range: [number, number]): Panel {
  const [low, high] = range;
  return {
    top,
    height,
    range,
    ticks: ticks(low, high, Math.max(4, height / 30)),
    y: (value) => top + (1 - (value - low) / (high - low)) * height,
  };
}

/** Middle of the i-th of n checks [px]. */
export function xOf(i: number, n: number, left: number, width: number): number {
  return left + ((i + 0.5) / Math.max(1, n)) * width;
}

/** Which checks get their date written, so that dates stay `apart` px from each other; the last always does. */
export function dated(n: number, width: number, apart = 92): number[] {
  if (n === 0) return [];
  const every = Math.max(1, Math.ceil(apart / (width / n)));
  const shown: number[] = [];
  for (let i = n - 1; i >= 0; i -= every) shown.unshift(i);
  return shown;
}

/** Labels at the end of lines, moved apart where lines lie closer than `apart` px; in the order given. */
export function spread(ys: readonly number[], apart = 15): number[] {
  const order = ys.map((_, i) => i).sort((a, b) => (ys[a] ?? 0) - (ys[b] ?? 0));
  const placed = [...ys];
  for (let k = 1; k < order.length; k += 1) {
    const above = order[k - 1];
    const here = order[k];
    if (above === undefined || here === undefined) continue;
    const least = (placed[above] ?? 0) + apart;
    if ((placed[here] ?? 0) < least) placed[here] = least;
  }
  return placed;
}

/** A line of steps through the checks: limits that belong to each check. */
export function steps(values: readonly number[], x: (i: number) => number, half: number, y: (value: number) => number): string {
  return values
    .map((value, i) => `${i === 0 ? "M" : "L"}${(x(i) - half).toFixed(1)} ${y(value).toFixed(1)}H${(x(i) + half).toFixed(1)}`)
    .join("");
}
