import { describe, expect, it } from "vitest";
import { Pace } from "./pace";

const MIB = 2 ** 20;

describe("the pace", () => {
  it("takes every picture of a camera as fast as is wanted, whatever its jitter", () => {
    const pace = new Pace(5);
    // A mixture that fills ±40 ms evenly.
    const times = Array.from({ length: 500 }, (_, i) => 1000 + i * 199 + ((i * 37) % 81) - 40);
    const taken = times.filter((at) => pace.takes(at)).length;
    expect(taken).toBeGreaterThan(470);
    // And as many as are wanted of a faster one.
    const fast = Array.from({ length: 3000 }, (_, i) => i * (1000 / 30));
    const some = new Pace(5);
    expect(fast.filter((at) => some.takes(at)).length).toBeCloseTo(500, -1);
  });

  it("goes down while what waits grows, and up again when it is gone", () => {
    const pace = new Pace(4);
    let bytes = 0;
    for (let s = 0; s < 10; s++) pace.look(s * 1000, { bytes: (bytes += MIB), limitBytes: 256 * MIB, connected: true });
    const low = pace.level;
    expect(low).toBeGreaterThanOrEqual(3);
    expect(pace.rate).toBeLessThanOrEqual(2);
    expect(pace.quality).toBeLessThan(0.75);
    // Still much, but less and less: nothing more is taken away.
    for (let s = 10; s < 20; s++) pace.look(s * 1000, { bytes: (bytes -= MIB / 2), limitBytes: 256 * MIB, connected: true });
    expect(pace.level).toBe(low);
    for (let s = 20; s < 20 + 10 * low + 12; s++) pace.look(s * 1000, { bytes: 0, limitBytes: 256 * MIB, connected: true });
    expect(pace.level).toBe(0);
    expect(pace.rate).toBe(4);
  });

  it("keeps all through a short break and thins only when memory runs short", () => {
    const pace = new Pace(5);
    for (let s = 0; s < 60; s++) pace.look(s * 1000, { bytes: s * MIB, limitBytes: 256 * MIB, connected: false });
    expect(pace.level).toBe(0);
    pace.look(61_000, { bytes: 70 * MIB, limitBytes: 256 * MIB, connected: false });
    expect(pace.rate).toBe(2.5);
    pace.look(62_000, { bytes: 200 * MIB, limitBytes: 256 * MIB, connected: false });
    expect(pace.rate).toBe(0.625);
  });
});
