import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { people } from "../people/state.svelte";
import type { SessionDraft } from "../../api/planning";
import { begin, moveInTurn, setLock } from "./draft";
import { SessionRoom } from "./state.svelte";

const order = {
  length_min: 120,
  operators: 1,
  policy: { replicates: 2 },
  bench: [{ name: "North", places: 3 }],
  sample: [{ id: "U-1", first_liquid_c: 113, last_crystal_c: 114 }],
};
const draft = {
  benches: [
    {
      bench: "North",
      loads: [
        { tubes: [{ sample: "U-1", replicate: 1 }], locked: false, turn: 0 },
        { tubes: [{ sample: "U-1", replicate: 2 }], locked: false, turn: 1 },
      ],
    },
  ],
};
const shownOf = (body: { draft?: typeof draft }) => {
  const made = body.draft ?? draft;
  const loads = made.benches[0]?.loads ?? [];
  return {
    draft: made,
    faults: [],
    in_time: null,
    benches: [{ bench: "North", loads: loads.map(() => ({ stages: [], legs: [] })) }],
    plan: { makespan_min: 50, benches: [{ bench: "North", loads: loads.map((load, i) => ({ ...load, load_start_min: 25 * i, end_min: 25 * i + 20 })) }] },
  };
};

let kept: { revision: number; by: string; session: Record<string, unknown> } | null;
let asked: { method: string; path: string; body: Record<string, unknown> }[];
let room: SessionRoom;

beforeEach(async () => {
  vi.useFakeTimers();
  vi.setSystemTime(new Date("2026-11-25T17:00:00Z"));
  kept = null;
  asked = [];
  people.rows = [{ id: "p", record: "r", name: "M. Fink", role: "analyst" }];
  people.meId = "p";
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    const body = init?.body ? (JSON.parse(String(init.body)) as Record<string, unknown>) : {};
    asked.push({ method: init?.method ?? "GET", path, body });
    if (path === "/api/programmes/benches") return Response.json({ benches: [{ name: "North", places: 3, room_c: 22, now_c: 31.24, described: true }] });
    if (path === "/api/session-files/read") return Response.json({ ...order, bench: [], sample: [] });
    if (path === "/api/session-plans/retime") return Response.json(shownOf(body as { draft: typeof draft }));
    if (path === "/api/session-plans/replan") {
      const begun = (body as { draft: typeof draft }).draft.benches.flatMap((one) => one.loads);
      const loads = draft.benches[0]?.loads.map((load) => begun.find((one) => one.turn === load.turn) ?? load) ?? [];
      const made = { benches: [{ bench: "North", loads }] };
      return Response.json({ ...shownOf({ draft: made }), in_time: draft, in_time_finished: 1 });
    }
    if (init?.method === "PUT") {
      if ((kept?.revision ?? 0) !== body["revision"]) return new Response(JSON.stringify({ detail: "stale" }), { status: 409 });
      kept = { revision: (kept?.revision ?? 0) + 1, by: "M. Fink", session: body["session"] as Record<string, unknown> };
      return Response.json(kept);
    }
    return kept ? Response.json(kept) : new Response(JSON.stringify({ detail: "none" }), { status: 404 });
  });
  room = new SessionRoom("Evening");
  await room.start();
});
afterEach(() => {
  room.close();
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

const withSample = () => {
  room.entry?.samples.push({ id: "U-1", first_c: 113, last_c: 114, replicates: null, leaveBelow_c: null, origin: "" });
};

describe("a session", () => {
  it("begins with the benches of the book where they stand, and is kept once something is typed", async () => {
    expect(room.entry?.benches).toMatchObject([{ name: "North", start_c: 31.2 }]);
    expect(kept).toBeNull();
    withSample();
    room.typed();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    expect(asked.filter((one) => one.method === "PUT")).toHaveLength(1);
    expect(room.revision).toBe(1);
  });

  it("is planned, changed by hand, and taken back", async () => {
    withSample();
    await room.plan("all");
    expect(room.draft?.benches[0]?.loads).toHaveLength(2);
    const first = room.draft?.benches[0]?.loads[0]?.tubes;
    if (!room.draft) throw new Error("no draft");
    await room.change(moveInTurn(room.draft, { bench: 0, load: 0 }, 1));
    expect(room.draft.benches[0]?.loads[1]?.tubes).toEqual(first);
    expect(room.selected).toEqual({ bench: 0, load: 1 });
    expect(asked.at(-1)?.path).toBe("/api/session-plans/retime");
    await room.change(moveInTurn(room.draft, { bench: 0, load: 1 }, 1));
    expect(room.told).toContain("last load");
    await room.undo();
    expect(room.draft.benches[0]?.loads[0]?.tubes).toEqual(first);
    await vi.advanceTimersByTimeAsync(1000);
    expect(kept?.session["draft"]).toMatchObject({ benches: [{ bench: "North" }] });
  });

  it("keeps what began and the clock when all is planned afresh", async () => {
    withSample();
    await room.plan("all");
    if (!room.draft) throw new Error("no draft");
    room.setNow(30);
    await room.change(begin(room.draft, { bench: 0, load: 0 }, 4));
    await room.set(setLock(room.draft, { bench: 0, load: 1 }, true));
    await room.plan("all");
    const request = asked.findLast((one) => one.path.endsWith("replan"))?.body as { now_min: number; draft: SessionDraft };
    expect(request.now_min).toBe(30);
    expect(request.draft.benches[0]?.loads.map((load) => load.actual)).toEqual([{ load_start_min: 4 }]);
    expect(room.draft.benches[0]?.loads[0]?.actual).toEqual({ load_start_min: 4 });
  });

  it("offers the plan that finishes most in time until the order changes or a load begins", async () => {
    withSample();
    await room.plan("all");
    expect(room.shown?.in_time_finished).toBe(1);
    if (!room.draft) throw new Error("no draft");
    await room.change(moveInTurn(room.draft, { bench: 0, load: 0 }, 1));
    expect(room.shown?.in_time).toEqual(draft);
    await room.change(begin(room.draft, { bench: 0, load: 0 }, 4));
    expect(room.shown?.in_time).toBeNull();
    await room.plan("all");
    expect(room.shown?.in_time).toEqual(draft);
    if (room.entry) room.entry.length_min = 90;
    await room.retime();
    expect(room.shown?.in_time).toBeNull();
  });

  it("says when somebody else changed it, and keeps either", async () => {
    withSample();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    if (!kept) throw new Error("not kept");
    kept = { ...kept, revision: 5, by: "S. Drossel" };
    if (room.entry) room.entry.length_min = 90;
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    expect(room.conflict?.by).toBe("S. Drossel");
    await room.keepMine();
    expect(kept.revision).toBe(6);
    expect(room.conflict).toBeNull();
    expect(kept.session["order"]).toMatchObject({ length_min: 90 });
  });

  it("shows what another device kept, within seconds", async () => {
    withSample();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    if (!kept) throw new Error("not kept");
    kept = { revision: 2, by: "S. Drossel", session: { ...kept.session, now_min: 40 } };
    await vi.advanceTimersByTimeAsync(11_000);
    expect([room.revision, room.by, room.now_min]).toEqual([2, "S. Drossel", 40]);
  });

  it("knows how late it is once the clock runs, and re-times every minute", async () => {
    withSample();
    await room.plan("all");
    room.setNow(10);
    room.startClock();
    await vi.advanceTimersByTimeAsync(1000);
    const before = asked.filter((one) => one.path.endsWith("retime")).length;
    await vi.advanceTimersByTimeAsync(150_000);
    expect(room.now_min).toBeCloseTo(12.5, 1);
    const retimed = asked.filter((one) => one.path.endsWith("retime"));
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
    if (!kept) throw new Error("not kept");
    kept = { revision: 9, by: "S. Drossel", session: { ...kept.session, begun: null, now_min: 1e20 } };
    await room.fetch();
    expect(room.now_min).toBe(20_160);
  });

  it("keeps nothing for a viewer", async () => {
    people.rows = [{ id: "p", record: "r", name: "V. Star", role: "viewer" }];
    withSample();
    room.typed();
    await vi.advanceTimersByTimeAsync(1000);
    expect(kept).toBeNull();
  });
});
