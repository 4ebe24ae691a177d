import { describe, expect, it } from "vitest";
import type { PracticeMarked, PracticePoint } from "../../api/practice";
import { reached, reachOf, spanOf } from "./line";

const end = (marked_s: number, true_s: number) => ({ marked_s, true_s });
const marked = (events: { from_s: number; to_s: number | null }[]) =>
  ({
    first_liquid: end(90, 100),
    last_crystal: end(200, 190),
    events: events.map((one) => ({ kind: "settling", ...one })),
    times_s: [0, 50, 300],
  }) as unknown as PracticeMarked;

describe("the time line", () => {
  it("holds all marks and events with a margin, within the recording", () => {
    const [low, high] = spanOf(marked([]));
    expect(low).toBeLessThan(90);
    expect(high).toBeGreaterThan(200);
    expect(spanOf(marked([{ from_s: 1, to_s: 299 }]))).toEqual([0, 300]);
    expect(spanOf(marked([{ from_s: 40, to_s: null }]))[0]).toBeLessThan(40);
  });

  it("names round temperatures where they were first reached, and none before it begins", () => {
    const times = [0, 10, 20, 30, 40];
    const warm = [110, 110.6, 111.2, 110.9, 112];
    expect(reached(times, warm, [110, 111, 112, 113], [5, 40])).toEqual([
      { time_s: 20, c: 111 },
      { time_s: 40, c: 112 },
    ]);
  });
});

it("the learning curve reaches beyond its band and every error", () => {
  const point = (first: number, last: number) => ({ first_liquid_error_c: first, last_crystal_error_c: last }) as PracticePoint;
  expect(reachOf([], 0.3)).toBeGreaterThan(0.3);
  expect(reachOf([point(0.1, -0.9)], 0.3)).toBeGreaterThan(0.9);
});
