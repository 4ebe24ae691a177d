import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Outbox } from "../../api/outbox.svelte";
import type { Board } from "../../api/practicals";
import { people } from "../people/state.svelte";
import { board, seat } from "./boards.testdata";
import { byNeed, calledBy } from "./need";
import { BoardRoom, pictureOf } from "./state.svelte";

let asked: { path: string; body: { step: unknown } | null }[] = [];
let shown: () => Response | Promise<Response>;
let stepped: () => Response | Promise<Response>;
const settle = (ms = 0) => vi.advanceTimersByTimeAsync(ms);

beforeEach(() => {
  vi.useFakeTimers();
  vi.setSystemTime(new Date("2027-01-31T18:12:00Z"));
  localStorage.clear();
  asked = [];
  shown = () => Response.json(board());
  stepped = () => Response.json(board({ seq: 11 }));
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    asked.push({ path, body: init.body ? (JSON.parse(String(init.body)) as { step: unknown }) : null });
    return path.endsWith("/board") ? shown() : stepped();
  });
  people.choose("i-1");
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

function room(): BoardRoom {
  const box = new Outbox();
  box.actsAs(null);
  return new BoardRoom("p", box);
}

describe("who comes first on the board", () => {
  it("is who asks for help, longest first, then who is stuck, called, heating, waits, done, and nobody last", () => {
    const help = (asked: string) => ({ id: asked, text: "", asked });
    const seats = [
      seat(1, { standing: "empty" }),
      seat(2, { standing: "done" }),
      seat(3, { standing: "waits", since_min: 2 }),
      seat(4, { standing: "waits", since_min: 20 }),
      seat(5, { standing: "heating" }),
      seat(6, { standing: "turn" }),
      seat(7, { standing: "stuck" }),
      seat(8, { standing: "heating", help: help("2027-01-31T18:11:00Z") }),
      seat(9, { standing: "done", help: help("2027-01-31T18:05:00Z") }),
    ];
    expect(byNeed(seats).map((one) => one.seat)).toEqual([9, 8, 7, 6, 5, 4, 3, 2, 1]);
    expect(seats[0]?.seat).toBe(1);
  });
  it("is called by name only where that is kept", () => {
    expect([calledBy({ name: "A. Wren", pseudonym: "amber owl" }), calledBy({ name: null, pseudonym: "amber owl" })]).toEqual(["A. Wren", "amber owl"]);
  });
});

describe("the board", () => {
  it("follows the clock between two answers, and asks again in time", async () => {
    const one = room();
    const stop = one.follow();
    await settle();
    expect(asked).toHaveLength(1);
    await settle(14_000);
    expect(asked).toHaveLength(1);
    expect(one.now_min).toBeCloseTo(12 + 10 / 60, 5);
    await settle(10_000);
    expect(asked.length).toBeGreaterThan(1);
    stop();
    const after = asked.length;
    await settle(60_000);
    expect(asked).toHaveLength(after);
  });

  it("never shows an earlier board after a later one", () => {
    const one = room();
    one.take(board({ seq: 12, title: "later" }));
    one.take(board({ seq: 11, title: "earlier" }));
    expect(one.board?.title).toBe("later");
    one.take(board({ seq: 12, title: "the same, a little later" }));
    expect(one.board?.title).toBe("the same, a little later");
  });

  it("stays while the network is away, and says so", async () => {
    const one = room();
    await one.refresh();
    shown = () => Promise.reject(new TypeError("failed to fetch"));
    await one.refresh();
    expect([one.fresh, one.problem, one.board?.seq]).toEqual([false, "", 10]);
    shown = () => Response.json({ detail: "supervisors and analysts only" }, { status: 403 });
    await one.refresh();
    expect(one.problem).toBe("supervisors and analysts only");
  });

  it("knows what is on its way, and shows the answer", async () => {
    let tell: (answer: Response) => void = () => {};
    stepped = () => new Promise((done) => (tell = done));
    const one = room();
    const stop = one.follow();
    await settle();
    one.do({ what: "set_in", bench: "A", load: 0 });
    expect([one.isSent("set_in", { bench: "A", load: 0 }), one.isSent("set_in", { bench: "B" }), one.isSent("ended")]).toEqual([true, false, false]);
    await settle();
    tell(Response.json(board({ seq: 14 }) satisfies Board));
    await settle();
    expect([one.isSent("set_in"), one.board?.seq]).toEqual([false, 14]);
    expect(asked.at(-1)?.body?.step).toEqual({ what: "set_in", bench: "A", load: 0 });
    stop();
  });

  it("hides what is in the vials until somebody wants to see it, and remembers that", () => {
    const one = room();
    expect(one.showVials).toBe(false);
    one.turnVials();
    expect(room().showVials).toBe(true);
    one.take(board());
    expect([one.nameOf(1), one.nameOf(9)]).toEqual(["vanillin", ""]);
  });
});

it("puts drawings in as pictures, in which nothing runs", () => {
  const address = pictureOf('<svg xmlns="http://www.w3.org/2000/svg"><path d="M0 0h1v1z" fill="#000"/></svg>');
  expect(address.startsWith("data:image/svg+xml;charset=utf-8,%3Csvg")).toBe(true);
  expect(address).not.toContain("#");
});
