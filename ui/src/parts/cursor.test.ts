import { describe, expect, it } from "vitest";
import { TimeCursor, nearest, temperatureStep } from "./cursor.svelte";

/** 1 °C/min at 2 pictures a second from 120 °C, with ±0.01 °C of noise that repeats. */
function ramp(n: number): { times: number[]; temps: number[] } {
  const times = Array.from({ length: n }, (_, i) => i * 0.5);
  const temps = times.map((t, i) => 120 + t / 60 + (i % 2 ? 0.01 : -0.01));
  return { times, temps };
}

function cursorOn(n: number): TimeCursor {
  const { times, temps } = ramp(n);
  const cursor = new TimeCursor();
  cursor.load(times, temps);
  return cursor;
}

describe("stepping by 0.1 °C", () => {
  it("lands within half a picture's heating of the next whole tenth", () => {
    const cursor = cursorOn(1200);
    for (let k = 1; k <= 20; k += 1) {
      cursor.stepTemperature(1);
      expect(Math.abs((cursor.temperature_c ?? 0) - (120 + k * 0.1))).toBeLessThan(0.02);
    }
  });

  it("comes back to where it began", () => {
    const cursor = cursorOn(1200);
    cursor.stepTemperature(1);
    const start = cursor.index;
    for (let k = 0; k < 15; k += 1) cursor.stepTemperature(1);
    for (let k = 0; k < 15; k += 1) cursor.stepTemperature(-1);
    expect(Math.abs(cursor.index - start)).toBeLessThanOrEqual(2);
  });

  it("moves at least one picture where pictures are farther apart than a tenth", () => {
    const temps = [100, 100.7, 101.5, 102.2];
    expect(temperatureStep(temps, 0, 1)).toBe(1);
    expect(temperatureStep(temps, 1, 1)).toBe(2);
    expect(temperatureStep(temps, 3, -1)).toBe(2);
  });

  it("goes to the end where the temperature never gets there", () => {
    expect(temperatureStep([100, 100.01, 100.02], 0, 1)).toBe(2);
    expect(temperatureStep([100, 100.01, 100.02], 2, -1)).toBe(0);
  });

  it("passes over pictures without a logged temperature", () => {
    expect(temperatureStep([100, null, null, 100.1, 100.2], 0, 1)).toBe(3);
    expect(temperatureStep([null, 100], 0, 1)).toBe(1);
  });
});

describe("stepping by pictures and seconds", () => {
  it("stays within the recording", () => {
    const cursor = cursorOn(10);
    cursor.stepFrames(-1);
    expect(cursor.index).toBe(0);
    cursor.toEnd();
    cursor.stepFrames(1);
    expect(cursor.index).toBe(9);
    cursor.toStart();
    expect(cursor.index).toBe(0);
  });

  it("moves by a second, and by a picture where they are sparser than that", () => {
    const cursor = cursorOn(10);
    cursor.stepSeconds(1);
    expect(cursor.time_s).toBe(1);
    const sparse = new TimeCursor();
    sparse.load([0, 5, 10], [20, 21, 22]);
    sparse.stepSeconds(1);
    expect(sparse.index).toBe(1);
    sparse.stepSeconds(-1);
    expect(sparse.index).toBe(0);
  });

  it("finds the nearest picture, the earlier one of two equally near", () => {
    expect(nearest([0, 1, 2], 1.4)).toBe(1);
    expect(nearest([0, 1, 2], 1.5)).toBe(1);
    expect(nearest([0, 1, 2], 1.6)).toBe(2);
    expect(nearest([0, 1, 2], -7)).toBe(0);
    expect(nearest([0, 1, 2], 9)).toBe(2);
  });
});

describe("playing", () => {
  it("keeps real time at any frame spacing and stops at the end", () => {
    const cursor = cursorOn(200);
    cursor.speed = 16;
    cursor.togglePlay();
    for (let i = 0; i < 60; i += 1) cursor.advance(1 / 60);
    expect(cursor.time_s).toBeCloseTo(16, 0);
    for (let i = 0; i < 600; i += 1) cursor.advance(1 / 60);
    expect(cursor.index).toBe(cursor.last);
    expect(cursor.playing).toBe(false);
  });

  it("offers 1 to 64 times real time", () => {
    const cursor = cursorOn(3);
    for (let i = 0; i < 10; i += 1) cursor.faster();
    expect(cursor.speed).toBe(64);
    for (let i = 0; i < 10; i += 1) cursor.slower();
    expect(cursor.speed).toBe(1);
  });

  it("begins again from the end", () => {
    const cursor = cursorOn(20);
    cursor.toEnd();
    cursor.togglePlay();
    expect(cursor.index).toBe(0);
    expect(cursor.playing).toBe(true);
  });
});
