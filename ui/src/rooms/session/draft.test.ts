import { describe, expect, it } from "vitest";
import type { DraftLoad, SessionDraft } from "../../api/planning";
import { begin, end, holdsAnything, moveInTurn, moveLoad, moveToBench, moveTube, setLock, whole, type Edit } from "./draft";

const load = (names: string, more: Partial<DraftLoad> = {}): DraftLoad => ({
  tubes: names.split(" ").map((name) => ({ sample: name, replicate: 1 })),
  locked: false,
  turn: 3,
  ...more,
});
const names = (draft: SessionDraft) => draft.benches.map((one) => one.loads.map((own) => own.tubes.map((tube) => tube.sample).join(" ")));
const draft = (north: DraftLoad[], south: DraftLoad[]): SessionDraft => ({
  benches: [
    { bench: "North", loads: north },
    { bench: "South", loads: south },
  ],
});
const done = (edit: Edit) => {
  if (edit.refused !== undefined) throw new Error(edit.refused);
  return edit;
};

describe("moving loads", () => {
  const plan = draft([load("A B"), load("C")], [load("D")]);

  it("goes earlier, later and to another bench, and takes its turn anew", () => {
    const later = done(moveInTurn(plan, { bench: 0, load: 0 }, 1));
    expect(names(later.draft)).toEqual([["C", "A B"], ["D"]]);
    expect(later.at).toEqual({ bench: 0, load: 1 });
    expect(later.draft.benches[0]?.loads.map((one) => one.turn)).toEqual([3, undefined]);
    const down = done(moveToBench(plan, { bench: 0, load: 1 }, 1, [[0, 30], [10]]));
    expect(names(down.draft)).toEqual([["A B"], ["D", "C"]]);
    const before = done(moveToBench(plan, { bench: 0, load: 0 }, 1, [[0, 30], [10]]));
    expect(names(before.draft)).toEqual([["C"], ["A B", "D"]]);
    expect(names(plan)).toEqual([["A B", "C"], ["D"]]);
  });

  it("says why not: at the ends, locked, begun", () => {
    expect(moveInTurn(plan, { bench: 0, load: 0 }, -1).refused).toContain("first");
    expect(moveInTurn(plan, { bench: 1, load: 0 }, 1).refused).toContain("last");
    expect(moveToBench(plan, { bench: 0, load: 0 }, -1, []).refused).toContain("above");
    expect(moveInTurn(done(setLock(plan, { bench: 0, load: 0 }, true)).draft, { bench: 0, load: 0 }, 1).refused).toContain("locked");
    const begun = draft([load("A", { actual: { load_start_min: 0 } }), load("B"), load("C")], []);
    expect(moveInTurn(begun, { bench: 0, load: 0 }, 1).refused).toContain("begun");
    // Nothing comes before what has begun.
    expect(moveInTurn(begun, { bench: 0, load: 1 }, -1).refused).toBeTruthy();
    const first = done(moveLoad(begun, { bench: 0, load: 2 }, { bench: 0, load: 0 }));
    expect(names(first.draft)).toEqual([["A", "C", "B"], []]);
  });
});

describe("moving tubes", () => {
  const plan = draft([load("A B"), load("C")], [load("D")]);
  const tube = (sample: string) => ({ sample, replicate: 1 });

  it("goes into another load; the load it leaves empty goes", () => {
    const joined = done(moveTube(plan, { bench: 0, load: 0 }, tube("B"), { into: { bench: 1, load: 0 } }));
    expect(names(joined.draft)).toEqual([["A", "C"], ["D B"]]);
    const emptied = done(moveTube(plan, { bench: 0, load: 1 }, tube("C"), { into: { bench: 0, load: 0 } }));
    expect(names(emptied.draft)).toEqual([["A B C"], ["D"]]);
    const shifted = done(moveTube(draft([load("A"), load("B")], []), { bench: 0, load: 0 }, tube("A"), { into: { bench: 0, load: 1 } }));
    expect(names(shifted.draft)).toEqual([["B A"], []]);
    expect(shifted.at).toEqual({ bench: 0, load: 0 });
  });

  it("makes a load of its own", () => {
    const own = done(moveTube(plan, { bench: 0, load: 0 }, tube("A"), { before: { bench: 1, load: 0 } }));
    expect(names(own.draft)).toEqual([["B", "C"], ["A", "D"]]);
    const whole = done(moveTube(plan, { bench: 0, load: 1 }, tube("C"), { before: { bench: 1, load: 1 } }));
    expect(names(whole.draft)).toEqual([["A B"], ["D", "C"]]);
  });

  it("leaves what began or is locked", () => {
    const held = draft([load("A B"), load("C", { locked: true })], [load("D", { actual: { load_start_min: 2 } })]);
    expect(moveTube(held, { bench: 0, load: 0 }, tube("A"), { into: { bench: 1, load: 0 } }).refused).toContain("begun");
    expect(moveTube(held, { bench: 0, load: 0 }, tube("A"), { into: { bench: 0, load: 1 } }).refused).toContain("locked");
    expect(moveTube(held, { bench: 1, load: 0 }, tube("D"), { into: { bench: 0, load: 0 } }).refused).toContain("begun");
    expect(moveTube(held, { bench: 0, load: 0 }, tube("Z"), { into: { bench: 0, load: 1 } }).refused).toBeTruthy();
  });
});

describe("what really happens", () => {
  it("begins and ends with minutes, and goes before what has not begun", () => {
    const plan = draft([load("A"), load("B")], []);
    expect(holdsAnything(plan)).toBe(false);
    const begun = done(begin(plan, { bench: 0, load: 1 }, 7.26));
    expect(names(begun.draft)).toEqual([["B", "A"], []]);
    expect(begun.draft.benches[0]?.loads[0]?.actual).toEqual({ load_start_min: 7.3 });
    expect(holdsAnything(begun.draft)).toBe(true);
    expect(begin(begun.draft, { bench: 0, load: 0 }, 9).refused).toContain("already");
    expect(begin(begun.draft, { bench: 0, load: 1 }, 9).refused).toContain("under way");
    const ended = done(end(begun.draft, begun.at, 5));
    // Nothing ends before it began.
    expect(ended.draft.benches[0]?.loads[0]?.actual?.end_min).toBe(7.3);
    done(begin(ended.draft, { bench: 0, load: 1 }, 30));
    expect(end(plan, { bench: 0, load: 0 }, 5).refused).toContain("not begun");
  });
});

describe("a draft and its order", () => {
  it("has every bench of the order, in its order, and loses none that is gone", () => {
    const plan = draft([load("A")], [load("B")]);
    expect(whole(plan, ["West", "South"]).benches.map((one) => [one.bench, one.loads.length])).toEqual([
      ["West", 0],
      ["South", 1],
      ["North", 1],
    ]);
  });
});
