import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Caller } from "./call.svelte";
import { plotMarks } from "./marks";
import { Series } from "./series.svelte";
import { BenchRoom } from "./state.svelte";
import { aRun, aView, point, practice } from "./views.testdata";

/** The program's side: answers by path, and what was sent. */
class Program {
  sent: { path: string; body: unknown }[] = [];
  benches = [{ ...practice }];
  answers: Record<string, () => Response | Promise<Response>> = {};
  fetch = vi.fn(async (input: string, init?: RequestInit) => {
    const path = input.replace("/api/live/Practice%20bench/", "");
    if (path.startsWith("picture")) return new Promise<Response>(() => {});
    if (init?.method === "POST") this.sent.push({ path, body: JSON.parse(String(init.body)) });
    if (path === "/api/live") return Response.json({ benches: this.benches });
    return this.answers[path]?.() ?? new Response(null, { status: 204 });
  });
  of(path: string) {
    return this.sent.filter((one) => one.path === path).map((one) => one.body);
  }
}

class Source {
  static all: Source[] = [];
  static CLOSED = 2;
  readyState = 1;
  onerror: (() => void) | null = null;
  closed = false;
  #hear: ((event: { data: string }) => void) | undefined;
  constructor(readonly url: string) {
    Source.all.push(this);
  }
  addEventListener(_: string, hear: (event: { data: string }) => void): void {
    this.#hear = hear;
  }
  close(): void {
    this.closed = true;
  }
  say(view: object): void {
    this.#hear?.({ data: JSON.stringify(view) });
  }
  static get latest(): Source {
    const found = Source.all.at(-1);
    if (!found) throw new Error("nothing was connected");
    return found;
  }
}

const kept = () => {
  const values = new Map<string, string>();
  return { getItem: (key: string) => values.get(key) ?? null, setItem: (key: string, value: string) => void values.set(key, value) };
};

let program: Program;
let now_ms: number;
let room: BenchRoom;

beforeEach(async () => {
  program = new Program();
  Source.all = [];
  now_ms = 1_000_000;
  vi.stubGlobal("fetch", program.fetch);
  vi.stubGlobal("EventSource", Source);
  room = new BenchRoom("Practice bench", kept(), () => now_ms);
  await room.refresh();
});
afterEach(() => {
  room.close();
  vi.unstubAllGlobals();
  vi.useRealTimers();
});
const settled = () => new Promise((done) => setTimeout(done));

describe("the points of a run", () => {
  it("are taken on, repeated and replaced without a gap or a double", () => {
    const series = new Series();
    expect(series.take(0, [point(0), point(1)])).toBe(true);
    expect(series.take(2, [point(2)])).toBe(true);
    expect(series.take(1, [point(1), point(2), point(3)])).toBe(true);
    expect(series.points.map((one) => one.time_s)).toEqual([0, 1, 2, 3]);
  });

  it("are refused when some between are missing", () => {
    const series = new Series();
    series.take(0, [point(0)]);
    expect(series.take(2, [point(2)])).toBe(false);
    expect(series.points).toHaveLength(1);
  });
});

describe("the stages of a bench", () => {
  it("follow the bench and its run", () => {
    expect(room.stage).toBe("before");
    room.hear(aView({ run: aRun(), run_id: "a" }));
    expect(room.stage).toBe("during");
    room.hear(aView({ run: aRun({ phase: "failing" }), run_id: "a" }));
    expect(room.stage).toBe("during");
    room.hear(aView({ run: aRun({ phase: "broken" }), run_id: "a" }));
    expect(room.stage).toBe("after");
    room.putAway(false);
    expect(room.stage).toBe("before");
    room.hear(aView({ run: aRun(), run_id: "b" }));
    expect(room.stage).toBe("during");
  });

  it("know a bench that is not at work, and one that is not there", async () => {
    program.benches = [{ ...practice, open: false }];
    await room.refresh();
    expect(room.stage).toBe("shut");
    program.benches = [];
    await room.refresh();
    expect(room.stage).toBe("unknown");
  });

  it("do not show the last run again while a new one begins", async () => {
    room.hear(aView({ run: aRun({ phase: "ended" }), run_id: "a" }));
    room.putAway(false);
    room.plan.kind = "scouting";
    room.plan.upTo_c = 200;
    program.answers["runs"] = () => Response.json({ run: "b", recording: "c" }, { status: 201 });
    const begun = room.begin();
    // The program names the new run before its first view.
    room.hear(aView({ run: aRun({ phase: "ended" }), run_id: "b" }));
    expect(room.stage).toBe("before");
    await begun;
    expect(room.stage).toBe("before");
    room.hear(aView({ run: aRun(), run_id: "b" }));
    expect(room.stage).toBe("during");
    room.hear(aView({ run: aRun({ phase: "ended" }), run_id: "b" }));
    expect(room.stage).toBe("after");
  });

  it("lead from the scouting run to the measuring run around what it found", () => {
    room.plan.kind = "scouting";
    room.hear(aView({ run: aRun({ phase: "ended", estimate_c: [113.26, 116.91] }), run_id: "a" }));
    room.putAway(true);
    expect(room.stage).toBe("before");
    expect(room.plan.order).toMatchObject({ kind: "measuring", first_liquid_c: 113.3, last_crystal_c: 116.9, rate_c_per_min: 1 });
    expect(room.plan.origin).not.toBe("");
  });
});

describe("the connection", () => {
  it("begins anew where points are missing, and catches up with all of them", () => {
    const first = Source.latest;
    first.say(aView({ run: aRun(), run_id: "a", new_points: [point(0), point(1)] }));
    first.say(aView({ run: aRun(), run_id: "a", first_point: 5, new_points: [point(5)] }));
    expect(first.closed).toBe(true);
    const second = Source.latest;
    expect(second).not.toBe(first);
    second.say(aView({ run: aRun(), run_id: "a", new_points: [0, 1, 2, 3, 4, 5].map((t) => point(t)) }));
    expect(room.series.points.map((one) => one.time_s)).toEqual([0, 1, 2, 3, 4, 5]);
  });

  it("forgets the curve of the last run when a new one begins", () => {
    Source.latest.say(aView({ run: aRun({ phase: "ended" }), run_id: "a", new_points: [point(0), point(1), point(2)] }));
    Source.latest.say(aView({ run: aRun(), run_id: "b", new_points: [point(0, 80)] }));
    expect(room.series.points).toEqual([point(0, 80)]);
  });

  it("is lost when the program falls silent, says for how long, and is well again with the next event", () => {
    Source.latest.say(aView());
    expect(room.connected).toBe(true);
    const before = Source.all.length;
    now_ms += 3000;
    room.watch();
    expect(room.connected).toBe(true);
    now_ms += 6000;
    room.watch();
    expect(room.connected).toBe(false);
    expect(room.silent_s).toBe(9);
    expect(Source.all.length).toBe(before + 1);
    Source.latest.say(aView());
    expect(room.connected).toBe(true);
    expect(room.silent_s).toBe(0);
  });

  it("tries again after it was refused", () => {
    vi.useFakeTimers();
    const before = Source.all.length;
    Source.latest.readyState = Source.CLOSED;
    Source.latest.onerror?.();
    expect(room.connected).toBe(false);
    vi.advanceTimersByTime(2100);
    expect(Source.all.length).toBe(before + 1);
  });

  it("tells the program every few seconds that somebody looks", async () => {
    vi.useFakeTimers();
    room.start();
    await vi.advanceTimersByTimeAsync(9500);
    expect(program.of("seen").length).toBeGreaterThanOrEqual(3);
  });
});

describe("a run", () => {
  const curve = [{ time_min: 0, temperature_c: 25, leg: 0 }];

  it("is begun as planned, and its planned curve outlives the page", async () => {
    const store = kept();
    const here = new BenchRoom("Practice bench", store, () => now_ms);
    await here.refresh();
    program.answers["runs"] = () => Response.json({ run: "r-1", recording: "c-1" }, { status: 201 });
    here.plan.first_c = 121.5;
    here.plan.last_c = 122.5;
    here.plan.plan = { programme: aRun().programme, curve, minutes_to_scan_end: 17, cautions: [] };
    expect(await here.begin()).toBe(true);
    expect(program.of("runs")).toEqual([
      {
        plan: {
          kind: "measuring",
          first_liquid_c: 121.5,
          last_crystal_c: 122.5,
          rate_c_per_min: 1,
          soak_min: 3,
          start_below_c: 3,
          stop_above_c: 2,
          cool_below_c: 20,
          attend: true,
        },
        tubes: [1, 2, 3].map((place) => ({ place, sample: null })),
        end_when_clear: true,
      },
    ]);
    here.close();
    const again = new BenchRoom("Practice bench", store, () => now_ms);
    again.hear(aView({ run: aRun(), run_id: "r-1" }));
    expect(again.curve).toEqual(curve);
    again.hear(aView({ run: aRun(), run_id: "r-2" }));
    expect(again.curve).toEqual([]);
  });

  it("is stopped only when asked twice, and not by a press that means nothing", async () => {
    room.hear(aView({ run: aRun(), run_id: "a" }));
    room.press("resume");
    room.press("attend");
    room.press("stop");
    expect(room.asksStop).toBe(true);
    expect(program.of("press")).toEqual([]);
    room.press("stop");
    await settled();
    expect(program.of("press")).toEqual([{ key: "stop" }]);
    expect(room.asksStop).toBe(false);
  });

  it("takes marks while something else is under way, in any order and again", async () => {
    room.hear(aView({ run: aRun(), run_id: "a" }));
    room.busy = true;
    room.mark(1, "last_crystal");
    room.mark(1, "first_liquid");
    room.mark(1, "first_liquid");
    room.mark(4, "first_liquid");
    await settled();
    expect(program.of("press")).toEqual([
      { key: "mark", place: 1, moment: "last_crystal" },
      { key: "mark", place: 1, moment: "first_liquid" },
      { key: "mark", place: 1, moment: "first_liquid" },
    ]);
  });

  it("says why a press was refused", async () => {
    room.hear(aView({ run: aRun({ phase: "suspended" }), run_id: "a" }));
    program.answers["press"] = () =>
      Response.json({ type: "/problems/not-now", title: "Not now", detail: "this has to be mended first" }, { status: 409 });
    room.press("resume");
    await settled();
    expect(room.trouble).toBe("this has to be mended first");
  });

  it("shows its calls and marks on the plot, the calls not where they are hidden", () => {
    const run = aRun({
      tubes: [{ place: 1, look: "melting", first_liquid_s: 400, first_liquid_c: 121.2, last_crystal_s: null, last_crystal_c: null, in_sight: true }],
      marks: [
        { place: 1, moment: "first_liquid", time_s: 402, temperature_c: 121.3, by: "M. Fink" },
        { place: 2, moment: "last_crystal", time_s: 500, temperature_c: null, by: "M. Fink" },
      ],
    });
    expect(plotMarks(run, false)).toEqual([
      { place: 1, end: "first", own: false, time_s: 400, temperature_c: 121.2 },
      { place: 1, end: "first", own: true, time_s: 402, temperature_c: 121.3 },
    ]);
    expect(plotMarks(run, true)).toHaveLength(1);
  });
});

describe("the plan", () => {
  it("does not take an answer to what was typed before", async () => {
    vi.useFakeTimers();
    const late = [400, 0];
    const minutes = [9, 17];
    program.answers["plan"] = async () => {
      const answer = { programme: aRun().programme, curve: [], minutes_to_scan_end: minutes.shift(), cautions: [] };
      await new Promise((done) => setTimeout(done, late.shift()));
      return Response.json(answer);
    };
    room.plan.first_c = 121;
    room.plan.last_c = 122;
    room.plan.change();
    await vi.advanceTimersByTimeAsync(260);
    room.plan.last_c = 130;
    room.plan.change();
    await vi.advanceTimersByTimeAsync(1000);
    expect(program.of("plan")).toHaveLength(2);
    expect(room.plan.plan?.minutes_to_scan_end).toBe(17);
  });

  it("is reckoned once the typing rests", async () => {
    vi.useFakeTimers();
    const minutes = [9, 17];
    program.answers["plan"] = () =>
      Response.json({ programme: aRun().programme, curve: [], minutes_to_scan_end: minutes.shift(), cautions: [] });
    room.plan.first_c = 121;
    room.plan.change();
    expect(room.plan.busy).toBe(false);
    room.plan.last_c = 122;
    room.plan.change();
    room.plan.last_c = 123;
    room.plan.change();
    await vi.advanceTimersByTimeAsync(300);
    expect(program.of("plan")).toHaveLength(1);
    expect(program.of("plan")[0]).toMatchObject({ last_crystal_c: 123 });
    expect(room.plan.plan?.minutes_to_scan_end).toBe(9);
  });

  it("is not there while it cannot be made, and says why", async () => {
    vi.useFakeTimers();
    program.answers["plan"] = () =>
      Response.json({ type: "/problems/plan", title: "t", detail: "to_c of leg 3 is 420; expected at most 300" }, { status: 422 });
    room.plan.kind = "scouting";
    room.plan.upTo_c = 420;
    room.plan.change();
    await vi.advanceTimersByTimeAsync(300);
    expect(room.plan.plan).toBeNull();
    expect(room.plan.problem).toContain("expected at most 300");
    room.plan.upTo_c = null;
    room.plan.change();
    expect(room.plan.problem).toBe("");
  });

  it("takes an expected range only where none was typed", () => {
    room.plan.expect(121.46, 122.31, "result");
    expect([room.plan.first_c, room.plan.last_c]).toEqual([121.5, 122.3]);
    room.plan.expect(80, 81, "other result");
    expect(room.plan.first_c).toBe(80);
    room.plan.measureAround([90, 92]);
    room.plan.expect(80, 81, "other result");
    expect(room.plan.first_c).toBe(90);
    room.plan.expect(70, 71, "a fourth");
    expect(room.plan.first_c).toBe(70);
    room.plan.typed();
    room.plan.expect(50, 51, "third");
    expect(room.plan.first_c).toBe(70);
  });

  it("begins where the block stands", async () => {
    vi.useFakeTimers();
    program.answers["plan"] = () => Response.json({ programme: aRun().programme, curve: [], minutes_to_scan_end: 1, cautions: [] });
    room.plan.first_c = 121;
    room.plan.last_c = 122;
    room.plan.blockAt(60);
    room.plan.change();
    await vi.advanceTimersByTimeAsync(300);
    room.plan.blockAt(59);
    await vi.advanceTimersByTimeAsync(300);
    expect(program.of("plan")).toHaveLength(1);
    room.plan.blockAt(57);
    await vi.advanceTimersByTimeAsync(300);
    expect(program.of("plan")).toHaveLength(2);
  });
});

describe("the load", () => {
  it("takes samples of the book by their label, and says which label is not in it", async () => {
    program.fetch.mockImplementation(async (input: string) =>
      input.startsWith("/api/samples/s-7")
        ? Response.json({ determinations: [{ first_liquid: { value_c: 121.6 }, last_crystal: { value_c: 122.4 } }] })
        : Response.json({ rows: [{ id: "s-7", label: "U-7", hazards: "irritant" }] }),
    );
    await room.load.type(2, " u-7 ");
    await room.load.type(3, "U-8");
    expect(room.load.order).toEqual([
      { place: 1, sample: null },
      { place: 2, sample: "s-7" },
      { place: 3, sample: null },
    ]);
    expect(room.load.unknown).toBe(3);
    expect(room.load.hazards).toEqual([{ label: "U-7", hazards: "irritant" }]);
    expect(room.load.expected).toEqual({ first_c: 121.6, last_c: 122.4, label: "U-7" });
  });
});

describe("the call to the bench", () => {
  it("stands in the title until it is answered, and a fault takes its place", () => {
    vi.useFakeTimers();
    document.title = "Practice bench";
    const caller = new Caller();
    caller.call("attend", "The block is ready", "come");
    expect(document.title).toContain("The block is ready");
    vi.advanceTimersByTime(1000);
    expect(document.title).toBe("Practice bench");
    caller.call("fault", "Something is wrong", "thermometer");
    expect(document.title).toContain("Something is wrong");
    caller.end();
    vi.advanceTimersByTime(5000);
    expect(document.title).toBe("Practice bench");
  });
});
