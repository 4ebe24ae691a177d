import type { RunView } from "../../api/live";

/** A sign on the plot. */
export interface PlotMark {
  time_s: number;
  temperature_c: number;
  place: number;
  end: "first" | "last";
  /** A person's rather than the engine's. */
  own: boolean;
}

/** What was called and what was marked, for the plot; without the engine's calls where they are hidden. */
export function plotMarks(run: RunView, hideCalls: boolean): PlotMark[] {
  const list: PlotMark[] = [];
  const add = (time_s: number | null, temperature_c: number | null, more: Omit<PlotMark, "time_s" | "temperature_c">) => {
    if (time_s !== null && temperature_c !== null) list.push({ time_s, temperature_c, ...more });
  };
  for (const tube of hideCalls ? [] : run.tubes) {
    add(tube.first_liquid_s, tube.first_liquid_c, { place: tube.place, end: "first", own: false });
    add(tube.last_crystal_s, tube.last_crystal_c, { place: tube.place, end: "last", own: false });
  }
  for (const mark of run.marks) {
    const end = mark.moment === "first_liquid" ? "first" : "last";
    add(mark.time_s, mark.temperature_c, { place: mark.place, end, own: true });
  }
  return list;
}
