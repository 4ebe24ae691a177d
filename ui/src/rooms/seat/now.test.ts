import { describe, expect, it } from "vitest";
import { nowOf } from "./now";
import { page, turn } from "./pages.testdata";

const timeOf = (minute: number) => `18:${String(minute).padStart(2, "0")}`;
const now = (change: Parameters<typeof page>[0], own: number[] = []) => nowOf(page(change), own, timeOf);

describe("what to do now", () => {
  it("follows a student through a practical", () => {
    expect(now({ state: "prepared", turn: null })).toMatchObject({ kind: "prepared", run: 1 });
    expect(now({})).toMatchObject({ kind: "wait", more: "2 loads before you at bench B, about 18:20." });
    expect(now({ turn: turn({ before: 0 }) }).more).toBe("You are next at bench B, about 18:20.");
    expect(now({ turn: turn({ standing: "now" }), standing: "turn" })).toMatchObject({
      kind: "turn",
      big: "Your turn at bench B: set in.",
      more: "Together with seats 5 and 6.",
    });
    expect(now({ turn: turn({ standing: "under_way" }), standing: "heating" })).toMatchObject({ kind: "heating", run: 1 });
    // Run 1 has ended, run 2 is ahead: the result first, and when the next turn is.
    expect(now({ turn: turn({ run: 2, load: 5 }) })).toMatchObject({ kind: "result", run: 1, more: "2 loads before you at bench B, about 18:20." });
    expect(now({ turn: turn({ run: 2, load: 5 }) }, [1])).toMatchObject({ kind: "wait", big: "Wait for run 2.", run: 2 });
    expect(now({ turn: turn({ run: 2, standing: "over" }) }, [1])).toMatchObject({ kind: "result", run: 2 });
    const done = { turn: turn({ run: 2, standing: "over" as const }), agreement: { agreed: true, first_liquid_difference_c: 0.2, last_crystal_difference_c: 0.1 } };
    expect(now(done, [1, 2])).toMatchObject({ kind: "identify" });
    expect(now({ ...done, identified: "benzil" }, [1, 2])).toMatchObject({ kind: "done" });
    expect(now({ ...done, state: "over" }, [1, 2])).toMatchObject({ kind: "over" });
    const mark = { identity: 10, range: 8, agreement: 5, care: 5, total: 28, of: 30, reasons: [], overridden: false };
    expect(now({ ...done, state: "over", mark }, [1, 2])).toMatchObject({ kind: "marked" });
  });

  it("calls before anything else, and says what is still missing", () => {
    expect(now({ turn: turn({ run: 2, standing: "now", with_seats: [4] }) })).toMatchObject({
      kind: "turn",
      more: "You have it to yourself. Enter what run 1 showed.",
      run: 1,
    });
  });

  it("says that runs disagree before it asks for a name", () => {
    const apart = { agreed: false, first_liquid_difference_c: 2, last_crystal_difference_c: 1 };
    const over = { turn: turn({ run: 2, standing: "over" as const }), agreement: apart };
    expect(now(over, [1, 2])).toMatchObject({ kind: "disagree" });
    expect(now({ ...over, identified: "benzil" }, [1, 2])).toMatchObject({ kind: "done" });
    expect(now({ ...over, identified: "benzil" }, [1, 2]).more).toContain("They do not agree.");
  });

  it("says where nothing is planned", () => {
    expect(now({ turn: null })).toMatchObject({ kind: "no_turn" });
    expect(now({ turn: null, standing: "done" })).toMatchObject({ kind: "result", run: 1 });
  });
});
