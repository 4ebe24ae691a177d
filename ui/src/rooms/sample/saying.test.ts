import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { RecordingRow } from "../../api/types";
import { Saying } from "./saying.svelte";

type Body = Record<string, unknown>;
let asked: { path: string; body: Body }[];
let answer: (path: string, body: Body) => Response;

const row = (id: string, samples: (string | null)[]): RecordingRow =>
  ({ id, load: samples.map((sample, i) => ({ place: i + 1, sample, label: sample })) }) as unknown as RecordingRow;

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  answer = () => Response.json({ words: "proposed" });
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    const body = init?.body ? (JSON.parse(String(init.body)) as Body) : {};
    asked.push({ path, body });
    return answer(path, body);
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe("saying what a sample is", () => {
  it("asks for a proposal once a substance is named, whatever the own words", async () => {
    const room = new Saying("s1");
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual([]);
    room.substance = " benzil ";
    room.words = "Benzil, I say.";
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked[0]?.path).toBe("/api/samples/s1/verdicts/try");
    expect(asked[0]?.body).toMatchObject({ says: "consistent_with", substance: "benzil" });
    expect(asked[0]?.body).not.toHaveProperty("words");
    expect(room.tried?.words).toBe("proposed");
    room.says = "open";
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked[1]?.body).not.toHaveProperty("substance");
  });

  it("lets words that were taken follow the proposal, and leaves own words alone", async () => {
    const room = new Saying("s1");
    room.substance = "benzil";
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    room.take();
    answer = () => Response.json({ words: "proposed anew" });
    room.says = "is_not";
    room.change();
    expect(room.tried).toBeNull();
    await vi.advanceTimersByTimeAsync(500);
    expect(room.words).toBe("proposed anew");
    room.words = "My own.";
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(room.words).toBe("My own.");
  });

  it("offers recordings with three tubes, the sample in its own place, each place once", () => {
    const room = new Saying("s1");
    room.follow([row("r1", ["s2", "s1", null]), row("r2", ["s1"])]);
    const [mixed] = room.mixed;
    expect(room.mixed).toHaveLength(1);
    expect(mixed?.roles.places).toEqual({ sample: 2, reference: 1, mixture: 3 });
    mixed?.roles.set("mixture", 1);
    expect(mixed?.roles.places).toEqual({ sample: 2, reference: 3, mixture: 1 });
    if (mixed) mixed.used = true;
    room.substance = "benzil";
    // What the reference was is not taken from what is claimed.
    expect(room.request).toBeNull();
    expect(room.missing).toContain("reference");
    if (mixed) mixed.reference = " benzil ";
    expect(room.request?.mixed_meltings).toEqual([
      { recording: "r1", reference: "benzil", tubes: { sample_place: 2, reference_place: 3, mixture_place: 1 } },
    ]);
    // What was chosen stays when the list comes anew.
    room.follow([row("r3", ["s1", null, null]), row("r4", ["s1", "s1", null]), row("r1", ["s2", "s1", null])]);
    expect(room.mixed.map((one) => one.used)).toEqual([false, true]);
  });

  it("records in place of another, and keeps what was typed when it is refused", async () => {
    const room = new Saying("s1");
    room.substance = "benzil";
    room.words = "Benzil.";
    room.reason = "a spectrum came";
    // Nothing is recorded that was not shown.
    expect(await room.state("rec1")).toBe(false);
    expect(asked).toEqual([]);
    answer = () => Response.json({ words: "proposed", result_record: "res1" });
    room.change();
    await vi.advanceTimersByTimeAsync(500);
    answer = () => Response.json({ detail: "something else was recorded" }, { status: 409 });
    expect(await room.state("rec1")).toBe(false);
    expect(room.problem).toContain("something else");
    expect(room.words).toBe("Benzil.");
    answer = () => Response.json({}, { status: 201 });
    expect(await room.state("rec1")).toBe(true);
    expect(asked.at(-1)?.body).toMatchObject({ words: "Benzil.", supersedes: "rec1", reason: "a spectrum came", result_record: "res1" });
    room.clear();
    expect([room.words, room.reason, room.tried]).toEqual(["", "", null]);
  });
});
