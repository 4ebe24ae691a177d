import { describe, expect, it } from "vitest";
import { firstReaching, reachedBy } from "./state.svelte";

describe("recordings aligned by temperature", () => {
  it("show the first picture at which a temperature was reached", () => {
    const reached = reachedBy([100, 100.2, 100.1, 100.4, null, 100.6]);
    expect(reached).toEqual([100, 100.2, 100.2, 100.4, 100.4, 100.6]);
    expect(firstReaching(reached, 100.2)).toBe(1);
    expect(firstReaching(reached, 100.3)).toBe(3);
    expect(firstReaching(reached, 90)).toBe(0);
    expect(firstReaching(reached, 200)).toBe(5);
  });

  it("begin where the log begins", () => {
    expect(reachedBy([null, 50, 49])).toEqual([-Infinity, 50, 50]);
    expect(firstReaching(reachedBy([null, 50, 49]), 49.5)).toBe(1);
  });

  it("have nothing to show without pictures", () => {
    expect(firstReaching([], 100)).toBe(0);
  });
});
