import { describe, expect, it } from "vitest";
import { actionOf, belongsTo, type KeyPress } from "./keys";

const press = (key: string, more: Partial<KeyPress> = {}): KeyPress => ({
  key,
  shiftKey: false,
  altKey: false,
  ctrlKey: false,
  metaKey: false,
  ...more,
});

describe("keys", () => {
  it("step by picture, second and tenth of a degree", () => {
    expect(actionOf(press("ArrowRight"), true)).toEqual({ do: "frame", way: 1 });
    expect(actionOf(press("ArrowLeft", { shiftKey: true }), true)).toEqual({ do: "second", way: -1 });
    expect(actionOf(press("ArrowRight", { altKey: true }), true)).toEqual({ do: "tenth", way: 1 });
  });

  it("mark the ends, with Shift that they were not seen", () => {
    expect(actionOf(press("f"), true)).toEqual({ do: "mark", end: "first", seen: true });
    expect(actionOf(press("L", { shiftKey: true }), true)).toEqual({ do: "mark", end: "last", seen: false });
    expect(actionOf(press("2"), true)).toEqual({ do: "tube", place: 2 });
  });

  it("leave shortcuts of the browser alone", () => {
    expect(actionOf(press("f", { ctrlKey: true }), true)).toBeNull();
    expect(actionOf(press("l", { metaKey: true }), true)).toBeNull();
    expect(actionOf(press("1", { altKey: true }), true)).toBeNull();
  });

  it("that print a character can be switched off", () => {
    expect(actionOf(press("c"), false)).toBeNull();
    expect(actionOf(press(" "), false)).toBeNull();
    expect(actionOf(press("ArrowRight"), false)).toEqual({ do: "frame", way: 1 });
  });

  it("belong to a field that is typed in, and Space to a button", () => {
    const input = document.createElement("input");
    const button = document.createElement("button");
    expect(belongsTo(input, "f")).toBe(true);
    expect(belongsTo(button, " ")).toBe(true);
    expect(belongsTo(button, "ArrowRight")).toBe(false);
    expect(belongsTo(document.body, " ")).toBe(false);
  });
});
