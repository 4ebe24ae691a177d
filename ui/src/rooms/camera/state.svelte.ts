import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import { camera as words } from "../../words/camera";
import { Capture, ScreenOn, type Hold } from "./capture";
import { clocks } from "./clocks";
import { Pace } from "./pace";
import { PictureQueue } from "./queue";
import { CameraSession, type Phase, type Refusal } from "./session";

/** Pictures kept while the bench is out of reach [bytes]: about half an hour of two a second. */
const LIMIT_BYTES = 256 * 2 ** 20;
const LOOK_MS = 1_000;

export interface Figures {
  captured: number;
  acknowledged: number;
  waiting: number;
  bytes: number;
  givenUp: number;
  breaks: number;
  perSecond: number;
  isLowered: boolean;
  at_most_s: number | undefined;
}

const NOTHING: Figures = {
  captured: 0,
  acknowledged: 0,
  waiting: 0,
  bytes: 0,
  givenUp: 0,
  breaks: 0,
  perSecond: 0,
  isLowered: false,
  at_most_s: undefined,
};

/** The camera of this device at one bench. */
export class CameraRoom {
  readonly limitBytes = LIMIT_BYTES;
  phase = $state<Phase>("off");
  refusal = $state.raw<Refusal | undefined>();
  figures = $state.raw<Figures>(NOTHING);
  cameras = $state.raw<{ id: string; name: string }[]>([]);
  cameraId = $state("");
  perSecond = $state(2);
  width = $state(1280);
  holds = $state.raw<Hold[]>([]);
  held = $state.raw<ReadonlySet<Hold>>(new Set());
  hasTorch = $state(false);
  torchOn = $state(false);
  /** Whether the camera is open and can be seen here. */
  isOpen = $state(false);
  /** Whether pictures are taken. */
  isTaking = $state(false);
  isHidden = $state(false);
  problem = $state("");
  hint = $state("");

  readonly #queue = new PictureQueue(LIMIT_BYTES);
  readonly #pace = new Pace(2);
  readonly #screen = new ScreenOn();
  readonly #session: CameraSession;
  #capture: Capture | undefined;
  #looking: ReturnType<typeof setInterval> | undefined;

  constructor(
    readonly bench: string,
    readonly person: () => string,
  ) {
    const session = crypto.randomUUID();
    this.#session = new CameraSession(
      () => api.cameraSocket(bench),
      () => ({
        session,
        person: this.person(),
        camera: this.#capture?.track?.label ?? "",
        size: this.#capture?.size ?? [0, 0],
      }),
      this.#queue,
      clocks,
    );
    this.#session.changed = () => this.#show();
    this.#session.failed = () => void this.#askWhy();
  }

  /** Lives as long as the page; the camera is shown in `video`. */
  begin(video: HTMLVideoElement): () => void {
    this.#capture = new Capture(video);
    const hurry = () => this.#session.hurry();
    const see = () => (this.isHidden = document.visibilityState === "hidden");
    const stay = (event: BeforeUnloadEvent) => {
      if (this.#queue.waiting > 0) event.preventDefault();
    };
    window.addEventListener("online", hurry);
    document.addEventListener("visibilitychange", see);
    window.addEventListener("beforeunload", stay);
    this.#looking = setInterval(() => this.#look(), LOOK_MS);
    void this.open();
    return () => {
      window.removeEventListener("online", hurry);
      document.removeEventListener("visibilitychange", see);
      window.removeEventListener("beforeunload", stay);
      clearInterval(this.#looking);
      this.#screen.stop();
      this.#session.stop();
      this.#capture?.close();
    };
  }

  /** Opens the camera chosen. */
  async open(): Promise<void> {
    const capture = this.#capture;
    if (!capture || !Capture.isPossible || !Capture.tellsTimes) return;
    this.problem = "";
    try {
      await capture.open(this.cameraId, this.width);
    } catch (error) {
      this.isOpen = false;
      this.problem = cameraWords(error);
      return;
    }
    this.isOpen = true;
    const found = await Capture.cameras();
    this.cameras = found.map((one, i) => ({ id: one.deviceId, name: one.label || words.unnamed(i + 1) }));
    this.cameraId = capture.track?.getSettings().deviceId ?? this.cameraId;
    this.holds = capture.holds();
    this.held = new Set();
    this.hasTorch = capture.hasTorch;
    this.torchOn = false;
    if (this.isTaking) this.#take();
  }

  start(takeOver = false): void {
    this.isTaking = true;
    this.hint = "";
    this.#screen.start();
    this.#take();
    this.#session.start(takeOver);
  }

  /** Takes no more pictures; those that wait still go out. */
  stop(): void {
    this.isTaking = false;
    this.#capture?.stop();
    this.#screen.stop();
    this.#show();
  }

  paceTo(perSecond: number): void {
    this.perSecond = perSecond;
    this.#pace.perSecond = perSecond;
    this.#show();
  }

  async hold(what: Hold, on: boolean): Promise<void> {
    await this.#set(() => this.#capture?.hold(what, on));
    const held = new Set(this.held);
    if (on) held.add(what);
    else held.delete(what);
    this.held = held;
  }

  async torch(on: boolean): Promise<void> {
    await this.#set(() => this.#capture?.torch(on));
    this.torchOn = on;
  }

  async #set(change: () => Promise<void> | undefined): Promise<void> {
    try {
      await change();
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  #take(): void {
    this.#capture?.start(
      (at_ms) => this.#pace.takes(at_ms),
      () => this.#pace.quality,
      ({ at_ms, jpeg }) => this.#session.add(at_ms, jpeg),
    );
  }

  #look(): void {
    if (!this.#session.isOn) return;
    this.#pace.look(clocks.page_ms(), {
      bytes: this.#queue.bytes,
      limitBytes: LIMIT_BYTES,
      connected: this.#session.phase === "showing",
    });
    this.#show();
  }

  #show(): void {
    const { phase, refusal, clock, breaks } = this.#session;
    // Stopped, and everything is there.
    if (!this.isTaking && phase === "showing" && this.#queue.waiting === 0) {
      this.#session.stop();
      return;
    }
    if (phase === "refused" && this.isTaking) this.stop();
    if (phase === "showing") this.hint = "";
    this.phase = phase;
    this.refusal = refusal;
    this.figures = {
      captured: this.#queue.captured,
      acknowledged: this.#queue.acknowledged,
      waiting: this.#queue.waiting,
      bytes: this.#queue.bytes,
      givenUp: this.#queue.givenUp,
      breaks,
      perSecond: this.#pace.rate,
      isLowered: this.#pace.level > 0,
      at_most_s: clock?.at_most_s,
    };
  }

  /** A WebSocket that is refused does not say why; the same address asked plainly does. */
  async #askWhy(): Promise<void> {
    const answer = await api.cameraAnswer(this.bench);
    this.hint = answer === "closed" ? words.notOpen : answer === "no_pass" ? words.passOver : "";
  }
}

function cameraWords(error: unknown): string {
  const name = error instanceof DOMException ? error.name : "";
  if (name === "NotAllowedError") return words.notAllowed;
  if (name === "NotReadableError") return words.inUse;
  return `${words.noCamera}: ${wordsOf(error)}`;
}
