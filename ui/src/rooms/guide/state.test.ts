import { expect, it } from "vitest";
import type { SampleDetail, ThermometerRow } from "../../api/types";
import { STEPS } from "../../words/guide";
import { noticed } from "./noticed";
import { GuideState, type Store } from "./state.svelte";

function store(): Store & { all: Map<string, string> } {
  const all = new Map<string, string>();
  return { all, getItem: (key) => all.get(key) ?? null, setItem: (key, value) => void all.set(key, value) };
}

const detail = (of: Partial<SampleDetail>): SampleDetail =>
  ({
    sample: { hazards: null, preparation: { dried: null, ground: null, column_height_mm: null } },
    tubes: [],
    recordings: [],
    determinations: [],
    verdicts: [],
    sign_offs: [],
    agreement: null,
    ...of,
  }) as unknown as SampleDetail;

it("notices from the book what it can know, and leaves the rest to a tick", () => {
  expect(noticed(null, [], "a").size).toBe(0);
  const checked = [{ state: "in_order" }] as unknown as ThermometerRow[];
  expect([...noticed(null, checked, "a")]).toEqual(["thermometer"]);
  const twice = detail({ recordings: [{ run: "1", state: "read" }, { run: "1", state: "read" }] as never });
  expect(noticed(twice, [], "a").has("heat")).toBe(true);
  expect(noticed(twice, [], "a").has("second")).toBe(false);
  const tubes = [{ reader: { by: "person", person: "b", blind: true }, recording: "r", tube: { decision: null } }] as never;
  expect(noticed(detail({ tubes }), [], "a").has("read")).toBe(false);
  expect(noticed(detail({ tubes }), [], "b").has("read")).toBe(true);
});

it("keeps ticks for each person and goes on where it was", () => {
  const kept = store();
  const guide = new GuideState(kept, () => new Date("2026-11-27T18:00:00Z"));
  guide.open("a");
  expect(guide.on).toBe(false);
  guide.start();
  expect(guide.next).toBe("thermometer");
  guide.tick("thermometer", true);
  expect(guide.next).toBe("sample");
  expect(guide.said).toContain("Add the sample");
  const other = new GuideState(kept);
  other.open("b");
  expect([other.on, other.done]).toEqual([false, 0]);
  other.open("a");
  expect([other.on, other.done, other.begun]).toEqual([true, 1, true]);
  other.putAway();
  expect(other.on).toBe(false);
});

it("walks to the steps beside and comes back", () => {
  const guide = new GuideState(store());
  guide.open("a");
  guide.start();
  guide.lookBeside(1);
  expect(guide.shown).toBe(STEPS[1]);
  guide.lookBeside(-1);
  expect(guide.shown).toBe(STEPS[0]);
  expect(guide.looksAt).toBeNull();
});

it("takes nothing from a store that is damaged", () => {
  const kept = store();
  kept.all.set("meltrange.guide.a", "{");
  const guide = new GuideState(kept);
  guide.open("a");
  expect(guide.on).toBe(false);
});
