import * as api from "../../api/live";

/** Before a picture is asked for again when the last try failed, or the page is hidden [ms]. */
const AGAIN_MS = 1500;
/** Between two pictures [ms]: a bench sixty times as fast has more than anybody can look at. */
const LEAST_MS = 100;

/** The newest picture of a bench, as an address for an `img`. */
export class LivePictureState {
  url = $state("");
  number = $state(0);
  /** Bench clock [s]. */
  time_s = $state(0);
  #stop: AbortController | undefined;

  constructor(private readonly bench: string) {}

  /** Asks for one picture after the other until stopped. */
  start(): void {
    this.stop();
    const stop = new AbortController();
    this.#stop = stop;
    void this.#follow(stop.signal);
  }

  async #follow(signal: AbortSignal): Promise<void> {
    while (!signal.aborted) {
      try {
        if (document.visibilityState === "hidden") {
          await rest(AGAIN_MS);
          continue;
        }
        const picture = await api.picture(this.bench, this.number, signal);
        if (!picture || signal.aborted) continue;
        this.take(picture);
        await rest(LEAST_MS);
      } catch {
        // What is wrong with the camera or the connection is told by the events.
        if (!signal.aborted) await rest(AGAIN_MS);
      }
    }
  }

  take(picture: api.LivePicture): void {
    const before = this.url;
    this.url = URL.createObjectURL(picture.jpeg);
    this.number = picture.number;
    this.time_s = picture.time_s;
    if (before) URL.revokeObjectURL(before);
  }

  /** The bench was set to work anew: its pictures count from one again. */
  again(): void {
    this.number = 0;
  }

  stop(): void {
    this.#stop?.abort();
    this.#stop = undefined;
  }
}

const rest = (ms: number) => new Promise((done) => setTimeout(done, ms));
