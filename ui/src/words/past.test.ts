import { describe, expect, it } from "vitest";
import { faultText, outAndIn, pastIn, separatorName, understood } from "./past";

const one = { from_c: null, to_c: null, above: false, decomposed: false };

describe("an earlier result", () => {
  it("is written as it was understood", () => {
    expect(understood({ ...one, from_c: 113, to_c: 114.5 })).toBe("113.0–114.5 °C");
    expect(understood({ ...one, from_c: 113.89, to_c: 114.5 })).toBe("113.89–114.5 °C");
    expect(understood({ ...one, from_c: 114, to_c: 114 })).toBe("114.0 °C");
    expect(understood({ ...one, to_c: 114 })).toBe("114.0 °C");
    expect(understood({ ...one, from_c: -5, to_c: -4 })).toBe("−5.0–−4.0 °C");
    expect(understood({ ...one, from_c: 300, above: true })).toBe("above 300.0 °C");
    expect(understood({ ...one, from_c: 210, to_c: 212, decomposed: true })).toBe("210.0–212.0 °C, decomposed");
    expect(understood({ ...one, decomposed: true })).toBe("decomposed");
    expect(understood(one)).toBe("no temperature");
  });

  it("is faulted with place, what was found and what was expected", () => {
    const fault = { line: 7, column: "mp", found: "warm", expected: "a temperature", left_out: true };
    expect(faultText(fault)).toBe("line 7, mp: found “warm”; expected a temperature");
    expect(faultText({ ...fault, column: null })).toMatch(/^line 7: /);
  });
});

it("says what was taken in, and only what there is to say", () => {
  expect(pastIn.taken({ past_results: 1, samples_added: 0, there_already: 0, left_out: 0 })).toBe("1 result recorded");
  expect(pastIn.taken({ past_results: 4, samples_added: 2, there_already: 1, left_out: 1 })).toBe(
    "4 results recorded, 2 samples added, 1 row there already, 1 row left out",
  );
  expect(outAndIn.taken({ records: 12, there_already: 0, recordings: 1, samples: [] })).toBe("12 records and 1 recording taken in.");
  expect([separatorName("\t"), separatorName("~")]).toEqual(["tab", "“~”"]);
});
