/** The connection of a camera page: says hello, answers pings, sends what waits, comes back after a break. */
import type { Clocks } from "./clocks";
import type { PictureQueue } from "./queue";
import { heard, helloText, pictureHead, pongText, type FromServer, type Hello } from "./wire";

/** What of a WebSocket is used. */
export interface Socket {
  readonly bufferedAmount: number;
  onopen: ((event: Event) => unknown) | null;
  onmessage: ((event: MessageEvent) => unknown) | null;
  onclose: ((event: CloseEvent) => unknown) | null;
  send(data: string | Blob): void;
  close(): void;
}

export type Phase = "off" | "connecting" | "showing" | "lost" | "refused";

export interface Refusal {
  reason: string;
  why: string;
}

/** The server pings every two seconds: silent for longer than this it is out of reach [ms]. */
const SILENT_MS = 7_000;
/** Before the next try: at first, and at most [ms]. */
const FIRST_PAUSE_MS = 500;
const LONGEST_PAUSE_MS = 5_000;
/** Pictures, and bytes in the browser's own buffer, that are under way at once: more would hold pings up. */
const IN_FLIGHT = 16;
const BUFFERED_BYTES = 512 << 10;
/** How often it is looked whether there is room to send, and whether the server is silent [ms]. */
const LOOK_MS = 100;

export class CameraSession {
  phase: Phase = "off";
  refusal: Refusal | undefined;
  /** How the clocks stand, as the server last said [s]. */
  clock: { offset_s: number; at_most_s: number } | undefined;
  /** Breaks of the connection since the start. */
  breaks = 0;
  /** Called after every change. */
  changed: () => void = () => {};
  /** Called when a connection could not be made or broke. */
  failed: () => void = () => {};

  #socket: Socket | undefined;
  #heard_ms = 0;
  #pause_ms = FIRST_PAUSE_MS;
  #again: ReturnType<typeof setTimeout> | undefined;
  #looking: ReturnType<typeof setInterval> | undefined;
  #takeOver = false;

  constructor(
    readonly open: () => Socket,
    readonly hello: () => Omit<Hello, "takeOver">,
    readonly queue: PictureQueue,
    readonly clocks: Clocks,
  ) {}

  get isOn(): boolean {
    return this.phase === "connecting" || this.phase === "showing" || this.phase === "lost";
  }

  /** Begin, also in place of a camera that shows already. */
  start(takeOver = false): void {
    this.stop();
    this.#takeOver = takeOver;
    this.refusal = undefined;
    this.#pause_ms = FIRST_PAUSE_MS;
    this.#looking = setInterval(() => this.#look(), LOOK_MS);
    this.#become("connecting");
    this.#connect();
  }

  stop(): void {
    clearInterval(this.#looking);
    clearTimeout(this.#again);
    this.#drop();
    if (this.phase !== "refused") this.#become("off");
  }

  /** Try at once, for instance because the device says that it is on a network again. */
  hurry(): void {
    if (this.phase !== "lost" || this.#socket) return;
    clearTimeout(this.#again);
    this.#connect();
  }

  add(at_ms: number, jpeg: Blob): void {
    this.queue.add(at_ms, jpeg);
    this.#send();
    this.changed();
  }

  #connect(): void {
    let socket: Socket;
    try {
      socket = this.open();
    } catch {
      this.#lose();
      return;
    }
    this.#socket = socket;
    this.#heard_ms = this.clocks.page_ms();
    socket.onopen = () => socket.send(helloText({ ...this.hello(), takeOver: this.#takeOver }));
    socket.onmessage = (event) => {
      // First of all: until the answer is out, time passes that counts as the network's.
      const page_ms = this.clocks.page_ms();
      const message = heard(event.data);
      if (message?.type === "ping") socket.send(pongText(message.number, page_ms, this.clocks.wall_ms()));
      this.#heard_ms = page_ms;
      if (message && this.#socket === socket) this.#hear(message);
    };
    socket.onclose = () => {
      if (this.#socket === socket) this.#lose();
    };
  }

  #hear(message: FromServer): void {
    switch (message.type) {
      case "welcome":
        this.queue.resume(message.after);
        this.#takeOver = false;
        this.#pause_ms = FIRST_PAUSE_MS;
        this.#become("showing");
        break;
      case "acknowledged":
        this.queue.acknowledge(message.sequence);
        break;
      case "clock":
        this.clock = { offset_s: message.offset_s, at_most_s: message.at_most_s };
        break;
      case "refused":
        // A message that was cut off, or a bench that is opened anew, may go better next time.
        if (message.reason === "message" || message.reason === "closed") this.#lose();
        else this.#refuse(message);
        return;
      case "ping":
        return;
    }
    this.#send();
    this.changed();
  }

  #refuse({ reason, why }: Refusal): void {
    this.refusal = { reason, why };
    this.phase = "refused";
    this.stop();
    this.changed();
  }

  #look(): void {
    if (this.#socket && this.clocks.page_ms() - this.#heard_ms > SILENT_MS) this.#lose();
    else this.#send();
  }

  #send(): void {
    const socket = this.#socket;
    if (this.phase !== "showing" || !socket) return;
    while (this.queue.inFlight < IN_FLIGHT && socket.bufferedAmount < BUFFERED_BYTES) {
      const next = this.queue.take();
      if (!next) return;
      socket.send(new Blob([pictureHead(next.sequence, next.at_ms), next.jpeg]));
    }
  }

  /** The connection is gone: pictures are kept, and it is tried again. */
  #lose(): void {
    if (this.phase === "showing") this.breaks += 1;
    this.#drop();
    this.#become("lost");
    this.#again = setTimeout(() => this.#connect(), this.#pause_ms);
    this.#pause_ms = Math.min(this.#pause_ms * 2, LONGEST_PAUSE_MS);
    this.failed();
  }

  #drop(): void {
    const socket = this.#socket;
    this.#socket = undefined;
    if (!socket) return;
    // Closing a connection that hangs can take minutes; whatever it still says is not heard.
    socket.onopen = socket.onmessage = socket.onclose = null;
    socket.close();
  }

  #become(phase: Phase): void {
    this.phase = phase;
    this.changed();
  }
}
