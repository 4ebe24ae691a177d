/** What was found for a session as it stood: how long it is still offered, and how it is taken. */
import type { SessionDraft, SessionOrder, SessionShown } from "../../api/planning";
import { isBegun } from "./draft";
import { entryOf, isReady, type OrderEntry } from "./order";

/** A plan that finishes most in time is out of reach once now is so much later than when it was found [min]. */
const OFFERED_MIN = 1;

/** What a plan is of. */
export interface Standing {
  order: SessionOrder;
  draft: SessionDraft;
  now_min: number;
}

/** The plan that finishes most samples in time, and what it was found for. */
export interface InTime {
  draft: SessionDraft;
  finished: number;
  key: string;
  now_min: number;
}

/** An order, and what of its plan stands whatever is planned: loads that began or are locked. */
function key({ order, draft }: Standing): string {
  const marked = draft.benches.map(({ bench, loads }) => [
    bench,
    loads.filter((load) => load.locked || isBegun(load)).map(({ tubes, locked, actual }) => [tubes, locked ?? false, actual ?? null]),
  ]);
  return JSON.stringify([order, marked]);
}

/** What is offered beside a plan that was just looked for. */
export function foundInTime(shown: SessionShown, of: Standing): InTime | null {
  if (!shown.in_time || shown.plan.fits) return null;
  return { draft: shown.in_time, finished: shown.in_time_finished ?? 0, key: key(of), now_min: of.now_min };
}

/** What is still offered beside a plan that was only timed: such a plan cannot be found at once, it is the one found before. */
export function stillInTime(found: InTime | null, shown: SessionShown, of: Standing): InTime | null {
  if (!found || shown.plan.fits || found.key !== key(of)) return null;
  return Math.abs(of.now_min - found.now_min) > OFFERED_MIN ? null : found;
}

/** What was worked out for an order and its plan, and when. */
export interface Advice<T> {
  found: T[];
  key: string;
  minute: number;
}

const adviceKey = ({ order, draft }: Standing): string => JSON.stringify([order, draft]);

/** `now_min` is when it is found: what is looked for takes seconds, and another minute may have begun meanwhile. */
export function adviceOf<T>(found: T[], asked: Standing, now_min: number): Advice<T> {
  return { found, key: adviceKey(asked), minute: Math.floor(now_min) };
}

/** What is still advised: nothing once the order, the plan or the minute is another. */
export function advised<T>(advice: Advice<T> | null, of: Standing | null): T[] | null {
  if (!advice || !of || advice.minute !== Math.floor(of.now_min)) return null;
  return advice.key === adviceKey(of) ? advice.found : null;
}

/** An order with what was relaxed in it: lines without a range, and where ranges came from, stay as they are. */
export function relaxedEntry(entry: OrderEntry, relaxed: SessionOrder): OrderEntry {
  const left = entryOf(relaxed).samples;
  const samples = entry.samples.flatMap((sample) => {
    if (!isReady(sample)) return [sample];
    const at = left.findIndex((one) => one.id === sample.id);
    return left.splice(at, at < 0 ? 0 : 1).map((one) => ({ ...one, origin: sample.origin }));
  });
  return { ...entryOf(relaxed), samples: [...samples, ...left] };
}
