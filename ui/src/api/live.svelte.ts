/** The one live connection: tells the rooms that the book has changed. After a break it resumes after the
 * last event seen; the browser sends its id by itself, and when it gives up a new connection names it. */
import type { Change, Work } from "./types";

type Hear = () => void;
type HearWork = (work: Work) => void;

/** Changes that come together are told once [ms]. */
const GATHER_MS = 60;
/** Before a connection that was refused is tried again [ms]. */
const AGAIN_MS = 2000;

class Live {
  connected = $state(false);
  /** Imports and readings under way, as last told, by id. */
  work = $state<Record<string, Work>>({});

  #source: EventSource | undefined;
  #again: ReturnType<typeof setTimeout> | undefined;
  #lastId = "";
  #hearers = new Set<{ hear: Hear; kinds: readonly string[] | undefined }>();
  #workHearers = new Set<HearWork>();

  start(): void {
    this.stop();
    const since = this.#lastId ? `?after=${encodeURIComponent(this.#lastId)}` : "";
    const source = new EventSource(`/api/events${since}`);
    this.#source = source;
    source.onopen = () => {
      this.connected = true;
    };
    source.onerror = () => {
      this.connected = false;
      if (source.readyState === EventSource.CLOSED) {
        this.#again = setTimeout(() => this.start(), AGAIN_MS);
      }
    };
    source.addEventListener("begin", (event: MessageEvent<string>) => {
      if (event.lastEventId) this.#lastId = event.lastEventId;
    });
    // Too much was missed to be told one by one: everything is asked for again.
    source.addEventListener("afresh", (event: MessageEvent<string>) => {
      if (event.lastEventId) this.#lastId = event.lastEventId;
      for (const one of this.#hearers) one.hear();
    });
    source.addEventListener("change", (event: MessageEvent<string>) => {
      if (event.lastEventId) this.#lastId = event.lastEventId;
      const change = JSON.parse(event.data) as Change;
      for (const one of this.#hearers) {
        if (!one.kinds || one.kinds.includes(change.kind)) one.hear();
      }
    });
    source.addEventListener("work", (event: MessageEvent<string>) => {
      const work = JSON.parse(event.data) as Work;
      this.work[work.id] = work;
      for (const hear of this.#workHearers) hear(work);
    });
  }

  stop(): void {
    clearTimeout(this.#again);
    this.#source?.close();
    this.#source = undefined;
    this.connected = false;
  }

  /** Hears of changes, of some kinds only when named. Returns what ends it. */
  on(hear: Hear, kinds?: readonly string[]): () => void {
    let waits: ReturnType<typeof setTimeout> | undefined;
    const one = {
      kinds,
      hear: () => {
        waits ??= setTimeout(() => {
          waits = undefined;
          hear();
        }, GATHER_MS);
      },
    };
    this.#hearers.add(one);
    return () => {
      clearTimeout(waits);
      this.#hearers.delete(one);
    };
  }

  onWork(hear: HearWork): () => void {
    this.#workHearers.add(hear);
    return () => this.#workHearers.delete(hear);
  }
}

export const live = new Live();
