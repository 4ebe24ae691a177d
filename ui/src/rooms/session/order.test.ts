import { describe, expect, it } from "vitest";
import { session as words } from "../../words/session";
import { emptySample, entryOf, keptEntry, merged, orderOf, pasted, typedOf, withoutRange } from "./order";

describe("a pasted list", () => {
  it("is read by comma, semicolon or tab, with a header or without", () => {
    const plain = pasted("U-1,113.0,114.5\nU-2,132,133.5,3,180\n\n");
    expect(plain.faults).toEqual([]);
    expect(plain.samples).toMatchObject([
      { id: "U-1", first_c: 113, last_c: 114.5, replicates: null, leaveBelow_c: null },
      { id: "U-2", first_c: 132, last_c: 133.5, replicates: 3, leaveBelow_c: 180 },
    ]);
    const tabbed = pasted("U-1\t113,0\t114,5");
    expect(tabbed.samples).toMatchObject([{ id: "U-1", first_c: 113, last_c: 114.5 }]);
    const headed = pasted('label;last_crystal_c;first_liquid_c\r\n"U 3; late";95,5;94,0');
    // A quoted cell with the parting sign in it is not told apart: it is a fault, not a wrong number.
    expect(headed.samples).toEqual([]);
    expect(headed.faults).toMatchObject([{ line: 2 }]);
    expect(pasted('label;last_crystal_c;first_liquid_c\nU-3;95,5;94,0').samples).toMatchObject([{ id: "U-3", first_c: 94, last_c: 95.5 }]);
  });

  it("names lines that cannot be taken, and takes the others", () => {
    const found = pasted("U-1,warm,114\nU-2,94,95\n,1,2\nU-5");
    expect(found.samples.map((one) => one.id)).toEqual(["U-2", "U-5"]);
    expect(found.faults).toEqual([
      { line: 1, text: "warm", why: "number" },
      { line: 3, text: " 1 2", why: "label" },
    ]);
  });

  it("takes whole tubes only, and no decimal commas among commas that part the cells", () => {
    const found = pasted("A,94,95,2.5\nB,94,95,0\nC,121,5,122,5\nD,121,5,122,5,3,180\nE,94,95,95,5\nF,94,95,2,180");
    expect(found.samples).toMatchObject([{ id: "F", replicates: 2, leaveBelow_c: 180 }]);
    expect(found.faults.map((one) => [one.line, one.why])).toEqual([
      [1, "tubes"],
      [2, "tubes"],
      [3, "backwards"],
      [4, "cells"],
      [5, "limit"],
    ]);
    expect(words.pasteFault(3, "121 … 5", "backwards")).toContain("decimal commas");
    expect(pasted("C;121,5;122,5").samples).toMatchObject([{ first_c: 121.5, last_c: 122.5 }]);
  });
});

describe("an order as it is typed", () => {
  it("leaves out what has no range yet, and says so", () => {
    const entry = entryOf(
      { length_min: 60, operators: 1, policy: { replicates: 2 } as never, bench: [], sample: [{ id: "A", first_liquid_c: 80, last_crystal_c: 81 }] },
      ["B"],
    );
    expect(orderOf(entry).sample.map((one) => one.id)).toEqual(["A"]);
    expect(withoutRange(entry)).toEqual(["B"]);
  });

  it("takes new samples, and a known range is not lost to one without", () => {
    const known = { ...emptySample("A"), first_c: 80, last_c: 81 };
    const better = { ...emptySample("A"), first_c: 90, last_c: 91 };
    expect(merged([known], [emptySample("A"), emptySample("B")])).toMatchObject([{ id: "A", first_c: 80 }, { id: "B" }]);
    expect(merged([known], [better])).toMatchObject([{ id: "A", first_c: 90 }]);
    expect(merged([{ ...known, origin: "scouted" }], [{ ...emptySample("A"), replicates: 3 }])).toMatchObject([
      { first_c: 80, last_c: 81, replicates: 3, origin: "scouted" },
    ]);
  });

  it("loses no line whatever it is called", () => {
    const rows = [{ ...emptySample("A"), first_c: 80 }, { ...emptySample("A"), last_c: 99 }, emptySample(""), { ...emptySample(""), replicates: 4 }];
    expect(merged(rows, [emptySample("U-5")])).toEqual([...rows, emptySample("U-5")]);
    expect(merged(rows, [emptySample("")])).toHaveLength(5);
    expect(merged([], [emptySample("B"), { ...emptySample("B"), replicates: 3 }])).toHaveLength(2);
  });

  it("is kept line by line as it was typed, half ranges and origins too", () => {
    const entry = {
      ...entryOf({ length_min: 60, operators: 1, policy: { replicates: 2 } as never, bench: [], sample: [] }),
      samples: [
        { ...emptySample("B"), first_c: 80, replicates: 3, leaveBelow_c: 150 },
        { ...emptySample("A"), first_c: 80, last_c: 81, origin: "from a scouting run" },
        emptySample(""),
      ],
    };
    const content = { order: orderOf(entry), without_range: withoutRange(entry), typed: typedOf(entry) };
    expect(keptEntry(JSON.parse(JSON.stringify(content)) as typeof content)).toEqual(entry);
    // A session that was kept before its lines were.
    expect(keptEntry({ order: content.order, without_range: ["B"] }).samples.map((one) => one.id)).toEqual(["A", "B"]);
  });
});
