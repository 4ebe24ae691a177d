/** How often a picture is taken and how finely it is coded, as the network allows. */
interface Level {
  /** Part of the pictures wanted. */
  rate: number;
  quality: number;
}

const LEVELS: readonly Level[] = [
  { rate: 1, quality: 0.9 },
  { rate: 1, quality: 0.75 },
  { rate: 1 / 2, quality: 0.75 },
  { rate: 1 / 2, quality: 0.6 },
  { rate: 1 / 4, quality: 0.6 },
  { rate: 1 / 8, quality: 0.5 },
];

/** Unacknowledged bytes that count as a network that does not keep up, and as one that does. */
const HIGH_BYTES = 2 << 20;
const LOW_BYTES = 256 << 10;
/** Between two steps down, and how long it has to go well before a step up [ms]. */
const DOWN_MS = 2_000;
const UP_MS = 10_000;
/** Parts of the memory from which on fewer pictures are taken while nothing can be sent, with the level. */
const MEMORY: readonly (readonly [number, number])[] = [
  [0.75, 5],
  [0.5, 4],
  [0.25, 2],
];

export interface Load {
  bytes: number;
  limitBytes: number;
  connected: boolean;
}

export class Pace {
  level = 0;
  #due_ms = -Infinity;
  #lastBytes = 0;
  #stepped_ms = -Infinity;
  #wellSince_ms: number | undefined;

  /** @param perSecond pictures a second that are wanted. */
  constructor(public perSecond: number) {}

  get quality(): number {
    return this.#now.quality;
  }

  /** Pictures a second that are taken now. */
  get rate(): number {
    return this.perSecond * this.#now.rate;
  }

  get #now(): Level {
    return LEVELS[this.level] ?? { rate: 1 / 8, quality: 0.5 };
  }

  /**
   * Whether a picture of this time is to be taken. One that comes a quarter of the spacing early is, so that
   * a camera as fast as is wanted loses none to its jitter.
   */
  takes(at_ms: number): boolean {
    const spacing_ms = 1000 / this.rate;
    if (at_ms < this.#due_ms - spacing_ms / 4) return false;
    this.#due_ms = Math.max(this.#due_ms + spacing_ms, at_ms + spacing_ms / 2);
    return true;
  }

  /** Look at what waits, about once a second. */
  look(now_ms: number, load: Load): void {
    const grew = load.bytes > this.#lastBytes;
    this.#lastBytes = load.bytes;
    if (!load.connected) {
      // Nothing goes out: memory is what is left, and there is plenty at first.
      this.#wellSince_ms = undefined;
      const full = load.bytes / load.limitBytes;
      const least = MEMORY.find(([part]) => full >= part)?.[1] ?? 0;
      this.level = Math.max(this.level, least);
      return;
    }
    if (load.bytes > HIGH_BYTES) {
      this.#wellSince_ms = undefined;
      // What was kept through a break goes down by itself.
      if (grew && now_ms - this.#stepped_ms >= DOWN_MS && this.level < LEVELS.length - 1) {
        this.level += 1;
        this.#stepped_ms = now_ms;
      }
    } else if (load.bytes < LOW_BYTES) {
      this.#wellSince_ms ??= now_ms;
      if (now_ms - this.#wellSince_ms >= UP_MS && this.level > 0) {
        this.level -= 1;
        this.#wellSince_ms = now_ms;
        this.#stepped_ms = now_ms;
      }
    } else {
      this.#wellSince_ms = undefined;
    }
  }
}
