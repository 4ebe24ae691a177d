import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import type { Substance } from "../../api/identity";
import { freeName, literatureOf, SetUpRoom } from "./state.svelte";

let asked: { path: string; body: unknown }[] = [];
let answers: Record<string, unknown> = {};
const settle = (ms = 250) => vi.advanceTimersByTimeAsync(ms);

beforeEach(() => {
  vi.useFakeTimers();
  asked = [];
  answers = { "/api/practicals/unknowns": { pairs: [], needed_ratio: 3 } };
  vi.stubGlobal("fetch", async (path: string, init: RequestInit) => {
    asked.push({ path, body: init.body ? JSON.parse(String(init.body)) : null });
    const found = Object.entries(answers).find(([known]) => path.startsWith(known))?.[1];
    return found === undefined ? Response.json({ detail: path }, { status: 404 }) : Response.json(found);
  });
});
afterEach(() => {
  vi.unstubAllGlobals();
  vi.useRealTimers();
});

const substance = (change: Partial<Substance> = {}): Substance => ({
  cas: "134-81-6",
  formula: "C14H10O2",
  hazards: [],
  hfus_estimate_j_per_mol: null,
  hfus_j_per_mol: null,
  melting_c: [{ source: "a handbook", value_c: 95 }],
  molar_mass_g_per_mol: 210.2,
  name: "benzil",
  other_hfus_j_per_mol: [],
  own: false,
  remarks: [],
  smiles: "",
  synonyms: [],
  ...change,
});

function typed(room: SetUpRoom, lines: [string, number, number][]): void {
  for (const [name, first_c, last_c] of lines) {
    room.addLine();
    Object.assign(room.unknowns.at(-1) ?? {}, { name, first_c, last_c });
  }
  room.typed();
}

describe("setting a practical up", () => {
  it("begins with six benches and says what is missing", () => {
    const room = new SetUpRoom();
    expect(room.benches.map((bench) => bench.name)).toEqual(["A", "B", "C", "D", "E", "F"]);
    expect(room.faults).toEqual(["There are fewer than two unknowns."]);
    typed(room, [["benzil", 94, 95], [" benzil ", 81, 80], ["", 1, 2]]);
    expect(room.faults).toEqual([
      "An unknown has no name.",
      "benzil is in the list twice.",
      "benzil: the last crystal comes below the first liquid.",
    ]);
    room.addBench();
    expect(room.benches.at(-1)?.name).toBe("G");
    room.benches = [];
    room.seats = 0;
    expect(room.faults).toContain("There is no bench.");
    expect(room.faults).toContain("Seats are a whole number, 1 to 100.");
    expect(room.setUp).toBeNull();
  });

  it("compares every pair once typing rests, with what this class can tell", async () => {
    const room = new SetUpRoom();
    typed(room, [["benzil", 94, 95], ["vanillin", 81, 82]]);
    room.uncertainty_c = 0.8;
    room.typed();
    await settle();
    expect(asked).toHaveLength(1);
    expect(asked[0]?.body).toMatchObject({ standard_uncertainty_c: 0.8, unknowns: [{ name: "benzil", hazards: null }, { name: "vanillin" }] });
    expect(room.compared?.unknowns).toEqual(["benzil", "vanillin"]);
    room.drop(0);
    expect(room.compared).toBeNull();
  });

  it("takes a substance with what has to be minded, and refuses what is not to be heated", async () => {
    const room = new SetUpRoom();
    answers["/api/library/expected"] = { cas: "", name: "", minds: ["irritates", "sublimes"], range_c: null, refused: null };
    await room.take(substance());
    expect(room.unknowns[0]).toMatchObject({ library: "134-81-6", first_c: 94, last_c: 95, hazards: "irritates; sublimes", literature: true });
    answers["/api/library/expected"] = { cas: "", name: "", minds: [], range_c: null, refused: "it may explode" };
    await room.take(substance({ name: "picric acid" }));
    expect(room.unknowns).toHaveLength(1);
    expect(room.refused).toContain("picric acid is not to be heated in a capillary: it may explode.");
  });

  it("takes a literature value that is not doubted", () => {
    const value = (value_c: number, mark?: "median" | "disagrees") => ({ source: "", value_c, ...(mark ? { mark } : {}) });
    expect(literatureOf({ melting_c: [value(50, "disagrees"), value(95)] })).toBe(95);
    expect(literatureOf({ melting_c: [value(95), value(94.8, "median")] })).toBe(94.8);
    expect(literatureOf({ melting_c: [value(50, "disagrees")] })).toBeNull();
  });

  it("asks for the same practical again when it is pressed again", async () => {
    const room = new SetUpRoom();
    typed(room, [["benzil", 94, 95], ["vanillin", 81, 82]]);
    expect(await room.make()).toBe("");
    expect(room.problem).not.toBe("");
    answers["/api/practicals"] = { id: "p" };
    expect(await room.make()).toBe("p");
    const made = asked.filter((one) => one.path === "/api/practicals").map((one) => (one.body as { id: string }).id);
    expect(made).toHaveLength(2);
    expect(made[0]).toBe(made[1]);
  });

  it("finds names for benches that are not taken", () => {
    expect([freeName(["A", "C"]), freeName([..."ABCDEFGHIJKLMNOPQRSTUVWXYZ"])]).toEqual(["B", "27"]);
  });
});
