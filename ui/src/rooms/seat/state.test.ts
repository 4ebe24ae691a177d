import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Outbox } from "../../api/outbox.svelte";
import type { SeatPage } from "../../api/practicals";
import { myself } from "../me/state.svelte";
import { people } from "../people/state.svelte";
import { page, result, turn } from "./pages.testdata";
import { JoinRoom, SeatRoom, takenSeats } from "./state.svelte";

const me = { guarded: false, person: null, how: null, since: null, must_change: false, passphrase_chars: 15, organisation: null, has_passphrase: false, signs_until: null };
const joined = { practical: "p", title: "Evening practical", seat: 4, vial: "K7", person: "s-1", pseudonym: "amber owl" };
let asked: { path: string; headers: Headers; body: unknown }[] = [];
let answers: Record<string, () => Response | Promise<Response>> = {};
const settle = (ms = 0) => vi.advanceTimersByTimeAsync(ms);

beforeEach(async () => {
  vi.useFakeTimers();
  localStorage.clear();
  asked = [];
  answers = {
    "/api/me": () => Response.json(me),
    "/api/practicals/join": () => Response.json(joined),
    "/api/practicals/p/seat": () => Response.json(page()),
  };
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    asked.push({ path, headers: new Headers(init.headers), body: init.body ? JSON.parse(String(init.body)) : null });
    const found = answers[path];
    return found ? found() : Response.json({ detail: path }, { status: 404 });
  });
  await myself.refresh();
  people.choose("");
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

function seat(): SeatRoom {
  const box = new Outbox();
  box.actsAs(null);
  return new SeatRoom("p", box);
}
async function sit(): Promise<SeatRoom> {
  const room = new JoinRoom(" k4t-7 ");
  expect(await room.go()).toBe("p");
  return seat();
}

describe("coming in", () => {
  it("remembers the seat and acts as its person from then on", async () => {
    const room = await sit();
    expect(asked.find((one) => one.path.endsWith("/join"))?.body).toEqual({ code: "k4t-7", name: null, seat: null });
    expect(takenSeats()).toEqual([{ practical: "p", person: "s-1", title: "Evening practical", seat: 4 }]);
    expect(people.meId).toBe("s-1");
    await room.refresh();
    expect(asked.at(-1)?.headers.get("x-person")).toBe("s-1");
    expect(room.shown?.vial).toBe("K7");
    // Somebody else chosen on this device meanwhile does not take the seat over.
    people.choose("i-1");
    await room.refresh();
    expect(asked.at(-1)?.headers.get("x-person")).toBe("s-1");
  });

  it("says how long to wait after wrong codes, and asks nothing until then", async () => {
    answers["/api/practicals/join"] = () => Response.json({ detail: "too many wrong codes", wait_s: 40 }, { status: 429 });
    const room = new JoinRoom("wrong");
    expect(await room.go()).toBe("");
    expect([room.wait_s, room.problem]).toEqual([40, "Too many wrong codes from here. Wait 40 seconds, then try again."]);
    const before = asked.length;
    expect(await room.go()).toBe("");
    expect(asked).toHaveLength(before);
    await settle(41_000);
    expect([room.wait_s, room.problem]).toEqual([0, ""]);
    room.close();
  });

  it("shows why a code is not taken", async () => {
    answers["/api/practicals/join"] = () => Response.json({ detail: "no seat has this code" }, { status: 404 });
    const room = new JoinRoom("wrong");
    await room.go();
    expect([room.problem, takenSeats()]).toEqual(["no seat has this code", []]);
  });
});

describe("at a seat", () => {
  it("shows a step at once, and the program's answer when it comes", async () => {
    const room = await sit();
    let now: SeatPage = page({ turn: turn({ standing: "now" }), standing: "turn" });
    answers["/api/practicals/p/seat"] = () => Response.json(now);
    let tell: (answer: Response) => void = () => {};
    answers["/api/practicals/p/seat/steps"] = () => new Promise((done) => (tell = done));
    const stop = room.follow();
    await settle();
    expect(room.now?.kind).toBe("turn");
    room.do({ what: "set_in", load: 2 });
    expect(room.now?.kind).toBe("heating");
    await settle();
    now = page({ turn: turn({ standing: "under_way", ends_min: 50 }), standing: "heating" });
    tell(Response.json(now));
    await settle();
    expect([room.shown?.unsent, room.now?.kind, room.page?.turn?.ends_min]).toEqual([[], "heating", 50]);
    stop();
  });

  it("keeps results that were entered without a network, and asks for the next run", async () => {
    const room = await sit();
    answers["/api/practicals/p/seat"] = () => Response.json(page({ turn: turn({ run: 2, load: 4 }) }));
    answers["/api/practicals/p/seat/steps"] = () => Promise.reject(new TypeError("failed to fetch"));
    const stop = room.follow();
    await settle();
    expect(room.now).toMatchObject({ kind: "result", run: 1 });
    expect(room.saveResult()).toBe(false);
    room.draft.first = "113,1";
    room.draft.last = "114,2";
    expect(room.saveResult()).toBe(true);
    expect([room.draft.first, room.draft.run, room.ownRuns]).toEqual(["", 2, [1]]);
    expect(room.now?.kind).toBe("wait");
    await settle(3000);
    expect(room.shown?.unsent).toHaveLength(1);
    // Nothing of it goes when somebody leaves the seat too early.
    expect(await room.leave()).toBe(false);
    expect(takenSeats()).toHaveLength(1);
    stop();
  });

  it("keeps what it shows while the network is away, and says when the seat is not theirs any more", async () => {
    const room = await sit();
    await room.refresh();
    answers["/api/practicals/p/seat"] = () => Promise.reject(new TypeError("failed to fetch"));
    await room.refresh();
    expect([room.fresh, room.problem, room.shown?.seat]).toEqual([false, "", 4]);
    answers["/api/practicals/p/seat"] = () => Response.json({ detail: "you sit at no seat of this practical" }, { status: 403 });
    await room.refresh();
    expect([room.isOut, room.problem]).toEqual([true, "you sit at no seat of this practical"]);
  });

  it("counts a partner's result as the seat's, not as one's own", async () => {
    const room = await sit();
    answers["/api/practicals/p/seat"] = () =>
      Response.json(page({ partners: ["grey heron"], results: [result({ by: "grey heron" })], turn: turn({ run: 2 }) }));
    await room.refresh();
    expect([room.ownRuns, room.now?.kind]).toEqual([[], "result"]);
  });
});
