import { expect, it } from "vitest";
import { numberOf, ResultDraft } from "./result.svelte";

it("reads numbers as people type them", () => {
  expect(["113.2", "113,2", " 113.2 °C", "113", "−5", "+7", ".5"].map(numberOf)).toEqual([113.2, 113.2, 113.2, 113, -5, 7, 0.5]);
  expect([numberOf(""), numberOf("  ")]).toEqual([null, null]);
  expect(["113.2.1", "1e3", "about 113", "113-115"].every((text) => Number.isNaN(numberOf(text)))).toBe(true);
});

it("says what is wrong with a result, and takes nothing that is", () => {
  const draft = new ResultDraft();
  expect([draft.faults.length, draft.step]).toEqual([2, null]);
  draft.first = "114,4";
  draft.last = "113,2";
  expect(draft.faults).toEqual(["The last crystal cannot come below the first liquid: look which is which."]);
  draft.last = "1144";
  expect(draft.faults).toEqual(["A temperature between −50 and 450 °C is expected."]);
  draft.last = "115.0";
  draft.rate = "0";
  expect([draft.faults.length, draft.step]).toEqual([1, null]);
  draft.rate = "";
  draft.note = " a little brown ";
  expect(draft.step).toEqual({
    what: "result",
    run: 1,
    first_liquid_c: 114.4,
    last_crystal_c: 115,
    heating_rate_c_per_min: null,
    fresh_tube: true,
    note: "a little brown",
  });
});

it("remarks what is odd and takes it all the same", () => {
  const draft = new ResultDraft();
  [draft.first, draft.last, draft.rate] = ["110", "118", "5"];
  expect(draft.remarks).toHaveLength(2);
  expect(draft.step).not.toBeNull();
});
