/** A correction as the server drew it: read off between its points, never computed anew. */
import type { CorrectionPlot } from "../../api/types";

export interface ReadOff {
  correction_c: number;
  /** Half the width of the 95 % band. */
  half_c: number | null;
}

const between = (a: number, b: number, part: number) => a + (b - a) * part;

/** The correction at an indicated temperature; null where nothing is drawn. */
export function readOff(plot: CorrectionPlot, indicated_c: number): ReadOff | null {
  const at = plot.indicated_c;
  const right = at.findIndex((value) => value >= indicated_c);
  const k = right > 0 ? right - 1 : 0;
  const x0 = at[k];
  const x1 = at[k + 1] ?? x0;
  if (right < 0 || x0 === undefined || x1 === undefined || indicated_c < x0) return null;
  const part = x1 > x0 ? (indicated_c - x0) / (x1 - x0) : 0;
  const of = (values: number[] | null) => {
    const a = values?.[k];
    const b = values?.[k + 1] ?? a;
    return a === undefined || b === undefined ? null : between(a, b, part);
  };
  const correction_c = of(plot.correction_c);
  const low = of(plot.low_c);
  const high = of(plot.high_c);
  if (correction_c === null) return null;
  return { correction_c, half_c: low === null || high === null ? null : (high - low) / 2 };
}

/** Round temperatures at which a correction is said in words: near both ends of the standards and midway. */
export function sayAt(from_c: number, to_c: number): number[] {
  const places = [from_c, (from_c + to_c) / 2, to_c].map((value) => Math.round(value));
  return places.filter((value, i) => places.indexOf(value) === i);
}

/** The temperatures that a plot spans. */
export function plotSpan(plot: CorrectionPlot): [number, number] {
  const low = plot.indicated_c[0] ?? 0;
  const high = plot.indicated_c.at(-1) ?? low;
  return high > low ? [low, high] : [low - 1, high + 1];
}

type Scale = (value: number) => number;

const spot = (px: number, py: number) => `${px.toFixed(1)} ${py.toFixed(1)}`;

/** A line through points, as the path of a drawing. */
export function lineOf(xs: readonly number[], ys: readonly number[], x: Scale, y: Scale): string {
  return xs.map((at, i) => `${i ? "L" : "M"}${spot(x(at), y(ys[i] ?? 0))}`).join("");
}

/** The area between two lines; empty where one of them is not known. */
export function bandOf(
  xs: readonly number[],
  low: readonly number[] | null,
  high: readonly number[] | null,
  x: Scale,
  y: Scale,
): string {
  if (!low || !high || xs.length === 0) return "";
  return `${lineOf(xs, high, x, y)}${lineOf([...xs].reverse(), [...low].reverse(), x, y).replace("M", "L")}Z`;
}

/** The band about the correction: how far its ends lie from it. */
export function about(plot: CorrectionPlot): { low: number[]; high: number[] } | null {
  const { low_c: low, high_c: high, correction_c: middle } = plot;
  if (!low || !high) return null;
  const less = (values: number[]) => values.map((value, i) => value - (middle[i] ?? 0));
  return { low: less(low), high: less(high) };
}

/** Bottom and top of a panel that shows all of these, 0 among them, with room for marks. */
export function upDown(values: readonly number[]): [number, number] {
  const low = Math.min(0, ...values);
  const high = Math.max(0, ...values);
  const room = Math.max(0.03, (high - low) * 0.12);
  return [low - room, high + room];
}
