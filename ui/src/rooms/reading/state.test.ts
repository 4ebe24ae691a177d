import { beforeEach, describe, expect, it, vi } from "vitest";
import * as api from "../../api/client";
import type { Moments, Reading, RecordingDetail } from "../../api/types";
import { ReadingState } from "./state.svelte";

vi.mock("../../api/client");

const STUDENT = "student";
const times = Array.from({ length: 301 }, (_, i) => i);

const moments: Moments = {
  outcome: "melted",
  first_liquid: { time_s: 100.4, temperature_c: 113.4, standard_uncertainty_c: 0.04 },
  last_crystal: { time_s: 200.2, temperature_c: 114.7, standard_uncertainty_c: 0.02 },
};

/** The engine's reading of two tubes, as the server gives it to one who may or may not see it. */
function engine(hidden: boolean): Reading {
  return {
    id: "engine",
    record: "r1",
    recording: "rec",
    who: "supervisor",
    when: "2026-11-25T18:00:00+01:00",
    reader: { by: "engine", program: "meltrange" },
    hidden,
    tubes: [1, 2].map((place) => ({
      place,
      sample: null,
      frame_px: [10, 10, 20, 40],
      read: hidden ? null : moments,
      decision: null,
      holds: hidden ? null : moments,
      heating_rate_c_per_min: null,
      remarks: [],
    })),
    quality: [],
    notes: [],
    curves: [],
  };
}

function detail(readings: Reading[], blind: boolean): RecordingDetail {
  const load = [1, 2].map((place) => ({ place, sample: null, label: null }));
  const begun = "2026-11-25T18:00:00+01:00";
  return {
    row: {
      id: "rec",
      record: "r0",
      run: "run",
      begun,
      state: "read",
      source: { from: "camera" },
      cut: false,
      start_s: 0,
      end_s: 300,
      lowest_c: 110,
      highest_c: 116,
      load,
      readings: readings.length,
    },
    run: { id: "run", begun, bench: null, state: "ended", load, remarks: null },
    readings,
    pictures: "ready",
    blind,
    work: null,
  };
}

async function opened(hidden: boolean): Promise<ReadingState> {
  vi.mocked(api.recording).mockResolvedValue(detail([engine(hidden)], hidden));
  vi.mocked(api.reading).mockResolvedValue(engine(hidden));
  vi.mocked(api.frameTimes).mockResolvedValue({
    count: times.length,
    time_s: times,
    temperature_c: times.map((t) => 111 + t / 60),
    source_width_px: 640,
    source_height_px: 480,
  });
  const room = new ReadingState("rec", () => STUDENT);
  await room.refresh();
  return room;
}

function markAt(room: ReadingState, place: number, end: "first" | "last", frame: number): void {
  room.player.cursor.toIndex(frame);
  room.mark(place, end, true);
}

describe("a blind reading", () => {
  beforeEach(() => vi.resetAllMocks());

  it("has no moments of the engine to jump to and none to confirm", async () => {
    const room = await opened(true);
    expect(room.hides).toBe(true);
    expect(room.readsAlone).toBe(true);
    expect(room.stops).toEqual([]);
    await room.decide(1);
    expect(api.decide).not.toHaveBeenCalled();
  });

  it("is sent only when every tube is marked, and goes out as one reading", async () => {
    const room = await opened(true);
    markAt(room, 1, "first", 101);
    markAt(room, 1, "last", 199);
    expect(room.unmarked).toBe(1);
    await room.send();
    expect(api.addReading).not.toHaveBeenCalled();
    expect(room.trouble).not.toBe("");
    expect(room.place).toBe(2);

    room.mark(2, "first", false);
    room.mark(2, "last", false);
    await room.send();
    expect(api.addReading).toHaveBeenCalledWith("rec", {
      tubes: [
        { place: 1, first_liquid: { at: "frame", frame: 101 }, last_crystal: { at: "frame", frame: 199 } },
        { place: 2, first_liquid: { at: "not_seen" }, last_crystal: { at: "not_seen" } },
      ],
    });
    expect(room.drafts).toEqual({});
  });

  it("keeps its marks when sending fails", async () => {
    const room = await opened(true);
    for (const place of [1, 2]) {
      markAt(room, place, "first", 100);
      markAt(room, place, "last", 150);
    }
    vi.mocked(api.addReading).mockRejectedValue(new Error("the disk is full"));
    await room.send();
    expect(room.trouble).toBe("the disk is full");
    expect(room.unmarked).toBe(0);
  });

  it("is asked for by whoever wants it", async () => {
    const room = await opened(false);
    await room.setBlind(true);
    expect(api.recording).toHaveBeenLastCalledWith("rec", true);
    expect(api.reading).toHaveBeenLastCalledWith("engine", true);
  });
});

describe("a decision on the engine's reading", () => {
  beforeEach(() => vi.resetAllMocks());

  it("is confirmed as it stands, and the next open tube is selected", async () => {
    const room = await opened(false);
    await room.decide(1);
    expect(api.decide).toHaveBeenCalledWith("engine", { place: 1, says: "confirm" });
    expect(room.place).toBe(2);
    expect(api.addReading).not.toHaveBeenCalled();
  });

  it("is not lost when it comes while the one before is being written", async () => {
    const room = await opened(false);
    await Promise.all([room.decide(1), room.decide(2)]);
    expect(vi.mocked(api.decide).mock.calls.map(([, decision]) => decision.place)).toEqual([1, 2]);
  });

  it("that differs waits for a reason", async () => {
    const room = await opened(false);
    markAt(room, 2, "first", 120);
    await room.decide(2);
    expect(room.reasonFor).toBe(2);
    await room.decide(2, "   ");
    expect(api.decide).not.toHaveBeenCalled();
    await room.decide(2, "a droplet on the glass");
    expect(api.decide).toHaveBeenCalledWith(
      "engine",
      expect.objectContaining({ place: 2, says: "set", reason: "a droplet on the glass" }),
    );
    expect(room.reasonFor).toBeNull();
  });

  it("with its ends the wrong way round goes nowhere", async () => {
    const room = await opened(false);
    markAt(room, 1, "first", 250);
    await room.decide(1, "later");
    expect(api.decide).not.toHaveBeenCalled();
    expect(room.trouble).not.toBe("");
  });

  it("jumps from moment to moment, and not twice to the one under the cursor", async () => {
    const room = await opened(false);
    room.jump(1);
    expect(room.player.cursor.index).toBe(100);
    room.jump(1);
    expect(room.player.cursor.index).toBe(200);
    room.jump(-1);
    expect(room.player.cursor.index).toBe(100);
  });
});
