import { beforeEach, describe, expect, it, vi } from "vitest";
import * as api from "../../api/practice";
import type { PracticeItem, PracticeMarked } from "../../api/practice";
import { Problem } from "../../api/problem";
import { practice as words } from "../../words/practice";
import { Outbox, type Store } from "./outbox";
import { PracticeState } from "./state.svelte";

vi.mock("../../api/practice");

const times_s = Array.from({ length: 101 }, (_, i) => i * 2);

function item(of: Partial<PracticeItem> = {}): PracticeItem {
  return {
    exercise: { kind: "settling", seed: 7, recording: null, place: null },
    times_s,
    pictures: "/api/practice/exercises/settling/7/pictures/",
    why: "weakest",
    attempts: 0,
    column: [0.4, 0.2, 0.2, 0.6],
    ...of,
  };
}

const answer = (id: string) => ({ id, progress: { person: "a" } }) as unknown as PracticeMarked;

function store(): Store & { all: Map<string, string> } {
  const all = new Map<string, string>();
  return {
    all,
    getItem: (key) => all.get(key) ?? null,
    setItem: (key, value) => void all.set(key, value),
    removeItem: (key) => void all.delete(key),
  };
}

let kept: ReturnType<typeof store>;
let now_ms = 0;
let me = "a";
const moved = vi.fn();

function room(): PracticeState {
  return new PracticeState(
    () => me,
    moved,
    kept,
    () => now_ms,
    async () => ({ width: 10, height: 10, close: () => {} }) as unknown as ImageBitmap,
  );
}

/** Marks without waiting for pictures to be fetched: nothing is shown yet, so the cursor counts. */
function markAt(practice: PracticeState, end: "first" | "last", index: number): void {
  practice.goTo(index);
  practice.mark(end);
}

beforeEach(() => {
  vi.resetAllMocks();
  kept = store();
  now_ms = 0;
  me = "a";
  vi.mocked(api.next).mockResolvedValue(item());
  vi.mocked(api.picture).mockResolvedValue(new Blob());
  vi.mocked(api.attempt).mockImplementation(async (attempt) => answer(attempt.id));
});

describe("an exercise", () => {
  it("is blind: its cursor knows times and no temperature", async () => {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    expect(practice.player?.cursor.times_s).toBe(times_s);
    expect(practice.player?.cursor.temperature_c).toBeNull();
    expect(practice.why).toBe(words.why["weakest"]);
  });

  it("is sent only when both ends are marked and in order", async () => {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    await practice.send();
    expect(practice.trouble).toBe(words.faults.noFirst);
    markAt(practice, "first", 60);
    await practice.send();
    expect(practice.trouble).toBe(words.faults.noLast);
    markAt(practice, "last", 50);
    await practice.send();
    expect(practice.trouble).toBe(words.faults.order);
    practice.mark("last", false);
    expect(practice.trouble).toBe(words.faults.alwaysMelts);
    expect(api.attempt).not.toHaveBeenCalled();

    markAt(practice, "last", 80);
    now_ms = 61_000;
    await practice.send();
    expect(api.attempt).toHaveBeenCalledWith(
      expect.objectContaining({ first_liquid_s: 120, last_crystal_s: 160, seconds_spent: 61, exercise: item().exercise }),
    );
    expect(practice.marked).not.toBeNull();
    expect(moved).toHaveBeenCalledTimes(1);
    // What was sent stays as it was.
    practice.mark("first");
    expect(practice.marks.first).toBe(60);
  });

  it("read once more is another attempt", async () => {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    const ids: string[] = [];
    for (let n = 0; n < 2; n += 1) {
      markAt(practice, "first", 10);
      markAt(practice, "last", 20);
      await practice.send();
      ids.push(vi.mocked(api.attempt).mock.lastCall?.[0].id ?? "");
      practice.again();
    }
    expect(new Set(ids).size).toBe(2);
    expect(practice.item?.attempts).toBe(2);
    expect(practice.marks).toEqual({ first: null, last: null });
  });

  it("that was overtaken by a later choice is dropped", async () => {
    let late: (found: PracticeItem) => void = () => {};
    vi.mocked(api.next).mockImplementationOnce(() => new Promise((resolve) => (late = resolve)));
    const practice = room();
    const first = practice.open({ what: "next", kind: "" });
    vi.mocked(api.next).mockResolvedValue(item({ why: "chosen" }));
    await practice.open({ what: "next", kind: "faint" });
    late(item());
    await first;
    expect(practice.item?.why).toBe("chosen");
    expect(api.next).toHaveBeenLastCalledWith("faint");
    await practice.next();
    expect(api.next).toHaveBeenLastCalledWith("faint");
  });

  it("that cannot be had says why and is asked for again", async () => {
    vi.mocked(api.next).mockRejectedValueOnce(new Problem("no recording of this book was read by two", 404));
    const practice = room();
    await practice.open({ what: "next", kind: "recording" });
    expect([practice.problem, practice.item, practice.loading]).toEqual(["no recording of this book was read by two", null, false]);
    await practice.retry();
    expect(practice.item).not.toBeNull();
    expect(practice.problem).toBe("");
  });

  it("goes from mark to mark", async () => {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    markAt(practice, "first", 30);
    markAt(practice, "last", 70);
    practice.goTo(0);
    practice.jump(1);
    expect(practice.player?.cursor.index).toBe(30);
    practice.jump(1);
    practice.jump(1);
    expect(practice.player?.cursor.index).toBe(70);
    practice.jump(-1);
    expect(practice.player?.cursor.index).toBe(30);
  });
});

describe("an attempt that cannot be sent", () => {
  async function unsent(): Promise<{ practice: PracticeState; id: string }> {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    markAt(practice, "first", 10);
    markAt(practice, "last", 20);
    vi.mocked(api.attempt).mockRejectedValueOnce(new Problem("The program does not answer.", 0));
    await practice.send();
    return { practice, id: vi.mocked(api.attempt).mock.lastCall?.[0].id ?? "" };
  }

  it("is kept and goes out later under the same id", async () => {
    const { practice, id } = await unsent();
    expect(practice.waiting).toBe(1);
    expect(practice.marked).toBeNull();
    // A page that is opened anew knows of it.
    const later = room();
    await later.sendKept();
    expect(api.attempt).toHaveBeenLastCalledWith(expect.objectContaining({ id }));
    expect([later.waiting, kept.all.size]).toEqual([0, 0]);
    expect(moved).toHaveBeenCalledTimes(1);
    // It was another exercise's: nothing is shown over the one that is open.
    expect(later.marked).toBeNull();
  });

  it("shows what became of it where its exercise is still open", async () => {
    const { practice, id } = await unsent();
    await practice.sendKept();
    expect(practice.marked?.id).toBe(id);
  });

  it("is kept once, however often it was tried", async () => {
    const { practice } = await unsent();
    vi.mocked(api.attempt).mockRejectedValueOnce(new Problem("busy", 503));
    await practice.send();
    expect(practice.waiting).toBe(1);
    await practice.send();
    expect([practice.waiting, practice.marked !== null]).toEqual([0, true]);
  });

  it("goes out in nobody else's name", async () => {
    await unsent();
    me = "b";
    const other = room();
    vi.mocked(api.attempt).mockClear();
    await other.sendKept();
    expect(api.attempt).not.toHaveBeenCalled();
    expect(new Outbox(kept).waiting("a")).toBe(1);
  });

  it("is put away when it is refused for good, and says so", async () => {
    const { practice } = await unsent();
    vi.mocked(api.attempt).mockRejectedValueOnce(new Problem("no such exercise", 404));
    await practice.sendKept();
    expect(practice.waiting).toBe(0);
    expect(practice.refused).toContain("no such exercise");
  });

  it("that is refused at once is not kept", async () => {
    const practice = room();
    await practice.open({ what: "next", kind: "" });
    markAt(practice, "first", 10);
    markAt(practice, "last", 20);
    vi.mocked(api.attempt).mockRejectedValueOnce(new Problem("viewers do not practise", 403));
    await practice.send();
    expect([practice.waiting, practice.trouble]).toEqual([0, "viewers do not practise"]);
  });

  it("does not stumble over what else lies on the device", () => {
    kept.all.set("meltrange.practice.unsent", '[null, {"person": "a"}, 3]');
    expect(new Outbox(kept).waiting("a")).toBe(0);
    kept.all.set("meltrange.practice.unsent", "{");
    expect(new Outbox(kept).waiting("a")).toBe(0);
  });
});
