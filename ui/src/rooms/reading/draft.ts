/** What a person marks on one tube before it is sent, and the rules it keeps. */
import type { DecisionRequest, Moment, Moments, Outcome, Seen, SeenTube } from "../../api/types";
import { nearest } from "../../parts/cursor.svelte";
import { reading as words } from "../../words/reading";

/** Seen in this picture first, not seen in this recording, or not said yet. */
export type Mark = { frame: number } | "not_seen" | null;

export interface Draft {
  first: Mark;
  last: Mark;
  /** Null: follows from what was seen. */
  outcome: Outcome | null;
}

export type End = "first" | "last";

export const emptyDraft = (): Draft => ({ first: null, last: null, outcome: null });

export function isEmpty(draft: Draft): boolean {
  return draft.first === null && draft.last === null && draft.outcome === null;
}

function frameOf(mark: Mark): number | null {
  return mark !== null && mark !== "not_seen" ? mark.frame : null;
}

/** What keeps a draft from being sent, in words; null when nothing does. */
export function fault(draft: Draft): string | null {
  if (draft.first === null) return words.faults.noFirst;
  if (draft.last === null) return words.faults.noLast;
  const first = frameOf(draft.first);
  const last = frameOf(draft.last);
  if (first === null && last !== null) return words.faults.lastWithoutFirst;
  if (first !== null && last !== null && last < first) return words.faults.lastBeforeFirst;
  return null;
}

const seen = (mark: Mark): Seen =>
  mark === null || mark === "not_seen" ? { at: "not_seen" } : { at: "frame", frame: mark.frame };

/** One tube of a person's own reading. */
export function seenTube(place: number, draft: Draft): SeenTube {
  return {
    place,
    first_liquid: seen(draft.first),
    last_crystal: seen(draft.last),
    ...(draft.outcome ? { outcome: draft.outcome } : {}),
  };
}

/** Whether a mark says something else than the reading: another picture, or seen against not seen. */
export function differs(mark: Mark, moment: Moment | null, times_s: readonly number[]): boolean {
  if (mark === null) return false;
  const frame = frameOf(mark);
  if (frame === null || moment === null) return (frame === null) !== (moment === null);
  return frame !== nearest(times_s, moment.time_s);
}

/** Whether anything in the draft differs from the reading, so that a reason is asked for. */
export function needsReason(draft: Draft, read: Moments, times_s: readonly number[]): boolean {
  return (
    differs(draft.first, read.first_liquid, times_s) ||
    differs(draft.last, read.last_crystal, times_s) ||
    (draft.outcome !== null && draft.outcome !== read.outcome)
  );
}

/** A draft on top of a reading: what was not marked stays the reading's. */
export function completed(draft: Draft, read: Moments, times_s: readonly number[]): Draft {
  const from = (moment: Moment | null): Mark =>
    moment ? { frame: nearest(times_s, moment.time_s) } : "not_seen";
  return {
    first: draft.first ?? from(read.first_liquid),
    last: draft.last ?? from(read.last_crystal),
    outcome: draft.outcome,
  };
}

/**
 * The decision that a draft makes on a tube of a reading. An end that was not marked, or was marked on the
 * very picture, keeps the reading's exact time, which seldom falls on a picture.
 */
export function decision(
  place: number,
  draft: Draft,
  read: Moments,
  times_s: readonly number[],
  reason: string,
): DecisionRequest {
  const end = (mark: Mark, moment: Moment | null): Seen => {
    if (mark !== null && differs(mark, moment, times_s)) return seen(mark);
    return moment ? { at: "time", time_s: moment.time_s } : { at: "not_seen" };
  };
  const first_liquid = end(draft.first, read.first_liquid);
  const last_crystal = end(draft.last, read.last_crystal);
  // What was seen at all is as before: so is what became of the tube, unless the person says otherwise.
  const asBefore =
    (first_liquid.at === "not_seen") === (read.first_liquid === null) &&
    (last_crystal.at === "not_seen") === (read.last_crystal === null);
  const outcome = draft.outcome ?? (asBefore ? read.outcome : null);
  return {
    place,
    says: "set",
    first_liquid,
    last_crystal,
    ...(outcome ? { outcome } : {}),
    ...(reason.trim() ? { reason: reason.trim() } : {}),
  };
}
