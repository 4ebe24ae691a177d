import { describe, expect, it } from "vitest";
import type { SessionShown } from "../../api/planning";
import { hands, loadUnder, LEAST_PX_PER_MIN, minutesOf, minuteTicks, numbered, placeAt, rowAt, tubeName, wallOf, xOf } from "./picture";

const load = (start: number, end: number) => ({
  plan: { load_start_min: start, end_min: end, tubes: [], cool_from_c: 22, scan_windows_c: [] },
  picture: { stages: [{ kind: "setting_in", from_min: start, to_min: start + 2 }, { kind: "scan", from_min: start + 2, to_min: end }], legs: [] },
  draft: { tubes: [{ sample: "A", replicate: 1 }], locked: false },
});
function shownOf(benches: ReturnType<typeof load>[][]): SessionShown {
  return {
    plan: { makespan_min: 60, benches: benches.map((loads, i) => ({ bench: `b${i}`, loads: loads.map((one) => one.plan) })) },
    draft: { benches: benches.map((loads, i) => ({ bench: `b${i}`, loads: loads.map((one) => one.draft) })) },
    benches: benches.map((loads, i) => ({ bench: `b${i}`, loads: loads.map((one) => one.picture) })),
    faults: [],
    in_time: null,
  } as unknown as SessionShown;
}
const shown = shownOf([[load(0, 20), load(30, 50)], [load(2, 25)]]);

describe("the wall of time", () => {
  it("numbers loads by when they are set in", () => {
    expect(numbered(shown)).toEqual([[1, 3], [2]]);
  });

  it("is as wide as there is room, and never too narrow to be read", () => {
    const wide = wallOf(shown, 120, 0, 1400, 1, 1);
    expect(xOf(wide, 0)).toBeGreaterThan(0);
    expect(wide.width).toBeCloseTo(1400, 0);
    expect(minutesOf(wide, xOf(wide, 37))).toBeCloseTo(37);
    expect(wallOf(shown, 600, 0, 400, 1, 1).pxPerMin).toBe(LEAST_PX_PER_MIN);
    // A plan that is longer than the session is shown whole.
    expect(wallOf(shown, 10, 0, 1400, 1, 1).until_min).toBeGreaterThan(60);
  });

  it("ends within two weeks whatever is typed", () => {
    for (const wall of [wallOf(shown, 1e20, 0, 1400, 1, 1), wallOf(shown, 120, 1e20, 1400, 4, 1), wallOf(shown, Infinity, NaN, 1400, 1, 1)]) {
      expect(wall.until_min).toBeLessThanOrEqual(20_162);
      expect(minuteTicks(wall).length).toBeLessThan(5000);
    }
  });

  it("gives each load to hands that are free; too few show as more lanes", () => {
    expect(hands(shown).map(({ number, lane }) => [number, lane])).toEqual([[1, 0], [2, 0], [3, 0]]);
    const clash = shownOf([[load(0, 20)], [load(1, 25)]]);
    expect(hands(clash).map(({ lane }) => lane)).toEqual([0, 1]);
  });

  it("tells where something is dropped", () => {
    const wall = wallOf(shown, 120, 0, 1400, 1, 1);
    const middle = (i: number) => (wall.rows[i]?.loadsTop ?? 0) + 10;
    expect(rowAt(wall, -50)).toBe(0);
    expect(rowAt(wall, middle(1))).toBe(1);
    expect(rowAt(wall, 9999)).toBe(1);
    expect(placeAt(shown, shown.draft, 0, 5, null)).toBe(0);
    expect(placeAt(shown, shown.draft, 0, 15, null)).toBe(1);
    expect(placeAt(shown, shown.draft, 0, 99, null)).toBe(2);
    expect(placeAt(shown, shown.draft, 0, 99, { bench: 0, load: 0 })).toBe(1);
    expect(loadUnder(wall, shown, xOf(wall, 10), middle(0))).toEqual({ bench: 0, load: 0 });
    expect(loadUnder(wall, shown, xOf(wall, 25), middle(0))).toBeNull();
    expect(loadUnder(wall, shown, xOf(wall, 10), 0)).toBeNull();
  });

  it("shortens labels that do not fit", () => {
    expect(tubeName("U-1", 2, 80)).toBe("U-1 · 2");
    expect(tubeName("U-1", 2, 40)).toBe("U-1·2");
    expect(tubeName("acetanilide", 2, 64)).toBe("aceta…·2");
    expect(tubeName("acetanilide", 2, 5)).toBe("…·2");
  });
});
