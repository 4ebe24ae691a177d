import { describe, expect, it } from "vitest";
import { FrameCache, prefetchOrder } from "./frames";

function bitmap(closed: number[], index: number): ImageBitmap {
  return { width: index, height: 1, close: () => closed.push(index) } as ImageBitmap;
}

function cacheOf(kept = 96) {
  const loaded: number[] = [];
  const closed: number[] = [];
  const cache = new FrameCache(
    async (index) => {
      loaded.push(index);
      return new Blob(["x".repeat(index)]);
    },
    async (blob) => bitmap(closed, blob.size),
    kept,
  );
  return { cache, loaded, closed };
}

const settle = () => new Promise((done) => setTimeout(done, 30));

describe("the pictures around the cursor", () => {
  it("come nearest first, further ahead than behind, and stay within the recording", () => {
    expect(prefetchOrder(10, 1, 100, 3, 1)).toEqual([11, 9, 12, 13]);
    expect(prefetchOrder(10, -1, 100, 3, 1)).toEqual([9, 11, 8, 7]);
    expect(prefetchOrder(0, -1, 1, 3, 3)).toEqual([1]);
  });

  it("are ready after a prefetch, each loaded once", async () => {
    const { cache, loaded } = cacheOf();
    cache.prefetch(50, 1, 100);
    await settle();
    expect(cache.ready(51)).toBeDefined();
    expect(cache.ready(74)).toBeDefined();
    expect(cache.ready(42)).toBeDefined();
    expect(cache.ready(75)).toBeUndefined();
    await cache.picture(51);
    expect(loaded.filter((i) => i === 51)).toHaveLength(1);
  });

  it("are asked for once when wanted while already on their way", async () => {
    const { cache, loaded } = cacheOf();
    await Promise.all([cache.picture(3), cache.picture(3)]);
    expect(loaded).toEqual([3]);
  });

  it("give back memory when there are too many, the longest unused first", async () => {
    const { cache, closed } = cacheOf(2);
    await cache.picture(1);
    await cache.picture(2);
    cache.ready(1);
    await cache.picture(3);
    expect(closed).toEqual([2]);
  });

  it("can be asked for again after a failure", async () => {
    let fail = true;
    const cache = new FrameCache(
      async () => {
        if (fail) throw new Error("gone");
        return new Blob(["5"]);
      },
      async () => bitmap([], 5),
    );
    await expect(cache.picture(5)).rejects.toThrow("gone");
    fail = false;
    await expect(cache.picture(5)).resolves.toBeDefined();
  });
});
