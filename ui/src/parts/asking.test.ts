import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Following } from "./following";
import { Latest } from "./latest";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe("asking for what was typed last", () => {
  it("asks once for keys that come together", async () => {
    const asked: string[] = [];
    const got: string[] = [];
    const latest = new Latest(100);
    for (const text of ["a", "ac", "ace"]) {
      latest.soon(
        async () => {
          asked.push(text);
          return text;
        },
        (answer) => got.push(answer),
        () => {},
      );
      await vi.advanceTimersByTimeAsync(50);
    }
    await vi.advanceTimersByTimeAsync(200);
    expect(asked).toEqual(["ace"]);
    expect(got).toEqual(["ace"]);
  });

  it("drops the answer that was overtaken, and breaks its question off", async () => {
    const got: string[] = [];
    const signals: AbortSignal[] = [];
    const latest = new Latest(10);
    const ask = (text: string, ms: number) =>
      latest.soon(
        (signal) => {
          signals.push(signal);
          return new Promise<string>((resolve) => setTimeout(() => resolve(text), ms));
        },
        (answer) => got.push(answer),
        () => {},
      );
    ask("slow", 500);
    await vi.advanceTimersByTimeAsync(20);
    ask("quick", 5);
    await vi.advanceTimersByTimeAsync(1000);
    expect(got).toEqual(["quick"]);
    expect(signals.map((signal) => signal.aborted)).toEqual([true, false]);
  });
});

describe("following a hand", () => {
  const following = (got: number[], failed: string[] = []) => {
    const asked: number[] = [];
    const it = new Following<number, number>(
      async (question) => {
        asked.push(question);
        await new Promise((resolve) => setTimeout(resolve, 50));
        if (question < 0) throw new Error(`not ${question}`);
        return question * 10;
      },
      (answer) => got.push(answer),
      (error) => failed.push(String(error)),
    );
    return { it, asked };
  };

  it("has one question under way, and the last that was put meanwhile next", async () => {
    const got: number[] = [];
    const { it: follows, asked } = following(got);
    follows.put(1);
    await vi.advanceTimersByTimeAsync(10);
    for (const n of [2, 3, 4]) follows.put(n);
    await vi.advanceTimersByTimeAsync(200);
    expect(asked).toEqual([1, 4]);
    expect(got).toEqual([10, 40]);
    expect(follows.busy).toBe(false);
    follows.put(5);
    await vi.advanceTimersByTimeAsync(200);
    expect(got).toEqual([10, 40, 50]);
  });

  it("goes on after a refusal, and says nothing of what was dropped", async () => {
    const got: number[] = [];
    const failed: string[] = [];
    const { it: follows } = following(got, failed);
    follows.put(-1);
    await vi.advanceTimersByTimeAsync(10);
    follows.put(2);
    await vi.advanceTimersByTimeAsync(200);
    expect(failed).toEqual(["Error: not -1"]);
    expect(got).toEqual([20]);
    follows.put(3);
    await vi.advanceTimersByTimeAsync(10);
    follows.drop();
    await vi.advanceTimersByTimeAsync(200);
    expect(got).toEqual([20]);
  });
});
