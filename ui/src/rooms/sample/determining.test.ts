import { describe, expect, it } from "vitest";
import type { EndResult, UncertaintySource } from "../../api/types";
import { budgetLines } from "./budget";
import { Determining } from "./determining.svelte";

describe("what is asked of a determination", () => {
  it("is the usual limit and nothing else at first", () => {
    expect(new Determining("s").request).toEqual({ agree_within_c: 0.5 });
  });

  it("has a requirement only when both limits are there, the lower one first", () => {
    const room = new Determining("s");
    room.from_c = 113;
    expect(room.inOrder).toBeNull();
    expect(room.request.required).toBeUndefined();
    room.to_c = 112;
    expect(room.inOrder).toBe(false);
    expect(room.request.required).toBeUndefined();
    room.to_c = 116;
    // With a guard band unless the person wants the value alone to decide.
    expect(room.request.required).toEqual({ from_c: 113, to_c: 116, guard: 0.95 });
    room.guard = null;
    expect(room.request.required).toEqual({ from_c: 113, to_c: 116 });
  });

  it("leaves a limit that is none to the server", () => {
    const room = new Determining("s");
    room.within_c = null;
    expect(room.request).toEqual({});
    room.within_c = 0;
    expect(room.request).toEqual({});
  });
});

describe("a budget", () => {
  const end = (budget: EndResult["budget"]): EndResult => ({
    value_c: 114,
    standard_uncertainty_c: 0.05,
    expanded_uncertainty_c: 0.1,
    coverage_factor: 2,
    effective_degrees_of_freedom: null,
    indicated_c: 114,
    correction_c: 0,
    extrapolated: false,
    budget,
    stated_expanded_uncertainty_c: 0.1,
    stated_from: "first_order",
    monte_carlo: null,
  });
  const part = (source: UncertaintySource, standard_uncertainty: number, sensitivity = 1) => ({
    source,
    text: source,
    standard_uncertainty,
    sensitivity,
    degrees_of_freedom: null,
    shape: "normal" as const,
  });

  it("shares the variance out, the largest first", () => {
    const lines = budgetLines(end([part("reading", 0.03), part("calibration", -0.02, -2)]));
    expect(lines.map((line) => line.source)).toEqual(["calibration", "reading"]);
    // 0.04² and 0.03² of 0.05².
    expect(lines[0]?.share_fraction).toBeCloseTo(0.64, 9);
    expect(lines[1]?.share_fraction).toBeCloseTo(0.36, 9);
    expect(lines[0]?.u_c).toBeCloseTo(0.04, 9);
  });

  it("shares nothing where there is nothing", () => {
    expect(budgetLines(end([part("reading", 0)]))[0]?.share_fraction).toBe(0);
  });
});
