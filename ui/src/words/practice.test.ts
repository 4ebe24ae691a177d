import { describe, expect, it } from "vitest";
import type { ExerciseKind, FooledBy } from "../api/practice";
import { eventName, fooled, kinds, missingText, practice, side } from "./practice";

describe("words of practice", () => {
  it("state the rule with its numbers and kinds", () => {
    const text = practice.ruleText({ limit_c: 0.3, of: 10, within: 8, bias_limit_c: 0.15, kinds: ["plain", "faint"] });
    expect(text).toContain("last 10 attempts, at least 8 within ±0.30 °C");
    expect(text).toContain("±0.15 °C");
    expect(text).toContain(`${kinds.plain}, ${kinds.faint}`);
  });

  it("name what is missing, and show what they do not know as it is", () => {
    for (const code of ["attempts", "within", "bias_first_liquid", "bias_last_crystal", "kinds"]) {
      expect(missingText(code)).not.toBe(code.replaceAll("_", " "));
    }
    expect(missingText("some_thing")).toBe("some thing");
    expect(eventName("late_bubbles")).toBe("late bubbles");
  });

  it("say what fooled in one or two sentences", () => {
    for (const text of Object.values(fooled)) expect(text.split(/[.:;] /).length).toBeLessThanOrEqual(4);
    const all: FooledBy[] = ["settling", "glistening", "wetting", "early", "late", "late_last_crystal", "specks"];
    expect(Object.keys(fooled).sort()).toEqual([...all].sort());
  });

  it("go from plain to tricky", () => {
    const order: ExerciseKind[] = ["plain", "faint", "settling", "glistening", "late_last_crystal", "combined", "recording"];
    expect(Object.keys(kinds)).toEqual(order);
  });

  it("count attempts and sides", () => {
    expect(practice.attempt(0)).toContain("not read");
    expect(practice.attempt(1)).toContain("1 time before");
    expect(practice.kept(2)).toContain("2 attempts");
    expect([side(0.2), side(-0.2), side(0)]).toEqual(["late", "early", "exactly"]);
  });
});
