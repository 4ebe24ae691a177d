import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Mixture } from "../../api/identity";
import { branches, movedBy, percentAt, tabled, warmth } from "./diagram";
import { MixedState, pointsOf, ThreeTubesState } from "./state.svelte";

type Body = Record<string, unknown>;
let asked: { path: string; body: Body }[];
let answer: (path: string, body: Body) => Response;

const solid = (name: string, molar_mass_g_per_mol: number | null) => ({
  name,
  cas: "",
  melting_c: 100,
  hfus_j_per_mol: { value: 20000, standard_uncertainty: 100, source: "", kind: "measured" as const },
  molar_mass_g_per_mol,
});
const melting = (mole_fraction_b: number) => ({ mole_fraction_b, first_liquid_c: 60, last_crystal_c: 75, liquid_at_eutectic: 0.5 });
const told = (massless = false, at: number | null = 0.4): Mixture => ({
  a: solid("a", 100),
  b: solid("b", massless ? null : 150),
  model: "ideal",
  fit: null,
  class: "similar",
  expected_error: { temperature_c: 2, mole_fraction: 0.02 },
  eutectic: { mole_fraction_b: 0.45, temperature_c: 60 },
  visible_fraction: 0.05,
  at: at === null ? null : melting(at),
  equal_masses: melting(0.5),
  known: [],
  cautions: [],
  liquidus: [0, 0.2, 0.45, 0.7, 1].map((mole_fraction_b) => ({ mole_fraction_b, temperature_c: 60 + 80 * Math.abs(mole_fraction_b - 0.45) })),
});

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  answer = () => Response.json(told());
  vi.stubGlobal("fetch", async (path: string, init?: RequestInit) => {
    const body = init?.body ? (JSON.parse(String(init.body)) as Body) : {};
    asked.push({ path, body });
    return answer(path, body);
  });
});
afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

describe("two solids", () => {
  it("asks nothing until both are named; with a mass fraction, and own numbers in the units of the program", async () => {
    const room = new MixedState(new URLSearchParams("a=benzil"));
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(asked).toEqual([]);
    room.b.name = " X-12 ";
    room.b.hfus_kj_per_mol = 21.5;
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(asked[0]?.body).toMatchObject({ a: { name: "benzil", hfus_j_per_mol: null }, b: { name: "X-12", hfus_j_per_mol: 21500 }, mass_fraction_b: 0.5 });
    expect(room.byMass).toBe(true);
    expect(room.tried?.mole_fraction_b).toBe(0.4);
  });

  it("asks again without the composition where a molar mass is missing, and does not ask for it any more", async () => {
    answer = (_, body) =>
      "mass_fraction_b" in body ? Response.json({ detail: "molar_mass_g_per_mol is nothing" }, { status: 422 }) : Response.json(told(true, null));
    const room = new MixedState(new URLSearchParams("a=benzil&b=X-12"));
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(asked).toHaveLength(2);
    expect(room.problem).toBe("");
    expect(room.byMass).toBe(false);
    expect(room.tried?.mole_fraction_b).toBe(0.5);
    room.a.melting_c = 95;
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(asked).toHaveLength(3);
    expect(room.busy).toBe(false);
  });

  it("keeps the first refusal where the second one is not about masses", async () => {
    let n = 0;
    answer = () => Response.json({ detail: `refusal ${(n += 1)}` }, { status: 422 });
    const room = new MixedState(new URLSearchParams("a=benzil&b=benzyl"));
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(room.problem).toBe("refusal 2");
    expect(room.told).toBeNull();
  });

  it("exchanged, is the same mixture seen from the other side", async () => {
    const room = new MixedState(new URLSearchParams("a=benzil&b=urea"));
    room.percent = 30;
    room.a.melting_c = 95;
    room.addPoint();
    Object.assign(room.rows[0]!, { x: 0.3, last_c: 80 });
    room.swap();
    expect([room.a.name, room.b.name, room.b.melting_c, room.percent, room.rows[0]?.x]).toEqual(["urea", "benzil", 95, 70, 0.7]);
  });

  it("sends points that have a composition and a temperature", () => {
    expect(
      pointsOf([
        { key: 1, x: 0.2, last_c: 70, first_c: null },
        { key: 2, x: null, last_c: 70, first_c: 60 },
        { key: 3, x: 0.4, last_c: null, first_c: null },
        { key: 4, x: 0, last_c: null, first_c: 0 },
      ]),
    ).toEqual([
      { mole_fraction_b: 0.2, liquidus_c: 70, solidus_c: null },
      { mole_fraction_b: 0, liquidus_c: null, solidus_c: 0 },
    ]);
  });

  it("says what is to be minded of the substances that the names were taken for", async () => {
    answer = (path) =>
      path.startsWith("/api/library")
        ? Response.json({ substances: [{ name: "picric acid", cas: "88-89-1", hazards: ["refused: a picrate"] }], found: 1, library_size: 8429 })
        : Response.json({ ...told(), b: { ...solid("picric acid", 229), cas: "88-89-1" } });
    const room = new MixedState(new URLSearchParams("a=benzil&b=88-89-1"));
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    room.compose(40);
    await vi.advanceTimersByTimeAsync(50);
    expect(room.b.hazards).toEqual(["refused: a picrate"]);
    expect(room.a.hazards).toEqual([]);
    expect(asked.filter((one) => one.path.startsWith("/api/library"))).toHaveLength(1);
    answer = () => Response.json(told());
    room.b.name = "urea";
    room.change();
    await vi.advanceTimersByTimeAsync(50);
    expect(room.b.hazards).toEqual([]);
  });

  it("suggests names after two letters", async () => {
    answer = () => Response.json({ substances: [{ name: "benzil", cas: "134-81-6" }], found: 1, library_size: 8429 });
    const room = new MixedState(new URLSearchParams());
    room.a.name = "b";
    room.a.suggest();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual([]);
    for (const text of ["be", "ben", "benz & co"]) {
      room.a.name = text;
      room.a.suggest();
    }
    await vi.advanceTimersByTimeAsync(500);
    expect(asked.map((one) => one.path)).toEqual(["/api/library?find=benz%20%26%20co&most=12"]);
    expect(room.a.suggestions.map((one) => one.name)).toEqual(["benzil"]);
  });
});

describe("the diagram", () => {
  it("has both lines meet in the eutectic", () => {
    const [a, b] = branches(told());
    expect(a.map((point) => point.mole_fraction_b)).toEqual([0, 0.2, 0.45]);
    expect(b.map((point) => point.mole_fraction_b)).toEqual([0.45, 0.7, 1]);
  });

  it("has room for everything that is drawn", () => {
    const [low, high] = warmth(told(), melting(0.4), [{ mole_fraction_b: 0.1, liquidus_c: 140, solidus_c: 41 }]);
    expect(low).toBeLessThan(41);
    expect(high).toBeGreaterThan(140);
  });

  it("moves the composition by 1 %, with Shift by 5 %, and not beyond the pure substances", () => {
    expect(movedBy("ArrowRight", false, 50)).toBe(51);
    expect(movedBy("ArrowLeft", true, 50)).toBe(45);
    expect(movedBy("ArrowUp", true, 98)).toBe(100);
    expect(movedBy("ArrowDown", false, 0)).toBe(0);
    expect(movedBy("Home", false, 40)).toBe(0);
    expect(movedBy("a", false, 40)).toBeNull();
  });

  it("reads a mass fraction off the mole fractions of the axis", () => {
    // 1 mol of 150 g to 1 mol of 100 g: 60 % by mass.
    expect(percentAt(0.5, 100, 150)).toBe(60);
    expect(percentAt(-0.2, 100, 150)).toBe(0);
    expect(percentAt(1.2, 100, 150)).toBe(100);
  });

  it("tells points in order, each once, with the eutectic among them", () => {
    const told_ = { ...told(), liquidus: Array.from({ length: 160 }, (_, i) => ({ mole_fraction_b: i / 159, temperature_c: i })) };
    const rows = tabled(told_);
    expect(rows).toHaveLength(12);
    expect(rows.filter((row) => row.eutectic)).toHaveLength(1);
    const fractions = rows.map((row) => row.mole_fraction_b);
    expect([...fractions].sort((a, b) => a - b)).toEqual(fractions);
    expect(fractions[0]).toBe(0);
    expect(fractions.at(-1)).toBe(1);
  });
});

describe("three tubes of one load", () => {
  it("are judged when all three are there; the sample's range comes with the address", async () => {
    answer = () => Response.json({ verdict: "different", first_liquid_lower_by_c: 30, last_crystal_lower_by_c: 22, broader_by_c: 7, words: "depressed" });
    const tubes = new ThreeTubesState(new URLSearchParams("first=113.2&last=114.1&sample=U-4"));
    tubes.tubes.reference = { first_c: 122.6, last_c: 123.6 };
    tubes.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked).toEqual([]);
    tubes.tubes.mixture = { first_c: 84, last_c: 92 };
    tubes.change();
    await vi.advanceTimersByTimeAsync(500);
    expect(asked[0]?.body).toEqual({ sample_c: [113.2, 114.1], reference_c: [122.6, 123.6], mixture_c: [84, 92], standard_uncertainty_c: 0.2 });
    expect(tubes.told?.verdict).toBe("different");
    tubes.tubes.mixture.last_c = null;
    tubes.change();
    expect(tubes.told).toBeNull();
  });
});
