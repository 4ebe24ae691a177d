import { describe, expect, it } from "vitest";
import { ticks } from "./ticks";

describe("ticks of an axis", () => {
  it("are round and lie within it", () => {
    expect(ticks(111, 116, 5)).toEqual({ at: [111, 112, 113, 114, 115, 116], places: 0 });
    expect(ticks(113.4, 114.8, 4)).toEqual({ at: [113.5, 114, 114.5], places: 1 });
    expect(ticks(-0.2, 0.2, 4).at).toEqual([-0.2, -0.1, 0, 0.1, 0.2]);
  });

  it("are few where there is nothing to divide", () => {
    expect(ticks(5, 5, 4).at).toEqual([5]);
    expect(ticks(Infinity, -Infinity, 4).at).toHaveLength(1);
  });
});
