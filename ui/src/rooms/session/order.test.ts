import { describe, expect, it } from "vitest";
import { emptySample, entryOf, merged, orderOf, pasted, withoutRange } from "./order";

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
      { line: 1, text: "warm" },
      { line: 3, text: ",1,2" },
    ]);
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
  });
});
