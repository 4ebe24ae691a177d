import { describe, expect, it } from "vitest";
import { PictureQueue } from "./queue";

const jpeg = (bytes = 10) => new Blob([new Uint8Array(bytes)]);

function filled(n: number, limit = 1e6): PictureQueue {
  const queue = new PictureQueue(limit);
  for (let i = 0; i < n; i++) queue.add(i * 100, jpeg());
  return queue;
}

/** Numbers of all that can be taken. */
function taken(queue: PictureQueue): number[] {
  const all: number[] = [];
  for (let one = queue.take(); one; one = queue.take()) all.push(one.sequence);
  return all;
}

describe("pictures that wait", () => {
  it("are kept until acknowledged, in order", () => {
    const queue = filled(5);
    expect([queue.take()?.sequence, queue.take()?.sequence, queue.take()?.sequence]).toEqual([0, 1, 2]);
    queue.acknowledge(1);
    expect([queue.waiting, queue.inFlight, queue.acknowledged, queue.bytes]).toEqual([3, 1, 2, 30]);
    expect(taken(queue)).toEqual([3, 4]);
    queue.acknowledge(1);
    expect(queue.waiting).toBe(3);
    queue.acknowledge(4);
    expect([queue.waiting, queue.inFlight, queue.bytes]).toEqual([0, 0, 0]);
  });

  it("go on after the last that the server has", () => {
    const queue = filled(6);
    taken(queue);
    queue.acknowledge(1);
    // Three arrived, but the word of it was lost with the connection.
    queue.resume(3);
    expect(taken(queue)).toEqual([4, 5]);
    expect(queue.acknowledged).toBe(4);
    // A server that knows nothing of them gets all that are still here.
    queue.resume(null);
    expect(taken(queue)).toEqual([4, 5]);
  });

  it("are thinned evenly when the memory is full, and their numbers stay free", () => {
    const queue = filled(2, 100);
    taken(queue);
    for (let i = 2; i < 40; i++) queue.add(i * 100, jpeg());
    expect(queue.bytes).toBeLessThanOrEqual(100);
    const left = [0, 1, ...taken(queue)];
    expect(left.length).toBe(queue.waiting);
    expect(queue.givenUp).toBe(40 - left.length);
    expect(left.at(-1)).toBe(39);
    // From old to new no gap is more than eight times the mean one.
    const gaps = left.slice(1).map((n, i) => n - (left[i] ?? 0));
    expect(Math.max(...gaps)).toBeLessThanOrEqual((8 * 39) / left.length);
    expect(Math.min(...gaps)).toBeGreaterThan(0);
  });

  it("that are on their way are never given up", () => {
    const queue = filled(10, 100);
    taken(queue);
    queue.add(1000, jpeg(500));
    expect(queue.waiting).toBe(11);
    expect(queue.givenUp).toBe(0);
  });
});
