import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { percent } from "../../words/identity";
import { placeFrom, to } from "../../router.svelte";
import { IdentityState, numberOf, PurityState } from "./state.svelte";

let asked: { path: string; body: Record<string, unknown> }[];
let answers: Record<string, () => Response>;

const candidate = (name: string, cas: string, probability: number) => ({
  name,
  cas,
  formula: "",
  literature_c: [114, 114.3, 114],
  probability,
  because: "",
  own: false,
  hazards: [],
});
const found = (n: number, unlisted = 0.05) => ({
  candidates: Array.from({ length: n }, (_, i) => candidate(`s${i}`, `${i}-0-0`, 0.9 / n)),
  unlisted_probability: unlisted,
  rest_probability: 1 - unlisted - 0.9,
  credible_95: Array.from({ length: n }, (_, i) => `${i}-0-0`),
  library_size: 8429,
  next_tests: [],
  cautions: ["ranks"],
});

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  answers = { "/api/candidates": () => Response.json(found(50)), "/api/purities": () => Response.json({ said: "", by_clear_point: null, by_width: null, refused: ["too impure"] }) };
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    asked.push({ path, body: JSON.parse(String(init?.body)) as Record<string, unknown> });
    return answers[path]?.() ?? new Response(null, { status: 404 });
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

const room = (query: string) => new IdentityState(new URLSearchParams(query));

describe("what it could be", () => {
  it("takes the range that a sample's page hands over, with its convention", async () => {
    const address = to.identity({ first: 113.2, last: 114.1, u: 0.3, convention: "at_rate", sample: "U-4 & 5" });
    const { room: name, query } = placeFrom(address);
    expect(name).toBe("identity");
    const state = new IdentityState(query);
    expect(state.sample).toBe("U-4 & 5");
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual([
      {
        path: "/api/candidates",
        body: { first_liquid_c: 113.2, last_crystal_c: 114.1, standard_uncertainty_c: 0.3, convention: "at_rate", only_own: false, top: 50 },
      },
    ]);
    expect(state.found?.library_size).toBe(8429);
  });

  it("says that an uncorrected result is one, and asks as if nothing were stated", () => {
    const state = room("first=113.2&last=114.1&u=0.3&convention=as_logged");
    expect(state.uncorrected).toBe(true);
    expect(state.request?.convention).toBe("unstated");
    state.typed();
    expect(state.uncorrected).toBe(false);
  });

  it("asks nothing without both ends in order, and forgets what was found before", async () => {
    const state = room("first=113.2&last=114.1");
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(state.found).not.toBeNull();
    state.first_c = 115;
    state.typed();
    expect(state.request).toBeNull();
    expect(state.found).toBeNull();
    expect(state.missing).toContain("before");
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toHaveLength(1);
  });

  it("shows the first of them; what is not shown is added to the others, so that all is 1", async () => {
    const state = room("first=113.2&last=114.1");
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    const sum = () => state.shown.reduce((all, one) => all + one.probability, 0) + state.othersProbability + (state.found?.unlisted_probability ?? 0);
    expect(state.shown).toHaveLength(12);
    expect(state.more).toBe(38);
    expect(state.othersCount).toBe(8417);
    expect(sum()).toBeCloseTo(1, 9);
    state.all = true;
    expect(state.more).toBe(0);
    expect(state.othersCount).toBe(8379);
    expect(sum()).toBeCloseTo(1, 9);
    expect(state.many).toBe(true);
  });

  it("says in the program's words why nothing was found", async () => {
    answers["/api/candidates"] = () => Response.json({ title: "No", detail: "none of the 0 candidates has one" }, { status: 422 });
    const state = room("first=113.2&last=114.1");
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(state.problem).toBe("none of the 0 candidates has one");
    expect(state.busy).toBe(false);
  });

  it("sets up a mixed melting of the reference with the likeliest other candidate", async () => {
    const state = room("first=113.2&last=114.1&sample=U-4");
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(state.mixing({ cas: "0-0-0", with: "s0" })).toEqual({ a: "1-0-0", b: "0-0-0", first: 113.2, last: 114.1, sample: "U-4" });
    expect(state.mixing({ cas: "", with: "batch 12" })).toMatchObject({ a: "0-0-0", b: "batch 12" });
  });
});

describe("purity", () => {
  it("asks for the width alone until the pure substance's temperature is there; another range keeps what was typed", async () => {
    const range = room("first=113.2&last=114.1&u=0.3").request;
    if (!range) throw new Error("a range was given");
    const state = new PurityState(candidate("acetanilide", "103-84-4", 0.9), range);
    expect(state.values).toEqual([114, 114.3]);
    state.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked[0]?.body).toMatchObject({ substance: { name: "103-84-4" }, pure_c: null, standard_uncertainty_c: 0.3 });
    expect(state.told?.refused).toEqual(["too impure"]);
    expect(state.ways).toEqual([]);
    state.pure_c = 114.3;
    state.follow({ ...range, last_crystal_c: 113.9 });
    await vi.advanceTimersByTimeAsync(500);
    expect(asked[1]?.body).toMatchObject({ pure_c: 114.3, last_crystal_c: 113.9 });
  });
});

describe("words", () => {
  it("never says that something small is nothing, nor that something large is sure", () => {
    expect(percent(0.0004)).toBe("below 0.1 %");
    expect(percent(0.0074)).toBe("0.7 %");
    expect(percent(0.4249)).toBe("42 %");
    expect(percent(0.9996)).toBe("above 99.9 %");
    expect(percent(0)).toBe("0 %");
  });

  it("takes only numbers from an address", () => {
    expect(numberOf("113.2")).toBe(113.2);
    expect(numberOf("-3")).toBe(-3);
    expect(numberOf("")).toBeNull();
    expect(numberOf("1e999")).toBeNull();
    expect(numberOf("hot")).toBeNull();
    expect(numberOf(null)).toBeNull();
  });
});
