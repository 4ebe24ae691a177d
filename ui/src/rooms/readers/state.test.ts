import { beforeEach, describe, expect, it, vi } from "vitest";
import * as api from "../../api/readers";
import type { EndComparison, ReaderComparison } from "../../api/readers";
import { Problem } from "../../api/problem";
import { beyond, levelName, outlierText } from "../../words/readers";
import { mandelBars, mandelReach } from "./bars";
import { ReadersState } from "./state.svelte";

vi.mock("../../api/readers", async (original) => ({
  ...(await original<typeof api>()),
  comparison: vi.fn(),
  agreement: vi.fn(),
}));

const critical = { five_percent: 1.15, one_percent: 1.154 };
const comparison: EndComparison = {
  levels: ["plain", "faint"],
  readers: ["a", "b", "engine"].map((reader) => ({ reader, n: 4, bias_c: 0.1, bias_standard_error_c: null, spread_c: null })),
  by_level: [],
  h: [
    [1.152, 0.2],
    [-0.5, null],
    [-1.2, 0.1],
  ],
  k: [
    [1, 1],
    [0.4, null],
    [1.3, 1.1],
  ],
  h_critical: [critical, critical],
  k_critical: [
    { five_percent: 1.5, one_percent: 1.7 },
    { five_percent: null, one_percent: null },
  ],
  outliers: [],
};

function answer(of: "practice" | "recordings", ids: string[]): ReaderComparison {
  return {
    of,
    readers: ids.map((id) => ({ id, name: id.toUpperCase(), engine: id === "engine" })),
    ends: [
      { end: "first_liquid", comparison, missing: null },
      { end: "last_crystal", comparison: null, missing: "too few readings" },
    ],
  };
}

beforeEach(() => {
  vi.resetAllMocks();
  vi.mocked(api.comparison).mockImplementation(async (of) => answer(of, of === "practice" ? ["a", "b", "engine"] : ["b"]));
  vi.mocked(api.agreement).mockResolvedValue({ ends: [{ end: "first_liquid", limits: null, missing: "too few pairs" }] } as never);
});

describe("readers set against each other", () => {
  it("begin with the first one against what is true", async () => {
    const room = new ReadersState();
    await room.refresh();
    expect(api.agreement).toHaveBeenCalledWith("practice", "a", "reference");
    expect(room.comparison).toBe(comparison);
    expect(room.pair?.missing).toBe("too few pairs");
    expect([room.nameOf("a"), room.nameOf("gone"), room.isEngine("engine")]).toEqual(["A", "gone", true]);
    room.end = "last_crystal";
    expect([room.comparison, room.missing]).toEqual([null, "too few readings"]);
  });

  it("keep who was chosen where they are in the other study, too", async () => {
    const room = new ReadersState();
    await room.refresh();
    await room.choose("b", "a");
    await room.show("recordings");
    expect([room.one, room.other]).toEqual(["b", "reference"]);
    expect(api.agreement).toHaveBeenLastCalledWith("recordings", "b", "reference");
  });

  it("are never set against themselves", async () => {
    const room = new ReadersState();
    await room.refresh();
    await room.choose("a", "b");
    await room.choose("b", "b");
    expect(room.other).toBe("reference");
  });

  it("say why there is nothing", async () => {
    vi.mocked(api.comparison).mockRejectedValueOnce(new Problem("students do not compare readers", 403));
    const room = new ReadersState();
    await room.refresh();
    expect([room.problem, room.loading]).toEqual(["students do not compare readers", false]);
  });
});

describe("bars", () => {
  it("of a reader stand together, tell how far they go, and leave out empty cells", () => {
    const { bars, slots } = mandelBars(comparison, "h");
    expect(slots).toBe(9);
    expect(bars.map((bar) => bar.slot)).toEqual([0.5, 1.5, 3.5, 4.5, 6.5, 7.5]);
    expect(bars.map((bar) => bar.tone)).toEqual(["straggler", "plain", "plain", "plain", "outlier", "plain"]);
    expect(bars[3]?.value).toBeNull();
    expect(mandelReach(bars)).toBeGreaterThan(1.2);
    // Without critical values nothing stands out.
    expect(mandelBars(comparison, "k").bars.every((bar) => bar.tone === "plain")).toBe(true);
  });

  it("beyond the line are said in words", () => {
    expect(beyond(comparison, "h", (id) => id.toUpperCase())).toEqual(["A at plain, 1.15", "ENGINE at plain, −1.20"]);
  });
});

describe("words", () => {
  it("tell who stands out, by which test and how far", () => {
    const text = outlierText(
      { test: "cochran", level: "settling", readers: ["a"], statistic: 0.812, five_percent: 0.63, one_percent: 0.72, verdict: "outlier" },
      () => "M. Fink",
    );
    expect(text).toContain("Outlier at “settling before melting”: M. Fink scatters");
    expect(text).toContain("0.81, critical 0.63 (5 %) and 0.72 (1 %)");
  });

  it("name levels", () => {
    expect(levelName("late_last_crystal")).toBe("a last crystal that lingers");
    expect(levelName("0192f3aa-0000-7000-8000-000000abcdef")).toBe("…abcdef");
  });
});
