/** Pictures fetched and decoded ahead of the cursor, so that a scrub finds them ready. */

/** Decoded pictures kept; 640 × 480 takes about 1.2 MB each. */
const DECODED_KEPT = 96;
/** Encoded pictures kept [bytes]. */
const ENCODED_KEPT = 64e6;
/** Pictures made ready ahead of and behind the cursor. */
const AHEAD = 24;
const BEHIND = 8;
/** Prefetches at a time; the browser opens six connections, and the wanted picture needs one at once. */
const LANES = 3;

export type LoadPicture = (index: number, signal: AbortSignal) => Promise<Blob>;
export type Decode = (blob: Blob) => Promise<ImageBitmap>;

/** A map that forgets what was used longest ago when its weight passes a limit. */
class Kept<T> {
  #items = new Map<number, { value: T; weight: number }>();
  #weight = 0;
  constructor(
    private readonly limit: number,
    private readonly drop: (value: T) => void = () => {},
  ) {}

  get(key: number): T | undefined {
    const item = this.#items.get(key);
    if (!item) return undefined;
    this.#items.delete(key);
    this.#items.set(key, item);
    return item.value;
  }
  has(key: number): boolean {
    return this.#items.has(key);
  }
  set(key: number, value: T, weight: number): void {
    this.#remove(key);
    this.#items.set(key, { value, weight });
    this.#weight += weight;
    for (const oldest of this.#items.keys()) {
      if (this.#weight <= this.limit || oldest === key) break;
      this.#remove(oldest);
    }
  }
  clear(): void {
    for (const key of [...this.#items.keys()]) this.#remove(key);
  }
  #remove(key: number): void {
    const item = this.#items.get(key);
    if (!item) return;
    this.#items.delete(key);
    this.#weight -= item.weight;
    this.drop(item.value);
  }
}

/** The order in which pictures around `index` are made ready: nearest first, further ahead than behind. */
export function prefetchOrder(index: number, direction: 1 | -1, last: number, ahead = AHEAD, behind = BEHIND): number[] {
  const order: number[] = [];
  for (let i = 1; i <= ahead; i += 1) {
    order.push(index + i * direction);
    if (i <= behind) order.push(index - i * direction);
  }
  return order.filter((i) => i >= 0 && i <= last);
}

export class FrameCache {
  #decoded: Kept<ImageBitmap>;
  #encoded = new Kept<Blob>(ENCODED_KEPT);
  #coming = new Map<number, Promise<ImageBitmap>>();
  #queue: number[] = [];
  #busy = 0;
  #urgent = 0;
  #stop = new AbortController();

  constructor(
    private readonly load: LoadPicture,
    private readonly decode: Decode = (blob) => createImageBitmap(blob),
    kept = DECODED_KEPT,
  ) {
    this.#decoded = new Kept<ImageBitmap>(kept, (bitmap) => bitmap.close());
  }

  /** The picture if it is ready. */
  ready(index: number): ImageBitmap | undefined {
    return this.#decoded.get(index);
  }

  /** The picture as soon as it can be had, before anything that is only fetched ahead. */
  async picture(index: number): Promise<ImageBitmap> {
    const ready = this.#decoded.get(index);
    if (ready) return ready;
    this.#urgent += 1;
    try {
      return await this.#fetch(index);
    } finally {
      this.#urgent -= 1;
      this.#pump();
    }
  }

  /** Makes the pictures around a place ready; a later call takes the place of what still waits. */
  prefetch(index: number, direction: 1 | -1, last: number, stride = 1): void {
    const reach = stride > 1 ? Math.min(AHEAD * stride, last) : AHEAD;
    this.#queue =
      stride > 1
        ? prefetchOrder(index, direction, last, reach, 0).filter((_, i) => (i + 1) % stride === 0)
        : prefetchOrder(index, direction, last);
    this.#pump();
  }

  close(): void {
    this.#stop.abort();
    this.#queue = [];
    this.#decoded.clear();
    this.#encoded.clear();
  }

  #pump(): void {
    while (this.#busy < LANES && this.#urgent === 0 && !this.#stop.signal.aborted) {
      const next = this.#queue.shift();
      if (next === undefined) return;
      if (this.#decoded.has(next) || this.#coming.has(next)) continue;
      this.#busy += 1;
      this.#fetch(next)
        .catch(() => {})
        .finally(() => {
          this.#busy -= 1;
          this.#pump();
        });
    }
  }

  #fetch(index: number): Promise<ImageBitmap> {
    const coming = this.#coming.get(index);
    if (coming) return coming;
    const work = this.#make(index).finally(() => this.#coming.delete(index));
    this.#coming.set(index, work);
    return work;
  }

  async #make(index: number): Promise<ImageBitmap> {
    let blob = this.#encoded.get(index);
    if (!blob) {
      blob = await this.load(index, this.#stop.signal);
      this.#encoded.set(index, blob, blob.size);
    }
    const bitmap = await this.decode(blob);
    if (this.#stop.signal.aborted) bitmap.close();
    else this.#decoded.set(index, bitmap, 1);
    return bitmap;
  }
}
