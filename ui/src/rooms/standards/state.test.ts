import { describe, expect, it } from "vitest";
import { formOf, isFar, standardFrom, startFrom, usualOf } from "./state.svelte";

const usual = [{ name: "benzoic acid", cas: "65-85-0", about_c: 122, cautions: "irritates" }];

describe("the form of a standard", () => {
  it("leaves the value of a usual substance to the person's own label", () => {
    const form = startFrom(usual[0]!, { ...formOf(), reference_c: 80.2, lot: "7" });
    expect(form).toMatchObject({ substance: "benzoic acid", cas: "65-85-0", cautions: "irritates", reference_c: null, lot: "7" });
    expect(standardFrom(form)).toBeNull();
  });

  it("asks about a value more than 3 °C from the usual one, and about no other", () => {
    const one = usualOf(" Benzoic Acid", usual);
    expect(isFar(one, 118.9)).toBe(true);
    expect(isFar(one, 125.1)).toBe(true);
    expect(isFar(one, 122.35)).toBe(false);
    expect(isFar(one, 125)).toBe(false);
    expect(isFar(one, null)).toBe(false);
    expect(isFar(usualOf("urea", usual), 10)).toBe(false);
  });

  it("says a rate only with a value at a heating rate, and nothing of what was not typed", () => {
    const form = { ...formOf(), substance: " benzil ", reference_c: 94.9, rate_c_per_min: 1 };
    expect(standardFrom(form)).toMatchObject({
      substance: "benzil",
      convention: { kind: "not_stated" },
      lot: null,
      expires: null,
      retired: false,
    });
    expect(standardFrom({ ...form, convention: "at_rate" })?.convention).toEqual({ kind: "at_rate", rate_c_per_min: 1 });
  });

  it("comes back as it was kept", () => {
    const kept = standardFrom({
      ...formOf(),
      substance: "benzil",
      reference_c: 94.9,
      convention: "at_rate",
      rate_c_per_min: 0.5,
      expires: "2027-01-31",
      end: "first_liquid",
    });
    expect(kept && standardFrom(formOf(kept))).toEqual(kept);
  });
});
