import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Paced } from "./paced";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

it("does at once what it is asked for at rest, and then no more often than it should", async () => {
  const times: number[] = [];
  const began = Date.now();
  const paced = new Paced(async () => void times.push(Date.now() - began), 250);
  for (let i = 0; i < 100; i += 1) {
    paced.ask();
    await vi.advanceTimersByTimeAsync(10);
  }
  await vi.advanceTimersByTimeAsync(1000);
  expect(times).toEqual([0, 250, 500, 750, 1000]);
});

it("does one at a time, and once more for what was asked meanwhile", async () => {
  let under = 0;
  let most = 0;
  let done = 0;
  const paced = new Paced(async () => {
    most = Math.max(most, (under += 1));
    await new Promise((tell) => setTimeout(tell, 1000));
    under -= 1;
    done += 1;
  }, 250);
  paced.ask();
  await vi.advanceTimersByTimeAsync(100);
  paced.ask();
  paced.ask();
  await vi.advanceTimersByTimeAsync(5000);
  expect([most, done]).toEqual([1, 2]);
});

it("goes on after something failed, and not after it was stopped", async () => {
  const work = vi.fn(() => Promise.reject(new Error("no")));
  const paced = new Paced(() => work().catch(() => {}), 250);
  paced.ask();
  await vi.advanceTimersByTimeAsync(0);
  paced.ask();
  paced.stop();
  await vi.advanceTimersByTimeAsync(1000);
  expect(work).toHaveBeenCalledTimes(1);
});
