import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { handedFrom } from "../../parts/handed";
import { PlanState } from "../bench/plan.svelte";
import { ProgrammeState } from "./state.svelte";

let asked: Record<string, unknown>[];
let answer: (body: Record<string, unknown>) => Response | Promise<Response>;
let room: ProgrammeState;
let refused: boolean;

const planned = (body: Record<string, unknown>) =>
  Response.json({ order: { ...(body["plan"] as object), kind: undefined }, programme: { purpose: "measuring", legs: [] }, minutes: 17 });

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  answer = planned;
  refused = false;
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    if (path === "/api/programmes/procedures") {
      return Response.json({ note: "", procedures: [{ id: "p", start_below_c: 10, rate_c_per_min: 0.8, rate_within_c_per_min: [0.2, 1] }] });
    }
    if (path === "/api/programmes/benches") return Response.json({ benches: [{ name: "North", described: true }] });
    if (path.startsWith("/api/samples")) return Response.json({ rows: [{ id: "s1", label: "U-1", hazards: "irritates eyes" }], total: 1 });
    if (path.startsWith("/api/library/expected")) {
      return Response.json(
        refused
          ? { name: "2,4,6-trinitrotoluene", cas: "118-96-7", range_c: null, refused: "an explosive", minds: [] }
          : { name: "acetanilide", cas: "103-84-4", range_c: [111.62, 115.98], refused: null, minds: ["harmful"] },
      );
    }
    if (path === "/api/programmes/expected/s1") {
      return Response.json({ sample: "s1", label: "U-1", range: { first_liquid_c: 121.53, last_crystal_c: 122.48, origin: "scouting" }, screening: refused ? [{ state: "refused", why: "azide" }] : [] });
    }
    const body = JSON.parse(String(init?.body)) as Record<string, unknown>;
    asked.push(body);
    return answer(body);
  });
  room = new ProgrammeState();
});
afterEach(() => {
  room.close();
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe("planning a run", () => {
  it("asks nothing until the range is there, and once for changes that come together", async () => {
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual([]);
    room.first_c = 121.5;
    room.change();
    room.last_c = 122.5;
    room.change();
    room.drag("below_c", 4);
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toHaveLength(1);
    expect(asked[0]?.["plan"]).toMatchObject({ kind: "measuring", first_liquid_c: 121.5, last_crystal_c: 122.5, start_below_c: 4 });
    expect(room.planned?.minutes).toBe(17);
  });

  it("takes the range from a substance of the library, and plans nothing of a refused one", async () => {
    await room.typeLabel("u-1");
    room.substance = "acetanilide";
    await room.takeSubstance();
    expect([room.first_c, room.last_c]).toEqual([111.6, 116]);
    expect(room.origin).toContain("literature values");
    expect(room.minds).toEqual(["harmful"]);
    // It is no longer the sample's range.
    expect([room.label, room.known]).toEqual(["", false]);
    refused = true;
    room.substance = "TNT";
    await room.takeSubstance();
    expect(room.refusedWhy).toBe("an explosive");
    expect(room.request).toBeNull();
    expect(room.handed).toBeNull();
  });

  it("has one question under way; what changed meanwhile is the next one", async () => {
    let give: () => void = () => {};
    answer = (body) => new Promise((resolve) => (give = () => resolve(planned(body))));
    [room.first_c, room.last_c] = [121.5, 122.5];
    room.change();
    await vi.advanceTimersByTimeAsync(100);
    for (const below of [4, 5, 6]) room.drag("below_c", below);
    await vi.advanceTimersByTimeAsync(100);
    expect(asked).toHaveLength(1);
    give();
    await vi.advanceTimersByTimeAsync(100);
    expect(asked).toHaveLength(2);
    expect(asked[1]?.["plan"]).toMatchObject({ start_below_c: 6 });
    give();
    await vi.advanceTimersByTimeAsync(100);
    expect(room.busy).toBe(false);
  });

  it("says why it cannot be, and keeps what is drawn", async () => {
    [room.first_c, room.last_c] = [121.5, 122.5];
    room.change();
    await vi.advanceTimersByTimeAsync(100);
    answer = () => new Response(JSON.stringify({ detail: "no programme fits into 2 min" }), { status: 422 });
    room.within_min = 2;
    room.change();
    await vi.advanceTimersByTimeAsync(100);
    expect(room.problem).toContain("no programme fits");
    expect(room.planned).not.toBeNull();
    expect(room.handed).toBeNull();
  });

  it("does not give up a soak that was dragged", async () => {
    [room.first_c, room.last_c, room.within_min] = [121.5, 122.5, 15];
    room.drag("soak_min", 5);
    await vi.advanceTimersByTimeAsync(100);
    expect(asked[0]).toMatchObject({ within_min: 15, keep_soak: true, keep_rate: false, keep_start_below: false });
  });

  it("takes the range of a sample of the book and says where it is from", async () => {
    await room.typeLabel("u-1");
    expect([room.first_c, room.last_c]).toEqual([121.5, 122.5]);
    expect(room.origin).toContain("scouting");
    expect(room.hazards).toEqual([{ label: "U-1", hazards: "irritates eyes" }]);
    await vi.advanceTimersByTimeAsync(100);
    room.typedRange();
    expect(handedFrom(room.handed)?.labels).toEqual(["u-1"]);
  });

  it("starts from a published procedure, whose name goes with the question", async () => {
    await room.start();
    [room.first_c, room.last_c] = [121.5, 122.5];
    room.follow("p");
    await vi.advanceTimersByTimeAsync(100);
    expect(asked[0]).toMatchObject({ procedure: "p", plan: { start_below_c: 10, rate_c_per_min: 0.8, cool_below_c: 20 } });
  });

  it("does not carry to a bench what the list refuses", async () => {
    refused = true;
    await room.typeLabel("U-1");
    await vi.advanceTimersByTimeAsync(100);
    expect(room.planned).not.toBeNull();
    expect(room.refusedWhy).toBe("azide");
    expect(room.handed).toBeNull();
  });

  it("carries what fits to the bench, where older results do not take its place", async () => {
    [room.first_c, room.last_c] = [121.5, 122.5];
    room.change();
    await vi.advanceTimersByTimeAsync(100);
    const handed = handedFrom(room.handed);
    expect(handed).toMatchObject({ plan: { kind: "measuring", first_liquid_c: 121.5 }, range: [121.5, 122.5] });
    const bench = new PlanState("North");
    if (handed) bench.take(handed);
    bench.expect(80, 81, "an older result");
    expect([bench.first_c, bench.last_c, bench.below_c]).toEqual([121.5, 122.5, 3]);
    bench.close();
  });
});

describe("a plan in an address", () => {
  it("is taken whole or not at all", () => {
    expect(handedFrom(null)).toBeNull();
    expect(handedFrom("{")).toBeNull();
    expect(handedFrom('{"plan":{"kind":"else"}}')).toBeNull();
    expect(handedFrom("null")).toBeNull();
    expect(handedFrom('{"plan":{"kind":"legs","legs":[]},"range":[1],"labels":["U-1"]}')).toEqual({
      plan: { kind: "legs", legs: [] },
      range: null,
      labels: ["U-1"],
      from: "",
    });
  });
});
