/** Pictures that were captured and that the server has not confirmed yet. */
export interface Waiting {
  sequence: number;
  at_ms: number;
  jpeg: Blob;
}

/**
 * Keeps every captured picture, in order, until it is acknowledged. Its memory is bounded: when it is
 * full, every other picture that was not sent yet is given up, so that what is left still covers the whole
 * time. The numbers of those given up stay free, which tells the server.
 */
export class PictureQueue {
  captured = 0;
  acknowledged = 0;
  givenUp = 0;
  bytes = 0;

  #waiting: Waiting[] = [];
  /** How many of those that wait were sent on this connection. */
  #sent = 0;
  #next = 0;

  constructor(readonly limitBytes: number) {}

  get waiting(): number {
    return this.#waiting.length;
  }

  get inFlight(): number {
    return this.#sent;
  }

  add(at_ms: number, jpeg: Blob): void {
    this.#waiting.push({ sequence: this.#next++, at_ms, jpeg });
    this.captured += 1;
    this.bytes += jpeg.size;
    while (this.bytes > this.limitBytes && this.#thin());
  }

  /** The next picture to be sent; it counts as sent. */
  take(): Waiting | undefined {
    const next = this.#waiting[this.#sent];
    if (next) this.#sent += 1;
    return next;
  }

  /** The server has this picture and those before. */
  acknowledge(sequence: number): void {
    const until = this.#waiting.findIndex((one) => one.sequence > sequence);
    const gone = this.#waiting.splice(0, until < 0 ? this.#waiting.length : until);
    this.#sent = Math.max(0, this.#sent - gone.length);
    this.acknowledged += gone.length;
    for (const one of gone) this.bytes -= one.jpeg.size;
  }

  /** A new connection: the server has everything up to `after`; the rest is sent again. */
  resume(after: number | null): void {
    this.#sent = 0;
    if (after !== null) this.acknowledge(after);
  }

  /** Give up every other picture not sent yet, but the newest; whether there was one. */
  #thin(): boolean {
    const last = this.#waiting.length - 1;
    const kept = this.#waiting.filter((_, i) => i < this.#sent || i === last || (i - this.#sent) % 2 === 0);
    const gone = this.#waiting.length - kept.length;
    if (gone === 0) return false;
    this.#waiting = kept;
    this.givenUp += gone;
    this.bytes = kept.reduce((sum, one) => sum + one.jpeg.size, 0);
    return true;
  }
}
