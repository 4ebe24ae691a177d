import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { SampleDetail } from "../../api/types";
import { Signing } from "./signing.svelte";

const detail = (result: string | null, verdict: string | null): SampleDetail =>
  ({
    record: "sample-record",
    determinations: result ? [{ record: result, range_text: "113.1–114.6 °C" }, { record: "older" }] : [],
    verdicts: verdict ? [{ record: verdict, verdict: { words: "U-1 fits acetanilide." } }] : [],
  }) as unknown as SampleDetail;

let bodies: Record<string, unknown>[];
let answer: () => Response;
beforeEach(() => {
  bodies = [];
  answer = () => Response.json({}, { status: 201 });
  vi.stubGlobal("fetch", async (_: string, init: RequestInit) => {
    bodies.push(JSON.parse(String(init.body)) as Record<string, unknown>);
    return answer();
  });
});
afterEach(() => vi.unstubAllGlobals());

describe("signing off", () => {
  it("sends the records that were looked at, not what came meanwhile", async () => {
    const room = new Signing("s1");
    room.look(detail("result-1", null));
    const later = detail("result-1", "verdict-1");
    expect(room.outrun(detail("result-1", null))).toBe(false);
    expect(room.outrun(later)).toBe(true);
    room.meaning = "reviewed_and_approved";
    room.statement = "  ";
    await room.sign(async () => {});
    expect(bodies).toEqual([
      { sample_record: "sample-record", result_record: "result-1", verdict_record: null, meaning: "reviewed_and_approved", statement: null },
    ]);
    expect([room.seen, room.meaning]).toEqual([null, "reviewed"]);
  });

  it("signs the newest result and repeats what it says", async () => {
    const room = new Signing("s1");
    room.look(detail("result-2", "verdict-1"));
    expect(room.seen).toMatchObject({ range_text: "113.1–114.6 °C", verdict_words: "U-1 fits acetanilide." });
    room.statement = " checked against the film ";
    await room.sign(async () => {});
    expect(bodies[0]).toMatchObject({ result_record: "result-2", verdict_record: "verdict-1", statement: "checked against the film" });
  });

  it("keeps the form and fetches the page anew when it was overtaken", async () => {
    const room = new Signing("s1");
    const refresh = vi.fn(async () => {});
    room.look(detail("result-1", null));
    room.statement = "mine";
    answer = () => Response.json({ detail: "the result was stated anew" }, { status: 409 });
    expect(await room.sign(refresh)).toBe(false);
    expect(refresh).toHaveBeenCalledOnce();
    expect([room.problem, room.statement, room.seen?.result_record]).toEqual(["the result was stated anew", "mine", "result-1"]);
    answer = () => Response.json({ detail: "decide first" }, { status: 403 });
    await room.sign(refresh);
    expect(refresh).toHaveBeenCalledOnce();
  });

  it("sends a passphrase with the signature alone, and keeps it no longer than that", async () => {
    const room = new Signing("s1");
    room.look(detail("result-1", null));
    answer = () => Response.json({ type: "/problems/prove", detail: "a signature needs your passphrase" }, { status: 403 });
    await room.sign(async () => {});
    expect(bodies[0]).not.toHaveProperty("passphrase");
    expect([room.asked, room.problem]).toEqual([true, "a signature needs your passphrase"]);
    room.passphrase = "three owls on a warm block";
    answer = () => Response.json({ type: "/problems/refused-signature", detail: "this is not your passphrase" }, { status: 403 });
    await room.sign(async () => {});
    expect(bodies[1]).toMatchObject({ passphrase: "three owls on a warm block" });
    expect([room.passphrase, room.seen?.result_record]).toEqual(["", "result-1"]);
    room.passphrase = "three owls on a warm block";
    room.close();
    expect([room.passphrase, room.asked]).toEqual(["", false]);
  });

  it("opens on nothing without a result", async () => {
    const room = new Signing("s1");
    room.look(detail(null, null));
    expect(room.seen).toBeNull();
    expect(await room.sign(async () => {})).toBe(false);
    expect(bodies).toEqual([]);
  });
});
