import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { DraftLoad, SessionDraft } from "../../api/planning";
import { opened, Program, sample, shut } from "./book.testdata";
import { begin, correct, end, moveInTurn, setLock, takeBack } from "./draft";
import { SessionRoom } from "./state.svelte";

let program: Program;
let room: SessionRoom;
/** Two benches of one load each, planned. */
const two: SessionDraft = {
  benches: ["North", "South"].map((bench, i) => ({ bench, loads: [{ tubes: [{ sample: "U-1", replicate: i + 1 }], locked: false, turn: i }] })),
};
const loads = (): DraftLoad[] => room.draft?.benches.flatMap((one) => one.loads) ?? [];
const load = (i: number): DraftLoad => {
  const found = loads()[i];
  if (!found) throw new Error(`no load ${i}`);
  return found;
};
const rest = () => vi.advanceTimersByTimeAsync(1000);
/** Makes the program wait; what comes back lets it answer. */
function held(): () => void {
  let free = () => {};
  program.waits = new Promise<void>((done) => (free = done));
  return () => {
    program.waits = null;
    free();
  };
}

beforeEach(async () => {
  ({ program, room } = await opened());
  const north = room.entry?.benches[0];
  if (!north) throw new Error("no bench");
  room.entry?.benches.push({ ...north, name: "South" });
  room.entry?.samples.push({ ...sample });
  program.plans = two;
  await room.plan("all");
  await rest();
});
afterEach(() => shut(room));

describe("a change that the program refuses", () => {
  const impossible = (draft: SessionDraft) => ({
    draft: { benches: draft.benches.map((one) => ({ ...one, loads: one.loads.map((own) => ({ ...own, actual: { load_start_min: 35, end_min: 30 } })) })) },
    at: { bench: 0, load: 0 },
  });

  it("is neither taken nor kept, and it is said why", async () => {
    const before = room.draft;
    const revision = program.kept?.revision;
    expect(await room.change(impossible)).toBe(false);
    await rest();
    expect(room.draft).toBe(before);
    expect(room.shown?.draft).toBe(before);
    expect(room.told).toContain("ended before it was set in");
    expect([room.refused, program.kept?.revision]).toEqual(["", revision]);
  });

  it("that began after it ended is not even asked for", async () => {
    await room.changeLoad(load(0), (draft, at) => begin(draft, at, 4));
    await room.changeLoad(load(0), (draft, at) => end(draft, at, 30));
    expect(await room.changeLoad(load(0), (draft, at) => correct(draft, at, "load_start_min", 35))).toBe(false);
    expect(room.told).toContain("set in at 35 min");
    expect(await room.changeLoad(load(0), (draft, at) => correct(draft, at, "load_start_min", -5))).toBe(false);
    expect(await room.changeLoad(load(0), (draft, at) => correct(draft, at, "end_min", 31))).toBe(true);
    expect(await room.changeLoad(load(0), (draft, at) => correct(draft, at, "end_min", null))).toBe(true);
    expect(load(0).actual).toEqual({ load_start_min: 4 });
  });

  it("leaves a session that was kept so with a way out", async () => {
    if (!program.kept || !room.draft) throw new Error("not kept");
    const session = { ...program.kept.session, draft: impossible(room.draft).draft };
    program.kept = { revision: 7, by: "S. Drossel", session };
    const other = new SessionRoom("Evening");
    await other.start();
    expect(other.shown).toBeNull();
    expect(other.refused).toContain("ended before");
    const bad = () => other.draft?.benches.flatMap((one) => one.loads).find((own) => own.actual?.end_min === 30);
    // One bad load is left: still refused, and still nearer to what can be.
    for (const take of ["back", "true"]) {
      const one = bad();
      if (!one) throw new Error("none is bad");
      await other.changeLoad(one, take === "back" ? takeBack : (draft, at) => correct(draft, at, "end_min", 55));
    }
    expect(other.refused).toBe("");
    expect(other.shown?.draft.benches.flatMap((one) => one.loads).map((own) => own.actual?.end_min)).toEqual([undefined, 55]);
    await rest();
    expect(program.kept.revision).toBe(8);
    other.close();
  });
});

describe("changes that come close together", () => {
  it("keep the real times of both benches", async () => {
    const answer = held();
    const [north, south] = [load(0), load(1)];
    const both = [room.changeLoad(north, (draft, at) => begin(draft, at, 3)), room.changeLoad(south, (draft, at) => begin(draft, at, 5))];
    answer();
    expect(await Promise.all(both)).toEqual([true, true]);
    await rest();
    expect(loads().map((own) => own.actual?.load_start_min)).toEqual([3, 5]);
    expect(program.keptLoads.map((own) => own.actual?.load_start_min)).toEqual([3, 5]);
  });

  it("keep them while the order is refused, and while nobody answers", async () => {
    if (!room.entry) throw new Error("no order");
    room.entry.length_min = -1;
    room.typed();
    await rest();
    expect(room.refused).toContain("length_min");
    await room.changeLoad(load(0), (draft, at) => begin(draft, at, 3));
    // It is shown with what is known of it.
    expect(room.shown?.draft.benches[0]?.loads[0]?.actual).toEqual({ load_start_min: 3 });
    await room.changeLoad(load(1), (draft, at) => begin(draft, at, 5));
    program.gone = true;
    room.entry.length_min = 90;
    await room.changeLoad(load(0), (draft, at) => end(draft, at, 30));
    program.gone = false;
    await room.retime();
    expect(room.refused).toBe("");
    expect(loads().map((own) => own.actual)).toEqual([{ load_start_min: 3, end_min: 30 }, { load_start_min: 5 }]);
  });

  it("are of the load that was meant, wherever it went meanwhile", async () => {
    program.plans = { benches: [{ bench: "North", loads: two.benches.flatMap((one) => one.loads) }, { bench: "South", loads: [] }] };
    await room.plan("all");
    const second = load(1);
    const answer = held();
    const moved = room.changeLoad(second, (draft, at) => moveInTurn(draft, at, -1));
    const locked = room.changeLoad(second, (draft, at) => setLock(draft, at, true));
    answer();
    await Promise.all([moved, locked]);
    expect(loads().map((own) => [own.tubes[0]?.replicate, own.locked])).toEqual([[2, true], [1, false]]);
  });

  it("are not taken while a plan is looked for, and it is said why", async () => {
    const answer = held();
    const planning = room.plan("all");
    expect(room.fixed).toContain("Stop");
    expect(await room.changeLoad(load(0), (draft, at) => begin(draft, at, 3))).toBe(false);
    expect(room.told).toBe(room.fixed);
    await room.undo();
    answer();
    await planning;
    expect(room.fixed).toBe("");
    expect(loads().map((own) => own.actual)).toEqual([undefined, undefined]);
    expect(await room.changeLoad(load(0), (draft, at) => begin(draft, at, 3))).toBe(true);
  });

  it("are in what is looked for when they were made before", async () => {
    const answer = held();
    const changing = room.changeLoad(load(0), (draft, at) => begin(draft, at, 3));
    const planning = room.plan("rest");
    answer();
    await Promise.all([changing, planning]);
    expect(loads()[0]?.actual).toEqual({ load_start_min: 3 });
  });
});

describe("an order that is typed while a plan is looked for", () => {
  it("is timed once the plan is there", async () => {
    const answer = held();
    const planning = room.plan("all");
    await vi.advanceTimersByTimeAsync(10);
    if (room.entry) room.entry.length_min = 90;
    answer();
    await planning;
    expect(program.lastAsk("replan")).toMatchObject({ order: { length_min: 120 } });
    expect(program.asked.at(-1)?.path).toContain("retime");
    expect(program.lastAsk("retime")).toMatchObject({ order: { length_min: 90 } });
  });
});

describe("what would help", () => {
  it("is for the order and the minute it was asked for, and is not taken into another", async () => {
    await room.askSavings();
    expect(room.savings).toMatchObject([{ saves_min: 10 }]);
    room.now_min = 1;
    expect([room.savings, room.outdated]).toEqual([null, true]);
    room.now_min = 0;
    if (!room.entry) throw new Error("no order");
    const relaxed = { what: "longer", order: { ...room.order, length_min: 150 }, fits: true, finished: 1, price: "30 min" };
    program.relaxations = [relaxed];
    await room.askRelaxations();
    const [offer] = room.relaxations ?? [];
    if (!offer) throw new Error("no offer");
    // Another sample, and the offer does not know it.
    room.entry.samples.push({ ...sample, id: "U-2" });
    expect(room.relaxations).toBeNull();
    await room.takeRelaxed(offer);
    expect(room.told).toContain("ask again");
    expect(room.entry.samples).toHaveLength(2);
    expect(room.entry.length_min).toBe(120);
  });

  it("is taken with everything else that was typed, and undone in one step", async () => {
    if (!room.entry) throw new Error("no order");
    const half = { ...sample, id: "U-3", last_c: null, replicates: 4, origin: "scouted" };
    room.entry.samples.push(half);
    program.relaxations = [{ what: "longer", order: { ...room.order, length_min: 150 }, fits: true, finished: 1, price: "30 min" }];
    await room.askRelaxations();
    const [offer] = room.relaxations ?? [];
    if (!offer) throw new Error("no offer");
    await room.takeRelaxed(offer);
    expect(room.entry.length_min).toBe(150);
    expect(room.entry.samples[1]).toEqual(half);
    expect(program.lastAsk("replan")).toMatchObject({ order: { length_min: 150 } });
    await room.undo();
    expect([room.entry.length_min, room.entry.samples.length]).toEqual([120, 2]);
  });
});
