/** The clock of a video laid on the clock of a log. */
export interface Span {
  from_s: number;
  to_s: number;
}

/** Number of places kept of an offset: milliseconds say nothing here. */
const PLACES = 2;

export class Alignment {
  /** Log time of video time 0 [s]. */
  start_s = $state(0);
  /** First and last picture, video clock. */
  video = $state.raw<Span | null>(null);
  /** First and last row, log clock. */
  log = $state.raw<Span | null>(null);
  /** The picture looked at, video clock [s]. */
  look_s = $state(0);

  /** The video on the log's clock. */
  get videoOnLog(): Span | null {
    return this.video && { from_s: this.start_s + this.video.from_s, to_s: this.start_s + this.video.to_s };
  }

  /** What both cover, log clock; null when they do not meet. */
  get overlap(): Span | null {
    const video = this.videoOnLog;
    if (!video || !this.log) return null;
    const from_s = Math.max(video.from_s, this.log.from_s);
    const to_s = Math.min(video.to_s, this.log.to_s);
    return to_s > from_s ? { from_s, to_s } : null;
  }

  /** Part of the video for which a temperature was logged, 0..1. */
  get covered(): number {
    const { overlap, video } = this;
    if (!overlap || !video || !(video.to_s > video.from_s)) return 0;
    return (overlap.to_s - overlap.from_s) / (video.to_s - video.from_s);
  }

  /** Where the picture looked at stands on the log's clock. */
  get lookOnLog_s(): number {
    return this.start_s + this.look_s;
  }

  /** What the axis shows: both in full, wherever they lie. */
  get shown(): Span {
    const spans = [this.videoOnLog, this.log].filter((span) => span !== null);
    if (spans.length === 0) return { from_s: 0, to_s: 1 };
    const from_s = Math.min(...spans.map((span) => span.from_s));
    const to_s = Math.max(...spans.map((span) => span.to_s));
    const pad = Math.max(1, (to_s - from_s) * 0.04);
    return { from_s: from_s - pad, to_s: to_s + pad };
  }

  shift(by_s: number): void {
    this.set(this.start_s + by_s);
  }

  set(start_s: number): void {
    if (Number.isFinite(start_s)) this.start_s = Number(start_s.toFixed(PLACES));
  }

  look(video_s: number): void {
    if (!this.video) return;
    this.look_s = Math.max(this.video.from_s, Math.min(this.video.to_s, video_s));
  }
}

/** How far a key moves the video on the log's clock [s]; null when it is none of these keys. */
export function shiftOf(press: { key: string; shiftKey: boolean; altKey: boolean }): number | null {
  const way = press.key === "ArrowRight" ? 1 : press.key === "ArrowLeft" ? -1 : 0;
  if (way === 0) return null;
  return way * (press.altKey ? 0.1 : press.shiftKey ? 10 : 1);
}
