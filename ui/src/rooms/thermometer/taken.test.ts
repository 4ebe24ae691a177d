import { describe, expect, it } from "vitest";
import { formOf } from "../standards/state.svelte";
import { emptyCheck } from "./state.svelte";
import { filled, type Taken } from "./taken";

const moment = (temperature_c: number) => ({ temperature_c, standard_uncertainty_c: 0.03, time_s: 100 });
const taken: Taken = {
  from: { reading: "r", place: 2 },
  label: "benzoic acid",
  made_on: "2026-11-02",
  heating_rate_c_per_min: 0.9876,
  moments: { first_liquid: moment(121.4), last_crystal: moment(121.98765) },
};
const standard = (end: "first_liquid" | "last_crystal") => ({ ...formOf(), substance: "b", reference_c: 122.4, end, convention: { kind: "not_stated" } as const, retired: false });

describe("a check taken from a reading", () => {
  it("takes the moment that the label stands for", () => {
    expect(filled(emptyCheck(), taken, standard("last_crystal"))).toMatchObject({
      indicated_c: 121.988,
      standard_uncertainty_c: 0.03,
      heating_rate_c_per_min: 0.99,
      made_on: "2026-11-02",
    });
    expect(filled(emptyCheck(), taken, standard("first_liquid")).indicated_c).toBe(121.4);
  });

  it("says no temperature while the standard is not chosen, or its moment was not seen", () => {
    expect(filled(emptyCheck(), taken, undefined).indicated_c).toBeNull();
    const unseen = { ...taken, moments: { ...taken.moments, first_liquid: null } };
    expect(filled(emptyCheck(), unseen, standard("first_liquid")).indicated_c).toBeNull();
  });
});
