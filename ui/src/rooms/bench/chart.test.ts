import { describe, expect, it } from "vitest";
import { leftOf, table, temperatureSpan, thinned, timeSpan, windowOf } from "./chart";
import { aRun, point } from "./views.testdata";

const curve = [
  { time_min: 0, temperature_c: 25, leg: 0 },
  { time_min: 5, temperature_c: 118, leg: 0 },
  { time_min: 5, temperature_c: 118, leg: 1 },
  { time_min: 8, temperature_c: 118, leg: 1 },
  { time_min: 16, temperature_c: 126, leg: 3 },
];

describe("the one plot", () => {
  it("lays the run and the plan on one rising time axis without losing a point of either", () => {
    const points = [0, 30, 60, 300, 420].map((t) => point(t));
    const [minutes, planned, wanted, actual] = table(points, curve);
    expect(minutes).toEqual([0, 0.5, 1, 5, 7, 8, 16]);
    expect(planned).toEqual([25, null, null, 118, null, 118, 126]);
    expect(actual.filter((c) => c !== null)).toEqual(points.map((one) => one.actual_c));
    expect(wanted.filter((c) => c !== null)).toEqual(points.map((one) => one.wanted_c));
  });

  it("is the plan alone before a run, and the run alone where no plan is known", () => {
    expect(table([], curve)[1]).toEqual([25, 118, 118, 126]);
    expect(table([point(60)], [])).toEqual([[1], [null], [81], [80]]);
    expect(table([], [])).toEqual([[], [], [], []]);
  });

  it("thins long runs and keeps where they begin and end", () => {
    const all = Array.from({ length: 10_001 }, (_, i) => i);
    const few = thinned(all, 1000);
    expect(few.length).toBeLessThanOrEqual(1001);
    expect([few[0], few.at(-1)]).toEqual([0, 10_000]);
  });

  it("spans plan and run, and grows when the run outlasts the plan", () => {
    const data = table([point(60)], curve);
    expect(timeSpan(data, 1, false)).toEqual([0, 16]);
    expect(timeSpan(data, 20, false)).toEqual([0, 20]);
    expect(timeSpan(data, 20, true)).toEqual([15, 21]);
    expect(timeSpan(table([], []), 0, false)).toEqual([0, 1]);
  });

  it("holds everything that is drawn within the span, also lines that only pass through it", () => {
    const data = table([], curve);
    const [low, high] = temperatureSpan(data, [0, 16]);
    expect(low).toBeLessThan(25);
    expect(high).toBeGreaterThan(126);
    // From 10 to 12 min nothing has a point; the scan passes from 120 to 122 °C.
    const [from, to] = temperatureSpan(data, [10, 12]);
    expect(from).toBeLessThan(120);
    expect(from).toBeGreaterThan(118);
    expect(to).toBeGreaterThan(122);
    expect(to).toBeLessThan(124);
  });

  it("does not blow noise up", () => {
    const data = table([point(0, 100), point(60, 100.02)], []);
    const [low, high] = temperatureSpan(data, [0, 1]);
    expect(high - low).toBeGreaterThanOrEqual(2);
  });
});

describe("the programme on the plot", () => {
  it("has its window from where the scan begins to where it ends", () => {
    expect(windowOf(aRun().programme)).toEqual([118, 126]);
    expect(windowOf({ purpose: "scouting", legs: [{ kind: "scan", to_c: 200, rate_c_per_min: 10 }, { kind: "cool", to_c: 25 }] })).toBeNull();
  });

  it("tells how long the leg still lasts, and nothing where nobody can know", () => {
    expect(leftOf({ kind: "soak", minutes: 3 }, 1, 60, 118, curve)?.seconds).toBe(120);
    expect(leftOf({ kind: "scan", to_c: 126, rate_c_per_min: 1 }, 3, 60, 119, curve)?.seconds).toBe(420);
    expect(leftOf({ kind: "approach", to_c: 118 }, 0, 60, 50, curve)?.seconds).toBe(240);
    expect(leftOf({ kind: "approach", to_c: 118 }, 0, 400, 118, curve)).toBeNull();
    expect(leftOf({ kind: "approach", to_c: 118 }, 0, 60, 50, [])).toBeNull();
    expect(leftOf({ kind: "attend" }, 2, 5, 118, curve)).toBeNull();
  });
});
