/** A correction as the server drew it: read off between its points, never computed anew. */
import type { CorrectionPlot } from "../../api/thermometers.types";

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
  const of = (values: number[]) => {
    const a = values[k];
    const b = values[k + 1] ?? a;
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

/** How far beyond the standards a plot is shown, as a part of their span. */
export function plotSpan(plot: CorrectionPlot): [number, number] {
  const low = plot.indicated_c[0] ?? 0;
  const high = plot.indicated_c.at(-1) ?? low;
  return high > low ? [low, high] : [low - 1, high + 1];
}
