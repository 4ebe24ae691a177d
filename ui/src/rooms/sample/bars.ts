import type { Moment } from "../../api/types";
import type { Bar } from "../../parts/bar";
import { tube as tubeName } from "../../words/common";
import { sample as words } from "../../words/samples";
import type { RunOfSample } from "./state.svelte";

const end = (moment: Moment | null | undefined) =>
  moment ? { c: moment.temperature_c, u: moment.standard_uncertainty_c } : null;

/** One bar for each tube whose range is known and not hidden; the newest reading of a tube speaks for it. */
export function barsOf(runs: readonly RunOfSample[]): Bar[] {
  return runs.flatMap((run) => {
    const newest = new Map<number, (typeof run.tubes)[number]>();
    for (const one of run.tubes) if (!one.hidden && !newest.has(one.tube.place)) newest.set(one.tube.place, one);
    return [...newest.values()]
      .sort((a, b) => a.tube.place - b.tube.place)
      .filter((one) => one.tube.holds?.first_liquid || one.tube.holds?.last_crystal)
      .map((one) => ({
        key: `${one.reading}/${one.tube.place}`,
        label: `${words.run(run.number)} · ${tubeName(one.tube.place)}`,
        first: end(one.tube.holds?.first_liquid),
        last: end(one.tube.holds?.last_crystal),
        tone: !run.agreement ? ("open" as const) : run.agreement.agrees ? ("agrees" as const) : ("outside" as const),
      }));
  });
}
