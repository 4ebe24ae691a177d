import { describe, expect, it } from "vitest";
import { Alignment, shiftOf } from "./alignment.svelte";

function aligned(): Alignment {
  const alignment = new Alignment();
  alignment.video = { from_s: 0, to_s: 300 };
  alignment.log = { from_s: 0, to_s: 600 };
  return alignment;
}

describe("a video on the clock of a log", () => {
  it("is covered where both have something to say", () => {
    const alignment = aligned();
    expect(alignment.covered).toBe(1);
    alignment.set(450);
    expect(alignment.overlap).toEqual({ from_s: 450, to_s: 600 });
    expect(alignment.covered).toBe(0.5);
    alignment.set(-150);
    expect(alignment.covered).toBe(0.5);
    alignment.set(600);
    expect(alignment.overlap).toBeNull();
    expect(alignment.covered).toBe(0);
  });

  it("moves by steps without gathering rounding errors", () => {
    const alignment = aligned();
    for (let i = 0; i < 1000; i += 1) alignment.shift(0.1);
    for (let i = 0; i < 1000; i += 1) alignment.shift(-0.1);
    expect(alignment.start_s).toBe(0);
  });

  it("keeps a picture looked at within the video and says where it stands in the log", () => {
    const alignment = aligned();
    alignment.set(12.5);
    alignment.look(100);
    expect(alignment.lookOnLog_s).toBe(112.5);
    alignment.look(1e6);
    expect(alignment.look_s).toBe(300);
  });

  it("takes no number that is none", () => {
    const alignment = aligned();
    alignment.set(7);
    alignment.set(Number.NaN);
    expect(alignment.start_s).toBe(7);
  });

  it("shows both in full, wherever they lie", () => {
    const alignment = aligned();
    alignment.set(-400);
    expect(alignment.shown.from_s).toBeLessThan(-400);
    expect(alignment.shown.to_s).toBeGreaterThan(600);
  });

  it("moves by keys: one second, ten with Shift, a tenth with Alt", () => {
    const key = (key: string, shiftKey = false, altKey = false) => shiftOf({ key, shiftKey, altKey });
    expect(key("ArrowRight")).toBe(1);
    expect(key("ArrowLeft", true)).toBe(-10);
    expect(key("ArrowRight", false, true)).toBe(0.1);
    expect(key("a")).toBeNull();
  });
});
