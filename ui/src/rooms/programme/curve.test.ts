import { describe, expect, it } from "vitest";
import { aboveFrom, belowFrom, endOf, frameOf, soakFrom, stepsOf, stretches } from "./curve";

const curve = [
  { time_min: 0, temperature_c: 22, leg: 0 },
  { time_min: 8, temperature_c: 118.5, leg: 0 },
  { time_min: 8, temperature_c: 118.5, leg: 1 },
  { time_min: 11, temperature_c: 118.5, leg: 1 },
  { time_min: 11, temperature_c: 118.5, leg: 2 },
  { time_min: 11, temperature_c: 118.5, leg: 2 },
  { time_min: 11, temperature_c: 118.5, leg: 3 },
  { time_min: 17, temperature_c: 124.5, leg: 3 },
];

describe("the curve", () => {
  it("is cut at its legs; waiting for the person has no length", () => {
    const legs = stretches(curve, ["approach", "soak", "attend", "scan"]);
    expect(legs.map(({ kind, from_min, to_min }) => [kind, from_min, to_min])).toEqual([
      ["approach", 0, 8],
      ["soak", 8, 11],
      ["scan", 11, 17],
    ]);
    expect(endOf(curve, 1)).toMatchObject({ time_min: 11, temperature_c: 118.5 });
    expect(endOf(curve, 7)).toBeNull();
  });

  it("is drawn with room around it", () => {
    const frame = frameOf(curve);
    expect(frame.time).toEqual([0, 17]);
    expect(frame.warm[0]).toBeLessThan(22);
    expect(frame.warm[1]).toBeGreaterThan(124.5);
  });
});

describe("handles", () => {
  it("set margins in half degrees and never on the wrong side of the range", () => {
    expect(belowFrom(121.5, 117.2)).toBe(4.5);
    expect(belowFrom(121.5, 130)).toBe(0);
    expect(aboveFrom(122.5, 126.1)).toBe(3.5);
    expect(aboveFrom(122.5, 100)).toBe(0);
    expect(belowFrom(121.5, -400)).toBe(60);
  });

  it("set the soak in half minutes from where it begins", () => {
    expect(soakFrom(8, 12.6)).toBe(4.5);
    expect(soakFrom(8, 2)).toBe(0);
    expect(soakFrom(8, 500)).toBe(60);
  });

  it("move by arrow keys, up and right for more", () => {
    expect(["ArrowUp", "ArrowRight", "ArrowDown", "ArrowLeft", "PageUp", "PageDown", "a"].map(stepsOf)).toEqual([1, 1, -1, -1, 4, -4, 0]);
  });
});
