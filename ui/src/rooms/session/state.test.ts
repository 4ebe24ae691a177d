import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { SessionDraft } from "../../api/planning";
import { draft, opened, Program, sample, shut, sitsAs } from "./book.testdata";
import { begin, moveInTurn, setLock } from "./draft";
import { SessionRoom } from "./state.svelte";

let program: Program;
let room: SessionRoom;
beforeEach(async () => {
  ({ program, room } = await opened());
});
afterEach(() => shut(room));

const withSample = () => {
  room.entry?.samples.push({ ...sample });
};

describe("a session", () => {
  it("begins with the benches of the book where they stand, and is kept once something is typed", async () => {
    expect(room.entry?.benches).toMatchObject([{ name: "North", start_c: 31.2 }]);
    expect(program.kept).toBeNull();
    withSample();
    room.typed();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    expect(program.asked.filter((one) => one.method === "PUT")).toHaveLength(1);
    expect(room.revision).toBe(1);
  });

  it("is planned, changed by hand, and taken back", async () => {
    withSample();
    await room.plan("all");
    expect(room.draft?.benches[0]?.loads).toHaveLength(2);
    const first = room.draft?.benches[0]?.loads[0]?.tubes;
    if (!room.draft) throw new Error("no draft");
    await room.change((now) => moveInTurn(now, { bench: 0, load: 0 }, 1));
    expect(room.draft.benches[0]?.loads[1]?.tubes).toEqual(first);
    expect(room.selected).toEqual({ bench: 0, load: 1 });
    expect(program.asked.at(-1)?.path).toBe("/api/session-plans/retime");
    await room.change((now) => moveInTurn(now, { bench: 0, load: 1 }, 1));
    expect(room.told).toContain("last load");
    await room.undo();
    expect(room.draft.benches[0]?.loads[0]?.tubes).toEqual(first);
    await vi.advanceTimersByTimeAsync(1000);
    expect(program.kept?.session["draft"]).toMatchObject({ benches: [{ bench: "North" }] });
  });

  it("keeps what began and the clock when all is planned afresh", async () => {
    withSample();
    await room.plan("all");
    if (!room.draft) throw new Error("no draft");
    room.setNow(30);
    await room.change((now) => begin(now, { bench: 0, load: 0 }, 4));
    await room.change((now) => setLock(now, { bench: 0, load: 1 }, true));
    await room.plan("all");
    const request = program.asked.findLast((one) => one.path.endsWith("replan"))?.body as { now_min: number; draft: SessionDraft };
    expect(request.now_min).toBe(30);
    expect(request.draft.benches[0]?.loads.map((load) => load.actual)).toEqual([{ load_start_min: 4 }]);
    expect(room.draft.benches[0]?.loads[0]?.actual).toEqual({ load_start_min: 4 });
  });

  it("offers the plan that finishes most in time until it can no longer be taken", async () => {
    withSample();
    await room.plan("all");
    expect(room.shown?.in_time_finished).toBe(1);
    if (!room.draft) throw new Error("no draft");
    await room.change((now) => moveInTurn(now, { bench: 0, load: 0 }, 1));
    expect(room.shown?.in_time).toEqual(draft);
    await room.change((now) => begin(now, { bench: 0, load: 0 }, 4));
    expect(room.shown?.in_time).toBeNull();
    await room.plan("all");
    expect(room.shown?.in_time).toEqual(draft);
    if (room.entry) room.entry.length_min = 90;
    await room.retime();
    expect(room.shown?.in_time).toBeNull();
    // A load that is locked later would be moved by it.
    await room.plan("all");
    expect(room.shown?.in_time).toEqual(draft);
    await room.change((now) => setLock(now, { bench: 0, load: 1 }, true));
    expect(room.shown?.in_time).toBeNull();
    // Once it fits there is nothing to be offered, and that is for good.
    await room.plan("rest");
    expect(room.shown?.in_time).toEqual(draft);
    program.fits = true;
    await room.retime();
    expect(room.shown?.in_time).toBeNull();
    program.fits = false;
    await room.retime();
    expect(room.shown?.in_time).toBeNull();
    // A plan that was looked for anew says what is so now.
    await room.plan("rest");
    expect(room.shown?.in_time).toEqual(draft);
    program.in_time = null;
    await room.plan("rest");
    expect(room.shown?.in_time).toBeNull();
    // The clock runs on.
    program.in_time = draft;
    await room.plan("rest");
    room.startClock();
    await vi.advanceTimersByTimeAsync(59_000);
    expect(room.shown?.in_time).toEqual(draft);
    await vi.advanceTimersByTimeAsync(65_000);
    expect(room.shown?.in_time).toBeNull();
  });

  it("says when somebody else changed it, and keeps either", async () => {
    withSample();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    if (!program.kept) throw new Error("not kept");
    program.kept = { ...program.kept, revision: 5, by: "S. Drossel" };
    if (room.entry) room.entry.length_min = 90;
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    expect(room.conflict?.by).toBe("S. Drossel");
    await room.keepMine();
    expect(program.kept.revision).toBe(6);
    expect(room.conflict).toBeNull();
    expect(program.kept.session["order"]).toMatchObject({ length_min: 90 });
  });

  it("shows what another device kept, within seconds", async () => {
    withSample();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    if (!program.kept) throw new Error("not kept");
    program.kept = { revision: 2, by: "S. Drossel", session: { ...program.kept.session, now_min: 40 } };
    await vi.advanceTimersByTimeAsync(11_000);
    expect([room.revision, room.by, room.now_min]).toEqual([2, "S. Drossel", 40]);
  });

  it("knows how late it is once the clock runs, and re-times every minute", async () => {
    withSample();
    await room.plan("all");
    room.setNow(10);
    room.startClock();
    await vi.advanceTimersByTimeAsync(1000);
    const before = program.asked.filter((one) => one.path.endsWith("retime")).length;
    await vi.advanceTimersByTimeAsync(150_000);
    expect(room.now_min).toBeCloseTo(12.5, 1);
    const retimed = program.asked.filter((one) => one.path.endsWith("retime"));
    expect(retimed.length - before).toBe(2);
    expect(retimed.at(-1)?.body["now_min"]).toBeCloseTo(12, 0);
    room.stopClock();
    expect(room.begun).toBe("");
  });

  it("knows no minute that no session has", async () => {
    withSample();
    await room.plan("all");
    room.startClock();
    expect([room.setNow(1e20), room.setNow(-1), room.setNow(NaN), room.now_min]).toEqual([false, false, false, 0]);
    expect([room.setNow(20_160), room.now_min]).toEqual([true, 20_160]);
    await vi.advanceTimersByTimeAsync(120_000);
    expect(room.now_min).toBe(20_160);
    if (!program.kept) throw new Error("not kept");
    program.kept = { revision: 9, by: "S. Drossel", session: { ...program.kept.session, begun: null, now_min: 1e20 } };
    await room.fetch();
    expect(room.now_min).toBe(20_160);
  });

  it("is changed by no viewer, who goes on seeing what others keep", async () => {
    withSample();
    await room.plan("all");
    await vi.advanceTimersByTimeAsync(1000);
    const before = program.kept;
    if (!before || !room.draft) throw new Error("not kept");
    // What another person typed here last and what is not kept yet does not hold the page back.
    room.typed();
    sitsAs("viewer");
    const stood = room.draft;
    room.typed();
    room.remember();
    expect(await room.change((now) => begin(now, { bench: 0, load: 0 }, 4))).toBe(false);
    expect(room.told).toBe("You look on: nothing can be changed here.");
    expect([room.setNow(10), room.mayPlan, room.canUndo]).toEqual([false, false, false]);
    room.startClock();
    await room.plan("all");
    await room.undo();
    await vi.advanceTimersByTimeAsync(1000);
    expect([room.draft, room.begun, program.kept]).toEqual([stood, "", before]);
    program.kept = { revision: 9, by: "S. Drossel", session: { ...before.session, now_min: 40 } };
    await vi.advanceTimersByTimeAsync(11_000);
    expect([room.revision, room.now_min]).toEqual([9, 40]);
  });
});
