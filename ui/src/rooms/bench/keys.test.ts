import { describe, expect, it } from "vitest";
import type { Phase } from "../../api/live";
import { actionOf, isOver, means, type Steer } from "./keys";

const press = (key: string, code: string, more: Partial<KeyboardEvent> = {}) => ({
  key,
  code,
  shiftKey: false,
  altKey: false,
  ctrlKey: false,
  metaKey: false,
  repeat: false,
  ...more,
});

describe("keys at the bench", () => {
  it("mark first liquid by a digit and last crystal with Shift, whatever the layout prints", () => {
    expect(actionOf(press("2", "Digit2"), true)).toEqual({ key: "mark", place: 2, moment: "first_liquid" });
    expect(actionOf(press('"', "Digit2", { shiftKey: true }), true)).toEqual({ key: "mark", place: 2, moment: "last_crystal" });
    expect(actionOf(press("&", "Digit1"), true)).toEqual({ key: "mark", place: 1, moment: "first_liquid" });
    expect(actionOf(press("3", "Numpad3"), true)).toEqual({ key: "mark", place: 3, moment: "first_liquid" });
    expect(actionOf(press("4", "Digit4"), true)).toBeNull();
  });

  it("never turn a second press into the other moment", () => {
    const once = actionOf(press("1", "Digit1"), true);
    expect(actionOf(press("1", "Digit1"), true)).toEqual(once);
    expect(actionOf(press("1", "Digit1", { repeat: true }), true)).toBeNull();
  });

  it("steer", () => {
    const keys: [string, Steer][] = [
      ["h", "hold"],
      ["P", "pause"],
      ["r", "resume"],
      ["n", "skip"],
      ["s", "stop"],
      [" ", "attend"],
      ["Enter", "attend"],
    ];
    for (const [key, does] of keys) expect(actionOf(press(key, ""), true)).toEqual({ key: does });
  });

  it("leave shortcuts of the browser alone, and letters when they are switched off", () => {
    expect(actionOf(press("s", "KeyS", { ctrlKey: true }), true)).toBeNull();
    expect(actionOf(press("r", "KeyR", { metaKey: true }), true)).toBeNull();
    expect(actionOf(press("s", "KeyS"), false)).toBeNull();
    expect(actionOf(press("1", "Digit1"), false)).toBeNull();
    expect(actionOf(press("Enter", "Enter"), false)).toEqual({ key: "attend" });
  });

  it("mean something only where the run can follow them", () => {
    const phases: Phase[] = ["running", "holding", "paused", "suspended", "stopping", "failing", "ended", "broken"];
    const where = (key: Steer, attending = false) => phases.filter((phase) => means(key, phase, attending));
    expect(where("hold")).toEqual(["running"]);
    expect(where("pause")).toEqual(["running", "holding"]);
    expect(where("resume")).toEqual(["holding", "paused", "suspended"]);
    expect(where("stop")).toEqual(["running", "holding", "paused", "suspended"]);
    expect(where("attend")).toEqual([]);
    expect(where("attend", true)).toEqual(["running"]);
    expect(phases.filter(isOver)).toEqual(["ended", "broken"]);
  });
});
