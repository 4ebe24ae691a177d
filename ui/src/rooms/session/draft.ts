/** A plan as people change it: every change gives a new draft, or says why not. Times are the program's. */
import type { DraftLoad, PlannedTube, SessionDraft, SessionShown } from "../../api/planning";
import { session as words } from "../../words/session";

/** A load: which bench of the draft, which of its loads, both from 0. */
export interface At {
  bench: number;
  load: number;
}

export type Edit = { draft: SessionDraft; at: At; refused?: undefined } | { refused: string };

export const isBegun = (load: DraftLoad): boolean => load.actual != null;
export const isEnded = (load: DraftLoad): boolean => load.actual?.end_min != null;
export const same = (a: At | null, b: At | null): boolean => a?.bench === b?.bench && a?.load === b?.load;

/** Every bench of the order, in its order; benches that are not in it any more come last, so that nothing is lost. */
export function whole(draft: SessionDraft, names: readonly string[]): SessionDraft {
  const own = (name: string) => draft.benches.filter((one) => one.bench === name).flatMap((one) => one.loads);
  const known = names.map((bench) => ({ bench, loads: own(bench) }));
  const others = draft.benches.filter((one) => !names.includes(one.bench) && one.loads.length > 0);
  return { benches: [...known, ...others] };
}

export function loadAt(draft: SessionDraft, at: At | null): DraftLoad | null {
  return at ? (draft.benches[at.bench]?.loads[at.load] ?? null) : null;
}

const tubeKey = (tube: PlannedTube): string => JSON.stringify([tube.sample, tube.replicate]);
const tubesKey = (load: DraftLoad): string => load.tubes.map(tubeKey).sort().join();

function findLoad(draft: SessionDraft, is: (load: DraftLoad) => boolean): At | null {
  for (const [bench, one] of draft.benches.entries()) {
    const load = one.loads.findIndex(is);
    if (load >= 0) return { bench, load };
  }
  return null;
}

/** Where a load stands in another draft, as edits before may have moved it; or the load with that tube, where its tubes went apart. */
export function placeOf(draft: SessionDraft, load: DraftLoad, tube?: PlannedTube): At | null {
  const key = tubesKey(load);
  return (
    findLoad(draft, (one) => one === load) ??
    findLoad(draft, (one) => tubesKey(one) === key) ??
    (tube ? findLoad(draft, (one) => one.tubes.some((own) => tubeKey(own) === tubeKey(tube))) : null)
  );
}

/** What is shown, with its loads as they stand in a draft that could not be timed; none where that has other loads. */
export function carried(shown: SessionShown | null, draft: SessionDraft): SessionShown | null {
  if (!shown || shown.plan.benches.length > draft.benches.length) return null;
  const count = (of: SessionDraft) => of.benches.reduce((sum, bench) => sum + bench.loads.length, 0);
  if (count(shown.draft) !== count(draft)) return null;
  const from: number[][] = [];
  for (const [b, bench] of draft.benches.entries()) {
    const before = shown.draft.benches[b];
    if (before?.bench !== bench.bench || before.loads.length !== bench.loads.length) return null;
    const own = bench.loads.map((load) => before.loads.findIndex((one) => one === load || tubesKey(one) === tubesKey(load)));
    if (own.includes(-1) || new Set(own).size !== own.length) return null;
    from.push(own);
  }
  const turned = <T>(all: readonly T[] | undefined, b: number): T[] =>
    (from[b] ?? []).flatMap((l) => {
      const one = all?.[l];
      return one === undefined ? [] : [one];
    });
  return {
    ...shown,
    draft,
    in_time: null,
    in_time_finished: null,
    plan: { ...shown.plan, benches: shown.plan.benches.map((bench, b) => ({ ...bench, loads: turned(bench.loads, b) })) },
    benches: shown.benches.map((bench, b) => ({ ...bench, loads: turned(bench.loads, b) })),
    words: { ...shown.words, loads: shown.words.loads.map((loads, b) => turned(loads, b)) },
  };
}

/** How many loads of a bench began: nothing is set in before them any more. */
export function begunOf(loads: readonly DraftLoad[]): number {
  return loads.findLastIndex(isBegun) + 1;
}

/** Without its turn: a load that is moved is set in as soon as block and hands are free. */
function turnless(load: DraftLoad): DraftLoad {
  const { turn: _, ...rest } = load;
  return rest;
}

function withLoads(draft: SessionDraft, change: (loads: DraftLoad[], bench: number) => DraftLoad[]): SessionDraft {
  return { benches: draft.benches.map((one, bench) => ({ ...one, loads: change([...one.loads], bench) })) };
}

function stands(load: DraftLoad | null): string {
  if (!load) return words.refusals.gone;
  if (isBegun(load)) return words.refusals.begun;
  return load.locked ? words.refusals.locked : "";
}

/** To another place; `to.load` counts the loads there without this one. */
export function moveLoad(draft: SessionDraft, from: At, to: At): Edit {
  const load = loadAt(draft, from);
  const why = stands(load);
  if (!load || why) return { refused: why };
  if (!draft.benches[to.bench]) return { refused: words.refusals.noBench };
  const without = withLoads(draft, (loads, bench) => (bench === from.bench ? loads.toSpliced(from.load, 1) : loads));
  const there = without.benches[to.bench]?.loads ?? [];
  const place = Math.min(there.length, Math.max(begunOf(there), to.load));
  if (to.bench === from.bench && place === from.load) return { refused: words.refusals.stays };
  return {
    draft: withLoads(without, (loads, bench) => (bench === to.bench ? loads.toSpliced(place, 0, turnless(load)) : loads)),
    at: { bench: to.bench, load: place },
  };
}

/** Earlier (−1) or later (+1) on its bench. */
export function moveInTurn(draft: SessionDraft, at: At, step: number): Edit {
  const place = at.load + step;
  const loads = draft.benches[at.bench]?.loads ?? [];
  if (place < 0 || place >= loads.length) return { refused: step < 0 ? words.refusals.first : words.refusals.last };
  return moveLoad(draft, at, { bench: at.bench, load: place });
}

/** To the bench above (−1) or below (+1), before the first load there that begins later. `starts` are the times of all loads [min]. */
export function moveToBench(draft: SessionDraft, at: At, step: number, starts: readonly (readonly number[])[]): Edit {
  const bench = at.bench + step;
  if (!draft.benches[bench]) return { refused: step < 0 ? words.refusals.topBench : words.refusals.lastBench };
  const begins = starts[at.bench]?.[at.load] ?? 0;
  const later = (starts[bench] ?? []).findIndex((start) => start > begins);
  return moveLoad(draft, at, { bench, load: later < 0 ? Infinity : later });
}

/** Where a tube goes: into a load, or into a new one before the load that stands there. */
export type TubeTarget = { into: At } | { before: At };

export function moveTube(draft: SessionDraft, from: At, tube: PlannedTube, target: TubeTarget): Edit {
  const source = loadAt(draft, from);
  const why = stands(source);
  if (!source || why) return { refused: why };
  const left = source.tubes.filter((one) => one.sample !== tube.sample || one.replicate !== tube.replicate);
  if (left.length === source.tubes.length) return { refused: words.refusals.gone };
  const moved: PlannedTube = { sample: tube.sample, replicate: tube.replicate };
  if ("into" in target) {
    if (same(target.into, from)) return { refused: words.refusals.stays };
    const into = loadAt(draft, target.into);
    const closed = stands(into);
    if (closed) return { refused: closed };
    const grown = withLoads(draft, (loads, bench) =>
      loads.map((load, i) => {
        if (bench === from.bench && i === from.load) return { ...load, tubes: left };
        return bench === target.into.bench && i === target.into.load ? { ...load, tubes: [...load.tubes, moved] } : load;
      }),
    );
    return cleared(grown, from, left.length, target.into);
  }
  if (!draft.benches[target.before.bench]) return { refused: words.refusals.noBench };
  if (left.length === 0) {
    // All of a load: the load itself goes.
    const place = target.before.bench === from.bench && target.before.load > from.load ? target.before.load - 1 : target.before.load;
    return moveLoad(draft, from, { bench: target.before.bench, load: place });
  }
  const there = draft.benches[target.before.bench]?.loads ?? [];
  const place = Math.min(there.length, Math.max(begunOf(there), target.before.load));
  const shrunk = withLoads(draft, (loads, bench) =>
    loads.map((load, i) => (bench === from.bench && i === from.load ? { ...load, tubes: left } : load)),
  );
  return {
    draft: withLoads(shrunk, (loads, bench) =>
      bench === target.before.bench ? loads.toSpliced(place, 0, { tubes: [moved], locked: false }) : loads,
    ),
    at: { bench: target.before.bench, load: place },
  };
}

/** A load that has lost its last tube is none. */
function cleared(draft: SessionDraft, from: At, left: number, at: At): Edit {
  if (left > 0) return { draft, at };
  const shifted = at.bench === from.bench && at.load > from.load ? { ...at, load: at.load - 1 } : at;
  return { draft: withLoads(draft, (loads, bench) => (bench === from.bench ? loads.toSpliced(from.load, 1) : loads)), at: shifted };
}

function changed(draft: SessionDraft, at: At, change: (load: DraftLoad) => DraftLoad): SessionDraft {
  return withLoads(draft, (loads, bench) =>
    bench === at.bench ? loads.map((load, i) => (i === at.load ? change(load) : load)) : loads,
  );
}

export function setLock(draft: SessionDraft, at: At, locked: boolean): Edit {
  if (!loadAt(draft, at)) return { refused: words.refusals.gone };
  return { draft: changed(draft, at, (load) => ({ ...load, locked })), at };
}

const tenth = (minutes: number) => Math.round(minutes * 10) / 10;

/** It was set in then, really. Loads before it that did not begin go behind it: they come later. */
export function begin(draft: SessionDraft, at: At, at_min: number): Edit {
  const load = loadAt(draft, at);
  if (!load) return { refused: words.refusals.gone };
  if (isBegun(load)) return { refused: words.refusals.begunAlready };
  const loads = draft.benches[at.bench]?.loads ?? [];
  if (loads.some((one) => isBegun(one) && !isEnded(one))) return { refused: words.refusals.underWay };
  const place = begunOf(loads);
  const begun = { ...load, actual: { load_start_min: tenth(at_min) } };
  return {
    draft: withLoads(draft, (own, bench) => (bench === at.bench ? own.toSpliced(at.load, 1).toSpliced(place, 0, begun) : own)),
    at: { bench: at.bench, load: place },
  };
}

export function end(draft: SessionDraft, at: At, at_min: number): Edit {
  const actual = loadAt(draft, at)?.actual;
  if (!actual) return { refused: words.refusals.notBegun };
  const end_min = Math.max(actual.load_start_min, tenth(at_min));
  return { draft: changed(draft, at, (load) => ({ ...load, actual: { ...actual, end_min } })), at };
}

export type Actual = NonNullable<DraftLoad["actual"]>;

/** What really happened, as it is corrected by hand; null takes a value away. */
export function correct(draft: SessionDraft, at: At, field: keyof Actual, value: number | null): Edit {
  const load = loadAt(draft, at);
  if (!load) return { refused: words.refusals.gone };
  if (!load.actual) return { refused: words.refusals.notBegun };
  const { [field]: _, ...rest } = load.actual;
  const actual = { ...rest, ...(value === null ? {} : { [field]: value }) } as Actual;
  const { load_start_min, end_min } = actual;
  if (!Number.isFinite(load_start_min) || load_start_min < 0) return { refused: words.refusals.noStart };
  if (end_min != null && end_min < load_start_min) return { refused: words.refusals.endsFirst(load_start_min, end_min) };
  return { draft: changed(draft, at, (one) => ({ ...one, actual })), at };
}

/** It has not begun after all. */
export function takeBack(draft: SessionDraft, at: At): Edit {
  if (!loadAt(draft, at)) return { refused: words.refusals.gone };
  const without = (load: DraftLoad): DraftLoad => {
    const { actual: _, ...rest } = load;
    return rest;
  };
  return { draft: changed(draft, at, without), at };
}

/** Whether anything of it stays when the rest is planned anew. */
export function holdsAnything(draft: SessionDraft | null): boolean {
  return draft?.benches.some((one) => one.loads.some((load) => load.locked || isBegun(load))) ?? false;
}

export const anythingBegan = (draft: SessionDraft): boolean => draft.benches.some((one) => one.loads.some(isBegun));

/** What stays whatever is planned: the loads that began. */
export function begunOnly(draft: SessionDraft): SessionDraft {
  return withLoads(draft, (loads) => loads.filter(isBegun));
}
