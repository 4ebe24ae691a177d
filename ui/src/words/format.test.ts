import { describe, expect, it } from "vitest";
import { bytes, celsius, clock, count, day, dayHere, difference, fixed, measured } from "./format";

describe("numbers as people read them", () => {
  it("are written to the place that their uncertainty justifies", () => {
    expect(measured(121.634, 0.21)).toBe("121.6 ± 0.2 °C");
    expect(measured(121.634, 0.04)).toBe("121.63 ± 0.04 °C");
    expect(measured(121.634, 0.13)).toBe("121.63 ± 0.13 °C");
    expect(measured(121.634, 1.2)).toBe("121.6 ± 1.2 °C");
    expect(measured(121.634, 3.4)).toBe("122 ± 3 °C");
  });

  it("never claim an uncertainty of nothing where there is one", () => {
    expect(measured(121.634, 0.0004)).toBe("121.63 ± 0.01 °C");
  });

  it("have a true minus sign and no minus zero", () => {
    expect(fixed(-0.5, 1)).toBe("−0.5");
    expect(fixed(-0.01, 1)).toBe("0.0");
    expect(difference(0.3)).toBe("+0.30 °C");
    expect(difference(-0.3)).toBe("−0.30 °C");
    expect(difference(0)).toBe("0.00 °C");
  });

  it("say when there is none", () => {
    expect(celsius(null)).toBe("–");
    expect(celsius(113.449, 2)).toBe("113.45 °C");
  });
});

describe("times and sizes", () => {
  it("carry over without a sixtieth second", () => {
    expect(clock(59.96)).toBe("1:00.0");
    expect(clock(245.2)).toBe("4:05.2");
    expect(clock(3723.04)).toBe("1:02:03.0");
    expect(clock(-5)).toBe("−0:05.0");
    expect(clock(3599.6, 0)).toBe("1:00:00");
  });

  it("count in words", () => {
    expect(count(1, "run")).toBe("1 run");
    expect(count(2, "run")).toBe("2 runs");
    expect(bytes(512)).toBe("512 B");
    expect(bytes(524_288_000)).toBe("524.3 MB");
  });

  it("take a date as that day in every zone", () => {
    expect(day("2026-11-02")).toBe("2 Nov 2026");
    expect(day("soon")).toBe("soon");
    expect(dayHere(new Date(2026, 0, 5, 23, 59))).toBe("2026-01-05");
    expect(dayHere(new Date(2026, 0, 5, 0, 1))).toBe("2026-01-05");
  });
});
