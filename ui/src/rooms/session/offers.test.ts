import { describe, expect, it } from "vitest";
import type { SessionOrder, SessionShown } from "../../api/planning";
import { adviceOf, advised, foundInTime, relaxedEntry, stillInTime, type Standing } from "./offers";
import { emptySample, entryOf } from "./order";

const order = { length_min: 60, operators: 1, policy: { replicates: 2 }, bench: [], sample: [] } as unknown as SessionOrder;
const tubes = [{ sample: "A", replicate: 1 }];
const of: Standing = { order, draft: { benches: [{ bench: "North", loads: [{ tubes }, { tubes: [] }] }] }, now_min: 5 };
const shown = (fits: boolean, in_time: unknown = null) => ({ plan: { fits }, in_time, in_time_finished: 7 }) as unknown as SessionShown;

describe("the plan that finishes most in time", () => {
  const found = foundInTime(shown(false, of.draft), of);

  it("is offered as long as it can be taken", () => {
    expect(found).toMatchObject({ finished: 7, now_min: 5 });
    expect(stillInTime(found, shown(false), of)).toBe(found);
    const moved = { benches: [{ bench: "North", loads: [{ tubes: [] }, { tubes }] }] };
    expect(stillInTime(found, shown(false), { ...of, draft: moved, now_min: 6 })).toBe(found);
  });

  it("goes when the plan fits, the order changes, a load is locked or begins, or a minute has gone", () => {
    const marked = (more: object) => ({ ...of, draft: { benches: [{ bench: "North", loads: [{ tubes, ...more }, { tubes: [] }] }] } });
    expect(stillInTime(found, shown(true), of)).toBeNull();
    expect(stillInTime(found, shown(false), { ...of, order: { ...order, length_min: 61 } })).toBeNull();
    expect(stillInTime(found, shown(false), marked({ locked: true }))).toBeNull();
    expect(stillInTime(found, shown(false), marked({ actual: { load_start_min: 2 } }))).toBeNull();
    expect(stillInTime(found, shown(false), { ...of, now_min: 6.1 })).toBeNull();
    expect(foundInTime(shown(true, of.draft), of)).toBeNull();
    expect(foundInTime(shown(false), of)).toBeNull();
  });
});

describe("what is advised", () => {
  it("holds for its order, plan and minute", () => {
    const advice = adviceOf(["one more bench"], of, 5.9);
    expect(advised(advice, { ...of, now_min: 5.2 })).toEqual(["one more bench"]);
    expect(advised(advice, { ...of, now_min: 6 })).toBeNull();
    expect(advised(advice, { ...of, order: { ...order, length_min: 61 } })).toBeNull();
    expect(advised(advice, { ...of, draft: { benches: [] } })).toBeNull();
    expect([advised(advice, null), advised(null, of)]).toEqual([null, null]);
  });
});

describe("an order that is relaxed", () => {
  it("keeps lines without a range where they are, and where ranges came from", () => {
    const ready = (id: string) => ({ ...emptySample(id), first_c: 80, last_c: 81, origin: `of ${id}` });
    const entry = { ...entryOf(order), samples: [ready("A"), { ...emptySample("half"), first_c: 70, replicates: 4 }, ready("B"), ready("C")] };
    const relaxed = {
      ...order,
      length_min: 90,
      sample: ["A", "C"].map((id) => ({ id, first_liquid_c: 80, last_crystal_c: 81, replicates: 1 })),
    } as SessionOrder;
    const taken = relaxedEntry(entry, relaxed);
    expect(taken.length_min).toBe(90);
    expect(taken.samples.map((one) => [one.id, one.replicates, one.origin])).toEqual([
      ["A", 1, "of A"],
      ["half", 4, ""],
      ["C", 1, "of C"],
    ]);
  });
});
