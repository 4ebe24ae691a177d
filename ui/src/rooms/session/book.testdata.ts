/** A program that plans one bench of two loads, for tests: what it keeps, what it was asked, and when it refuses or waits. */
import { vi } from "vitest";
import type { DraftLoad, SessionDraft } from "../../api/planning";
import { people } from "../people/state.svelte";
import { SessionRoom } from "./state.svelte";

export const order = {
  length_min: 120,
  operators: 1,
  policy: { replicates: 2 },
  bench: [{ name: "North", places: 3 }],
  sample: [{ id: "U-1", first_liquid_c: 113, last_crystal_c: 114 }],
};
export const draft = {
  benches: [
    {
      bench: "North",
      loads: [
        { tubes: [{ sample: "U-1", replicate: 1 }], locked: false, turn: 0 },
        { tubes: [{ sample: "U-1", replicate: 2 }], locked: false, turn: 1 },
      ],
    },
  ],
} satisfies SessionDraft;

type Body = Record<string, unknown>;
const shownOf = (made: SessionDraft, makespan_min: number, fits: boolean) => ({
  draft: made,
  faults: [],
  in_time: null,
  in_time_finished: null,
  words: { loads: made.benches.map((bench) => bench.loads.map(() => "")), shares: [], bottleneck: "" },
  benches: made.benches.map(({ bench, loads }) => ({ bench, loads: loads.map(() => ({ stages: [], legs: [], set_in_below_c: null, range_c: null, measuring: null })) })),
  plan: {
    makespan_min,
    fits,
    lower_bound_min: 20,
    finished_in_time: [],
    not_finished: ["U-1"],
    benches: made.benches.map(({ bench, loads }) => ({ bench, loads: loads.map((load, i) => ({ ...load, load_start_min: 25 * i, end_min: 25 * i + 20 })) })),
  },
});

export class Program {
  kept: { revision: number; by: string; session: Body } | null = null;
  asked: { method: string; path: string; body: Body }[] = [];
  makespan_min = 50;
  fits = false;
  /** The loads of a plan, where it is to have others. */
  plans: SessionDraft = draft;
  /** A plan that finishes most in time, where one is found. */
  in_time: SessionDraft | null = draft;
  /** Answers only once this is so. */
  waits: Promise<unknown> | null = null;
  /** Nobody answers. */
  gone = false;
  relaxations: unknown[] = [];

  asks = (method: string, end: string) => this.asked.filter((one) => one.method === method && one.path.endsWith(end));
  lastAsk = (end: string) => this.asked.findLast((one) => one.path.endsWith(end))?.body;

  fetch = async (path: string, init?: RequestInit): Promise<Response> => {
    const body = init?.body ? (JSON.parse(String(init.body)) as Body) : {};
    this.asked.push({ method: init?.method ?? "GET", path, body });
    await this.waits;
    if (init?.signal?.aborted) throw new DOMException("stopped", "AbortError");
    if (this.gone) throw new TypeError("no answer");
    const refuse = (status: number, detail: string) => new Response(JSON.stringify({ detail }), { status });
    if (path === "/api/programmes/benches") return Response.json({ benches: [{ name: "North", places: 3, room_c: 22, now_c: 31.24, described: true }] });
    if (path === "/api/session-files/read") return Response.json({ ...order, bench: [], sample: [] });
    if (path.startsWith("/api/session-plans/")) {
      const given = body as unknown as { draft: SessionDraft; order: typeof order };
      if (given.order.length_min < 0) return refuse(422, "length_min is below 0");
      const wrong = (load: DraftLoad) => load.actual != null && (load.actual.end_min ?? Infinity) < load.actual.load_start_min;
      if (given.draft.benches.some((one) => one.loads.some(wrong))) return refuse(422, "a load ended before it was set in");
      if (path.endsWith("retime")) return Response.json(shownOf(given.draft, this.makespan_min, this.fits));
      if (path.endsWith("savings")) return Response.json({ savings: [{ what: "one more bench", makespan_min: 40, saves_min: 10 }] });
      if (path.endsWith("relaxations")) return Response.json({ relaxations: this.relaxations });
      const stood = given.draft.benches.flatMap((one) => one.loads);
      const benches = this.plans.benches.map((one) => ({ ...one, loads: one.loads.map((load) => stood.find((old) => old.turn === load.turn) ?? load) }));
      const found = this.in_time ? { in_time: this.in_time, in_time_finished: 1 } : {};
      return Response.json({ ...shownOf({ benches }, this.makespan_min, this.fits), ...found });
    }
    if (init?.method === "PUT") {
      if ((this.kept?.revision ?? 0) !== body["revision"]) return refuse(409, "stale");
      this.kept = { revision: (this.kept?.revision ?? 0) + 1, by: "M. Fink", session: body["session"] as Body };
      return Response.json(this.kept);
    }
    return this.kept ? Response.json(this.kept) : refuse(404, "none");
  };
  /** The draft that is kept. */
  get keptLoads(): DraftLoad[] {
    return (this.kept?.session["draft"] as SessionDraft | undefined)?.benches.flatMap((one) => one.loads) ?? [];
  }
}

export function sitsAs(role: "analyst" | "viewer"): void {
  people.rows = [{ id: "p", record: "r", name: "M. Fink", role }];
  people.meId = "p";
}

/** A room over a program of its own, at a fixed time of the clock. */
export async function opened(): Promise<{ program: Program; room: SessionRoom }> {
  vi.useFakeTimers();
  vi.setSystemTime(new Date("2026-11-25T17:00:00Z"));
  sitsAs("analyst");
  const program = new Program();
  vi.stubGlobal("fetch", program.fetch);
  const room = new SessionRoom("Evening");
  await room.start();
  return { program, room };
}
export function shut(room: SessionRoom): void {
  room.close();
  vi.useRealTimers();
  vi.unstubAllGlobals();
}

export const sample = { id: "U-1", first_c: 113, last_c: 114, replicates: null, leaveBelow_c: null, origin: "" };
