import { FrameCache, type Decode, type LoadPicture } from "./frames";
import { TimeCursor } from "./cursor.svelte";

/** A cursor with its pictures: what is shown is the latest picture that has arrived. */
export class Player {
  cursor = new TimeCursor();
  cache: FrameCache;
  shown = $state.raw<{ index: number; bitmap: ImageBitmap } | null>(null);
  lost = $state(false);

  constructor(load: LoadPicture, kept?: number, decode?: Decode) {
    this.cache = new FrameCache(load, decode, kept);
  }

  /** Time of the shown picture [s]; of the cursor while there is none. */
  get shownIndex(): number {
    return this.shown?.index ?? this.cursor.index;
  }

  /** Brings the picture under the cursor up, then those around it. To be called when the cursor moved. */
  async follow(index: number): Promise<void> {
    if (this.cursor.times_s.length === 0) return;
    const ready = this.cache.ready(index);
    if (ready) {
      this.shown = { index, bitmap: ready };
      this.#ahead(index);
      return;
    }
    try {
      const bitmap = await this.cache.picture(index);
      // While one drags fast, a picture on the way is better than none; a later one is never replaced.
      if (this.cursor.index === index || !this.shown || this.cursor.playing) this.shown = { index, bitmap };
      this.lost = false;
      if (this.cursor.index === index) this.#ahead(index);
    } catch {
      if (this.cursor.index === index) this.lost = true;
    }
  }

  close(): void {
    this.cache.close();
  }

  /** While playing fast, only pictures that will be shown are fetched: at most about 30 a second. */
  #ahead(index: number): void {
    const { cursor } = this;
    let stride = 1;
    if (cursor.playing && cursor.times_s.length > 1) {
      const span = (cursor.times_s[cursor.last] ?? 0) - (cursor.times_s[0] ?? 0);
      const perSecond = (cursor.last / Math.max(span, 1e-6)) * cursor.speed;
      stride = Math.max(1, Math.round(perSecond / 30));
    }
    this.cache.prefetch(index, cursor.playing ? 1 : cursor.direction, cursor.last, stride);
  }
}

/** Calls `step` with the time passed on the wall [s] at every screen refresh until stopped. */
export function everyRefresh(step: (wall_s: number) => void): () => void {
  let before: number | undefined;
  let handle = requestAnimationFrame(function tick(now) {
    // After a pause (a hidden tab) go on from there rather than leap.
    if (before !== undefined) step(Math.min(0.25, (now - before) / 1000));
    before = now;
    handle = requestAnimationFrame(tick);
  });
  return () => cancelAnimationFrame(handle);
}
