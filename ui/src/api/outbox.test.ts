import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Outbox } from "./outbox.svelte";

interface Asked {
  path: string;
  person: string | null;
  body: { id: string; at?: string | null; step: { what: string } };
}
let asked: Asked[] = [];
let answer: (asked: Asked) => Response | Promise<Response>;
const PATH = "practicals/p/seat/steps";
const whats = () => asked.map((one) => one.body.step.what);
const settle = (ms = 0) => vi.advanceTimersByTimeAsync(ms);

beforeEach(() => {
  vi.useFakeTimers();
  vi.setSystemTime(new Date("2027-01-31T18:00:00Z"));
  localStorage.clear();
  asked = [];
  answer = () => Response.json({ ok: true });
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    const one = { path, person: new Headers(init.headers).get("x-person"), body: JSON.parse(String(init.body)) as Asked["body"] };
    asked.push(one);
    return answer(one);
  });
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.restoreAllMocks();
  vi.useRealTimers();
});

/** A box of a page on an open book, or of somebody who is logged in. */
function box(loggedIn: string | null = null): Outbox {
  const made = new Outbox();
  made.actsAs(loggedIn);
  return made;
}
const away = () => Promise.reject(new TypeError("failed to fetch"));

describe("steps on their way", () => {
  it("go out in order, in the name of who did them, and leave when they are answered", async () => {
    const out = box();
    const heard: unknown[] = [];
    out.hear(PATH, (told) => heard.push(told));
    out.put(PATH, "s-1", { what: "set_in" }, true);
    out.put(PATH, "s-1", { what: "ended" }, true);
    out.put("practicals/p/steps", "i-1", { what: "begin" });
    expect(out.waiting).toHaveLength(3);
    await settle();
    expect(whats()).toEqual(["set_in", "ended", "begin"]);
    expect(asked.map((one) => one.person)).toEqual(["s-1", "s-1", "i-1"]);
    expect(asked[0]?.path).toBe("/api/practicals/p/seat/steps");
    expect([out.waiting.length, Object.keys(localStorage), heard.length]).toEqual([0, [], 2]);
    // Only steps of students are told with their time, and only where they come late.
    expect([asked[0]?.body.at, "at" in (asked[2]?.body ?? {})]).toEqual([null, false]);
  });

  it("wait while there is no network, and go out with their time as soon as there is", async () => {
    answer = away;
    const out = box();
    const stop = out.start();
    const done = new Date().toISOString();
    out.put(PATH, "s-1", { what: "result" }, true);
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle(60_000);
    // 0.3, 0.6, 1.2, 2.4 and then 5 s between tries, and never the second before the first.
    expect(asked.length).toBeGreaterThan(10);
    expect(asked.length).toBeLessThan(18);
    expect(new Set(whats())).toEqual(new Set(["result"]));
    expect([out.waiting.length, out.trouble !== ""]).toEqual([2, true]);
    const tries = asked.length;
    answer = () => Response.json({});
    window.dispatchEvent(new Event("online"));
    await settle();
    expect(whats().slice(tries)).toEqual(["result", "note"]);
    expect(asked.at(-1)?.body.at).toBe(done);
    expect(asked[tries]?.body.id).toBe(asked[0]?.body.id);
    expect([out.waiting.length, out.trouble]).toEqual([0, ""]);
    stop();
  });

  it("outlive the page that they were made on", async () => {
    answer = away;
    const before = box();
    before.put(PATH, "s-1", { what: "result" }, true);
    before.put(PATH, "s-1", { what: "identify" }, true);
    await settle();
    const ids = before.waiting.map((kept) => kept.id);
    // The page is gone with its tries; another one begins.
    answer = () => Response.json({});
    asked = [];
    const after = new Outbox();
    const stop = after.start();
    await settle();
    // Nothing goes out before it is known who is here.
    expect(asked).toEqual([]);
    after.actsAs(null);
    await settle();
    expect(asked.map((one) => one.body.id)).toEqual(ids);
    stop();
  });

  it("are shown with the program's words where they are refused, and do not stop those behind them", async () => {
    answer = ({ body }) =>
      body.step.what === "set_in" ? Response.json({ detail: "another load is in that bench" }, { status: 409 }) : Response.json({});
    const out = box();
    const id = out.put(PATH, "s-1", { what: "set_in" }, true);
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle(20_000);
    expect(whats()).toEqual(["set_in", "note"]);
    expect(out.refused.map((kept) => [kept.id, kept.refused])).toEqual([[id, "another load is in that bench"]]);
    // The next page shows it, too.
    const next = box();
    expect(next.refused).toHaveLength(1);
    answer = () => Response.json({});
    next.tryAgain(id);
    await settle();
    expect([whats().at(-1), next.refused.length, Object.keys(localStorage)]).toEqual(["set_in", 0, []]);
  });

  it("can be dismissed, and do not come back when they are refused after that", async () => {
    answer = () => Response.json({ detail: "no" }, { status: 422 });
    const out = box();
    out.dismiss(out.put(PATH, "s-1", { what: "note" }, true));
    await settle(10_000);
    const id = out.put(PATH, "s-1", { what: "note" }, true);
    await settle();
    out.dismiss(id);
    expect([out.refused, out.waiting, Object.keys(localStorage)]).toEqual([[], [], []]);
  });

  it.each([401, 429, 500, 503])("are tried again after %i", async (status) => {
    let tries = 0;
    answer = () => (++tries < 3 ? Response.json({ detail: "not now" }, { status }) : Response.json({}));
    const out = box();
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle(10_000);
    expect([tries, out.waiting.length, out.refused.length]).toEqual([3, 0, 0]);
  });

  it("wait as long as they are told to", async () => {
    answer = () => Response.json({ detail: "too many", wait_s: 20 }, { status: 429 });
    const out = box();
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle(19_000);
    expect(asked).toHaveLength(1);
    await settle(2000);
    expect(asked).toHaveLength(2);
  });

  it("do not hold up others for ever where the program fails with one", async () => {
    answer = ({ body }) => (body.step.what === "set_in" ? Response.json({ detail: "the program failed" }, { status: 500 }) : Response.json({}));
    const out = box();
    out.put(PATH, "s-1", { what: "set_in" }, true);
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle(60_000);
    expect([whats().at(-1), out.waiting.length, out.refused[0]?.refused]).toEqual(["note", 0, "the program failed"]);
  });

  it("of somebody who is not logged in any more wait for them, and nobody else's are held up", async () => {
    answer = away;
    const out = box("s-1");
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle();
    answer = () => Response.json({});
    asked = [];
    out.actsAs("s-2");
    out.put(PATH, "s-2", { what: "ended" }, true);
    await settle(10_000);
    expect(whats()).toEqual(["ended"]);
    // Who acts is the session's to say there.
    expect(asked[0]?.person).toBeNull();
    expect(out.held).toHaveLength(1);
    out.actsAs("s-1");
    await settle();
    expect([whats().at(-1), out.held.length, out.waiting.length]).toEqual(["note", 0, 0]);
  });

  it("of two pages of one device carry the same id from both, and are in no box when both are done", async () => {
    answer = away;
    const one = box();
    one.put(PATH, "s-1", { what: "note" }, true);
    const other = box();
    const stop = other.start();
    await settle();
    answer = () => Response.json({});
    one.kick();
    other.kick();
    await settle(10_000);
    expect(new Set(asked.map((sent) => sent.body.id)).size).toBe(1);
    expect([one.waiting.length, other.waiting.length, Object.keys(localStorage)]).toEqual([0, 0, []]);
    stop();
  });

  it("keep their order when the clock of the device goes back", async () => {
    answer = away;
    const out = box();
    out.put(PATH, "s-1", { what: "first" }, true);
    vi.setSystemTime(new Date("2027-01-31T17:00:00Z"));
    out.put(PATH, "s-1", { what: "second" }, true);
    expect(out.waiting.map((kept) => kept.step.what)).toEqual(["first", "second"]);
  });

  it("go out where the browser keeps nothing, and it is known that they are at risk", async () => {
    answer = away;
    vi.spyOn(Storage.prototype, "setItem").mockImplementation(() => {
      throw new DOMException("no room", "QuotaExceededError");
    });
    const out = box();
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle();
    expect([out.waiting.length, out.atRisk]).toEqual([1, 1]);
    answer = () => Response.json({});
    out.kick();
    await settle();
    expect([out.waiting.length, out.atRisk]).toEqual([0, 0]);
  });

  it("leave what it does not understand where it is", async () => {
    localStorage.setItem("meltrange.step.1.x", "{");
    localStorage.setItem("meltrange.step.2.x", "null");
    const out = box();
    expect(out.waiting).toEqual([]);
    out.put(PATH, "s-1", { what: "note" }, true);
    await settle();
    expect(whats()).toEqual(["note"]);
  });
});
