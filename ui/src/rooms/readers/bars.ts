/** Geometry of the bar charts of Mandel's h and k. */
import type { EndComparison } from "../../api/readers";

export interface MandelBar {
  reader: string;
  level: string;
  /** Position of its left edge, counted in bars. */
  slot: number;
  value: number | null;
  five_percent: number | null;
  one_percent: number | null;
  /** How far it goes: beyond 1 %, beyond 5 %, neither. */
  tone: "outlier" | "straggler" | "plain";
}

/** Bars of each reader stand together, a bar's width apart from the next reader's. */
export function mandelBars(comparison: EndComparison, of: "h" | "k"): { bars: MandelBar[]; slots: number } {
  const critical = of === "h" ? comparison.h_critical : comparison.k_critical;
  const group = comparison.levels.length + 1;
  const bars = comparison.readers.flatMap(({ reader }, r) =>
    comparison.levels.map((level, l) => {
      const value = comparison[of][r]?.[l] ?? null;
      const five_percent = critical[l]?.five_percent ?? null;
      const one_percent = critical[l]?.one_percent ?? null;
      const size = Math.abs(value ?? 0);
      const tone: MandelBar["tone"] =
        one_percent !== null && size > one_percent ? "outlier" : five_percent !== null && size > five_percent ? "straggler" : "plain";
      return { reader, level, slot: r * group + l + 0.5, value, five_percent, one_percent, tone };
    }),
  );
  return { bars, slots: comparison.readers.length * group };
}

/** How far the axis goes: past every bar and every line. */
export function mandelReach(bars: readonly MandelBar[]): number {
  return Math.max(1, ...bars.flatMap((bar) => [Math.abs(bar.value ?? 0), bar.five_percent ?? 0, bar.one_percent ?? 0])) * 1.1;
}
