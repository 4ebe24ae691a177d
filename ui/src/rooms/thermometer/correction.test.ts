import { describe, expect, it } from "vitest";
import { about, bandOf, lineOf, plotSpan, readOff, sayAt, upDown } from "./correction";

const plot = {
  indicated_c: [80, 100, 120],
  correction_c: [0.4, 0.5, 0.3],
  low_c: [0.3, 0.45, 0.2],
  high_c: [0.5, 0.55, 0.4],
};

describe("a correction as it is drawn", () => {
  it("is read off between the points, with half its band", () => {
    expect(readOff(plot, 80)).toEqual({ correction_c: 0.4, half_c: expect.closeTo(0.1, 9) });
    expect(readOff(plot, 90)).toEqual({ correction_c: expect.closeTo(0.45, 9), half_c: expect.closeTo(0.075, 9) });
    expect(readOff(plot, 120)?.correction_c).toBeCloseTo(0.3, 9);
  });

  it("is not told where nothing is drawn", () => {
    expect(readOff(plot, 79.9)).toBeNull();
    expect(readOff(plot, 120.1)).toBeNull();
    expect(readOff({ ...plot, indicated_c: [] }, 100)).toBeNull();
  });

  it("has no band where nothing tells it", () => {
    const bare = { ...plot, low_c: null, high_c: null };
    expect(readOff(bare, 100)).toEqual({ correction_c: 0.5, half_c: null });
    expect(about(bare)).toBeNull();
    expect(bandOf(plot.indicated_c, null, null, Number, Number)).toBe("");
  });

  it("is said near both ends of the standards and midway, each place once", () => {
    expect(sayAt(79.8, 158.2)).toEqual([80, 119, 158]);
    expect(sayAt(122.3, 122.3)).toEqual([122]);
  });

  it("has a band about it that closes", () => {
    expect(about(plot)?.high).toEqual([expect.closeTo(0.1, 9), expect.closeTo(0.05, 9), expect.closeTo(0.1, 9)]);
    const same = (value: number) => value;
    expect(lineOf([1, 2], [3, 4], same, same)).toBe("M1.0 3.0L2.0 4.0");
    expect(bandOf([1, 2], [0, 1], [3, 4], same, same)).toBe("M1.0 3.0L2.0 4.0L2.0 1.0L1.0 0.0Z");
  });

  it("spans something also with one standard, and always shows 0", () => {
    expect(plotSpan({ ...plot, indicated_c: [100, 100] })).toEqual([99, 101]);
    const [low, high] = upDown([0.4, 0.5]);
    expect(low).toBeLessThan(0);
    expect(high).toBeGreaterThan(0.5);
  });
});
