/** The device's camera: pictures with their times, and what can be set on it. */
import { captureTime } from "./clocks";

/** Settings that hold a picture still and that not every camera and browser offers. */
export type Hold = "exposureMode" | "whiteBalanceMode" | "focusMode";
export const HOLDS: readonly Hold[] = ["exposureMode", "whiteBalanceMode", "focusMode"];

type Offered = MediaTrackCapabilities & Partial<Record<Hold, string[]>> & { torch?: boolean | boolean[] };
type Wanted = MediaTrackConstraintSet & Partial<Record<Hold, string>> & { torch?: boolean };

/** Pictures that are coded at the same time; further ones are passed over. */
const CODING = 4;

export interface Taken {
  at_ms: number;
  jpeg: Blob;
}

export class Capture {
  readonly video: HTMLVideoElement;
  /** Pictures that came while too many were being coded. */
  passedOver = 0;
  #stream: MediaStream | undefined;
  #running = false;
  /** Tells callbacks of an earlier start that they are over. */
  #round = 0;
  #coding = 0;
  #last: Promise<void> = Promise.resolve();

  constructor(video: HTMLVideoElement) {
    this.video = video;
  }

  /** Whether this page may have a camera at all: browsers give none to pages without TLS, but for this machine's own. */
  static get isPossible(): boolean {
    return typeof navigator !== "undefined" && Boolean(navigator.mediaDevices?.getUserMedia);
  }

  /** Whether the browser tells when it shows a picture: timers of the page would tell times too badly. */
  static get tellsTimes(): boolean {
    return typeof HTMLVideoElement !== "undefined" && "requestVideoFrameCallback" in HTMLVideoElement.prototype;
  }

  /** Cameras; they have names only once one was allowed. */
  static async cameras(): Promise<MediaDeviceInfo[]> {
    return (await navigator.mediaDevices.enumerateDevices()).filter((one) => one.kind === "videoinput");
  }

  /** Opens a camera, the one at the back where none is named. */
  async open(deviceId: string, width: number): Promise<void> {
    this.close();
    const which: MediaTrackConstraints = deviceId ? { deviceId: { exact: deviceId } } : { facingMode: { ideal: "environment" } };
    this.#stream = await navigator.mediaDevices.getUserMedia({ audio: false, video: { ...which, width: { ideal: width } } });
    this.video.srcObject = this.#stream;
    await this.video.play();
  }

  close(): void {
    this.stop();
    for (const track of this.#stream?.getTracks() ?? []) track.stop();
    this.#stream = undefined;
    this.video.srcObject = null;
  }

  get track(): MediaStreamTrack | undefined {
    return this.#stream?.getVideoTracks()[0];
  }

  get size(): readonly [number, number] {
    return [this.video.videoWidth, this.video.videoHeight];
  }

  get #offered(): Offered {
    // Not in every browser.
    return (this.track?.getCapabilities?.() ?? {}) as Offered;
  }

  /** Settings that can be held here. */
  holds(): Hold[] {
    return HOLDS.filter((one) => this.#offered[one]?.includes("manual"));
  }

  get hasTorch(): boolean {
    const torch = this.#offered.torch;
    return Array.isArray(torch) ? torch.includes(true) : torch === true;
  }

  async hold(what: Hold, held: boolean): Promise<void> {
    await this.#set({ [what]: held ? "manual" : "continuous" });
  }

  async torch(on: boolean): Promise<void> {
    await this.#set({ torch: on });
  }

  async #set(wanted: Wanted): Promise<void> {
    await this.track?.applyConstraints({ advanced: [wanted as MediaTrackConstraintSet] });
  }

  /** Takes every picture that `wants` asks for, in order, until stopped. */
  start(wants: (at_ms: number) => boolean, quality: () => number, take: (taken: Taken) => void): void {
    this.#running = true;
    const round = ++this.#round;
    const next = () =>
      this.video.requestVideoFrameCallback((shown_ms, about) => {
        if (!this.#running || round !== this.#round) return;
        next();
        const at_ms = captureTime(about.captureTime, shown_ms);
        if (this.#coding >= CODING) this.passedOver += 1;
        else if (wants(at_ms)) this.#take(at_ms, quality(), take);
      });
    next();
  }

  stop(): void {
    this.#running = false;
  }

  #take(at_ms: number, quality: number, take: (taken: Taken) => void): void {
    const [width, height] = this.size;
    if (!width || !height) return;
    const canvas = document.createElement("canvas");
    canvas.width = width;
    canvas.height = height;
    canvas.getContext("2d", { alpha: false })?.drawImage(this.video, 0, 0);
    const coded = new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
    this.#coding += 1;
    // One after the other, whichever is coded first.
    this.#last = Promise.all([coded, this.#last]).then(([jpeg]) => {
      this.#coding -= 1;
      if (jpeg && this.#running) take({ at_ms, jpeg });
    });
  }
}

/** Keeps the screen on while it is wanted: browsers hold pictures back from a page that nobody sees. */
export class ScreenOn {
  #lock: WakeLockSentinel | undefined;
  #wanted = false;
  readonly #again = () => {
    if (this.#wanted && document.visibilityState === "visible") void this.#ask();
  };

  start(): void {
    this.#wanted = true;
    document.addEventListener("visibilitychange", this.#again);
    void this.#ask();
  }

  stop(): void {
    this.#wanted = false;
    document.removeEventListener("visibilitychange", this.#again);
    void this.#lock?.release();
    this.#lock = undefined;
  }

  async #ask(): Promise<void> {
    try {
      this.#lock = await navigator.wakeLock?.request("screen");
    } catch {
      // Refused, for instance on a low battery: the page says to keep the screen on.
    }
  }
}
