import { describe, expect, it } from "vitest";
import type { ChartDay, ControlChart } from "../../api/types";
import { dated, driftPoints, panel, span, spread, steps, xOf } from "./drift";

const chart: ControlChart = {
  centre_c: 0.01,
  sigma_c: 0.05,
  limits: { low_c: -0.14, high_c: 0.16 },
  moving_range: { mean_c: 0.06, high_c: 0.19, values_c: [null, 0.07, 0.45] },
  weighted_average: {
    lambda: 0.3,
    width: 3,
    values_c: [0, 0.02, 0.15],
    limits: [
      { low_c: -0.04, high_c: 0.06 },
      { low_c: -0.05, high_c: 0.07 },
      { low_c: -0.06, high_c: 0.08 },
    ],
  },
  points: [
    { value_c: -0.05, alarms: [] },
    { value_c: 0.02, alarms: [] },
    { value_c: 0.47, alarms: [{ rule: "beyond_limits", text: "+0.47 °C, beyond −0.14 to +0.16 °C" }] },
  ],
  provisional: true,
};
const days: ChartDay[] = ["2026-06-01", "2026-07-01", "2026-08-01"].map((made_on, i) => ({
  check: `c${i}`,
  made_on,
  substance: "benzoic acid",
  own: i === 0,
}));

describe("the drift of a thermometer", () => {
  it("joins each number with the check it came from", () => {
    const points = driftPoints(chart, days);
    expect(points.map((one) => [one.number, one.check, one.value_c, one.step_c, one.average_c])).toEqual([
      [1, "c0", -0.05, null, 0],
      [2, "c1", 0.02, 0.07, 0.02],
      [3, "c2", 0.47, 0.45, 0.15],
    ]);
    expect(points[0]?.own).toBe(true);
    expect(points[2]?.alarms[0]?.rule).toBe("beyond_limits");
    expect(driftPoints(chart, days.slice(0, 2))).toHaveLength(2);
  });

  it("has room for every value and for 0, also where all are on one side or the same", () => {
    for (const values of [[0.2, 0.4], [-0.3, -0.1], [0, 0], [null, 0.1], [0.3, undefined, -0.3]]) {
      const [low, high] = span(values);
      expect(low).toBeLessThan(high);
      expect(low).toBeLessThanOrEqual(0);
      expect(high).toBeGreaterThanOrEqual(0);
      for (const value of values) {
        if (typeof value !== "number") continue;
        expect(value).toBeGreaterThanOrEqual(low);
        expect(value).toBeLessThanOrEqual(high);
      }
    }
  });

  it("draws larger values higher, within the panel", () => {
    const p = panel(30, 100, [-0.2, 0.3]);
    expect(p.y(0.3)).toBe(30);
    expect(p.y(-0.2)).toBe(130);
    expect(p.y(0.1)).toBeLessThan(p.y(0));
    for (const c of p.ticks.at) {
      expect(c).toBeGreaterThanOrEqual(-0.2);
      expect(c).toBeLessThanOrEqual(0.3);
    }
  });

  it("gives every check the same place in all panels, in order", () => {
    const xs = [0, 1, 2, 3].map((i) => xOf(i, 4, 50, 400));
    expect(xs).toEqual([100, 200, 300, 400]);
  });

  it("writes as many dates as there is room for, the last always", () => {
    expect(dated(0, 600)).toEqual([]);
    expect(dated(1, 600)).toEqual([0]);
    expect(dated(4, 600)).toEqual([0, 1, 2, 3]);
    const many = dated(60, 600);
    expect(many.at(-1)).toBe(59);
    for (let k = 1; k < many.length; k += 1) {
      const apart = xOf(many[k] ?? 0, 60, 0, 600) - xOf(many[k - 1] ?? 0, 60, 0, 600);
      expect(apart).toBeGreaterThanOrEqual(92);
    }
  });

  it("moves labels apart that would cover one another, and keeps their order", () => {
    expect(spread([10, 100])).toEqual([10, 100]);
    expect(spread([20, 22, 24])).toEqual([20, 35, 50]);
    expect(spread([24, 20])).toEqual([35, 20]);
  });

  it("draws limits of each check as steps", () => {
    expect(steps([1, 2], (i) => 10 + 20 * i, 10, (v) => v)).toBe("M0.0 1.0H20.0L20.0 2.0H40.0");
  });
});
