import { expect, it } from "vitest";
import type { KeptStep } from "../../api/outbox.svelte";
import type { SeatStep } from "../../api/practicals";
import { shownSeat } from "./overlay";
import { page, result, turn } from "./pages.testdata";

let n = 0;
const kept = (step: SeatStep): KeptStep => ({
  id: `k-${(n += 1)}`,
  path: "practicals/p/seat/steps",
  person: "s-1",
  done: "2027-01-31T18:40:00Z",
  timed: true,
  step,
  refused: "",
});
const measured = (run: number, first: number): SeatStep => ({
  what: "result",
  run,
  first_liquid_c: first,
  last_crystal_c: first + 1,
  heating_rate_c_per_min: null,
  fresh_tube: true,
  note: "",
});

it("shows at once what was done without a network", () => {
  const standing = (steps: SeatStep[], change = {}) => shownSeat(page({ turn: turn({ standing: "now", ...change }) }), steps.map(kept)).turn?.standing;
  expect(standing([{ what: "set_in", load: 2 }])).toBe("under_way");
  expect(standing([{ what: "set_in", load: 2 }, { what: "ended", load: 2 }])).toBe("over");
  // The program has moved on to another load already.
  expect(standing([{ what: "ended", load: 2 }], { load: 7, standing: "ahead" })).toBe("ahead");
  const shown = shownSeat(
    page(),
    [
      measured(1, 113),
      { what: "identify", name: "benzil", why: "range" } as const,
      { what: "note", text: "settled early" } as const,
      { what: "ask_help", text: "tube broke" } as const,
    ].map(kept),
  );
  expect([shown.results.length, shown.identified, shown.notes[0]?.text, shown.help?.text]).toEqual([1, "benzil", "settled early", "tube broke"]);
  expect(shown.unsent).toContain(shown.results[0]?.id);
  expect(shownSeat(shown, [kept({ what: "help_done" })]).help).toBeNull();
});

it("puts a correction in place of one's own result, and leaves the partner's", () => {
  const both = page({ partners: ["grey heron"], results: [result(), result({ id: "r-2", by: "grey heron", first_liquid_c: 112 })] });
  const shown = shownSeat(both, [kept(measured(1, 113.8))]);
  expect(shown.results.map((one) => [one.by, one.first_liquid_c])).toEqual([
    ["grey heron", 112],
    ["amber owl", 113.8],
  ]);
});
