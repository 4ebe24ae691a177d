import { expect, it } from "vitest";
import { board, flag, join, minutes, points, range, seat, seatList, stepWords } from "./practical";

it("names seats and times as people do", () => {
  expect([seatList([]), seatList([4]), seatList([9, 3, 4])]).toEqual(["no seat", "seat 4", "seats 3, 4 and 9"]);
  expect([minutes(7.4), minutes(-2)]).toEqual(["7 min", "0 min"]);
  expect(range(113.2, 114.5)).toBe("113.2–114.5 °C");
  expect([points(7.5), points(10), points(9.96)]).toEqual(["7.5", "10", "10"]);
});

it("says when a turn comes", () => {
  expect(seat.waitMore(0, "B", "18:20")).toBe("You are next at bench B, about 18:20.");
  expect(seat.waitMore(1, "B", "18:20")).toBe("1 load before you at bench B, about 18:20.");
  expect(seat.turnMore([])).toBe("You have it to yourself.");
  expect([board.left(3.2), board.over(2)]).toEqual(["3 min left", "2 min over time"]);
  expect(board.asksN(1)).toBe("1 asks for help");
});

it("says how long to wait", () => {
  expect(join.wait(1)).toContain("Wait 1 second,");
  expect(join.wait(600)).toContain("Wait 10 min,");
});

it("has words for every step, and for what it does not know", () => {
  expect(stepWords({ what: "set_in" })).toBe("Set in");
  expect(stepWords({ what: "set_in", bench: "B" } as { what: string })).toBe("Set in at bench B");
  expect(stepWords({ what: "result", run: 2, first_liquid_c: 94, last_crystal_c: 95 } as { what: string })).toBe("Result of run 2: 94.0–95.0 °C");
  expect(stepWords({ what: "forget_names" })).toBe("Forget names");
  expect(stepWords({ what: "something_new" })).toBe("something_new");
  expect([flag("runs_disagree"), flag("something_new")]).toEqual(["runs disagree", "something new"]);
});
