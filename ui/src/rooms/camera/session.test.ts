import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { captureTime } from "./clocks";
import { PictureQueue } from "./queue";
import { CameraSession, type Socket } from "./session";

/** A server at the other end of a wire that can be cut. */
class Peer implements Socket {
  bufferedAmount = 0;
  onopen: ((event: Event) => unknown) | null = null;
  onmessage: ((event: MessageEvent) => unknown) | null = null;
  onclose: ((event: CloseEvent) => unknown) | null = null;
  texts: { type: string; [key: string]: unknown }[] = [];
  pictures: Blob[] = [];
  closed = false;
  send(data: string | Blob): void {
    if (typeof data === "string") this.texts.push(JSON.parse(data) as { type: string });
    else this.pictures.push(data);
  }
  close(): void {
    this.closed = true;
  }
  open(): void {
    this.onopen?.(new Event("open"));
  }
  say(message: object): void {
    this.onmessage?.(new MessageEvent("message", { data: JSON.stringify(message) }));
  }
  cut(): void {
    this.onclose?.(new CloseEvent("close"));
  }
}

async function sequences(peer: Peer): Promise<number[]> {
  return Promise.all(
    peer.pictures.map(async (blob) => Number(new DataView(await bytes(blob)).getBigUint64(0, true))),
  );
}

/** jsdom's Blob has no arrayBuffer. */
function bytes(blob: Blob): Promise<ArrayBuffer> {
  return new Promise((resolve) => {
    const reader = new FileReader();
    reader.onload = () => resolve(reader.result as ArrayBuffer);
    reader.readAsArrayBuffer(blob);
  });
}

let peers: Peer[] = [];
let wall_ms = 0;
let session: CameraSession;
let queue: PictureQueue;
const last = () => peers.at(-1) as Peer;
const add = (at: number) => session.add(at, new Blob([new Uint8Array(20)]));

beforeEach(() => {
  vi.useFakeTimers({ toFake: ["setTimeout", "clearTimeout", "setInterval", "clearInterval", "performance"] });
  peers = [];
  wall_ms = 1e12;
  queue = new PictureQueue(1e6);
  session = new CameraSession(
    () => {
      peers.push(new Peer());
      return last();
    },
    () => ({ session: "page-1234", person: "", camera: "Back", size: [640, 480] }),
    queue,
    { page_ms: () => performance.now(), wall_ms: () => wall_ms },
  );
});
afterEach(() => {
  session.stop();
  vi.useRealTimers();
});

function welcome(after: number | null): void {
  last().open();
  last().say({ type: "welcome", after });
}

describe("a camera page's connection", () => {
  it("says hello, answers pings at once with both clocks, and sends after the welcome", async () => {
    session.start();
    add(5);
    last().open();
    expect(last().texts).toEqual([
      { type: "hello", version: 1, session: "page-1234", camera: "Back", size: [640, 480], take_over: false },
    ]);
    vi.advanceTimersByTime(250);
    wall_ms += 3_600_000;
    last().say({ type: "ping", number: 3 });
    expect(last().texts[1]).toEqual({ type: "pong", number: 3, page_ms: performance.now(), wall_ms });
    expect(last().pictures).toHaveLength(0);
    last().say({ type: "welcome", after: null });
    expect(session.phase).toBe("showing");
    expect(await sequences(last())).toEqual([0]);
    const view = new DataView(await bytes(last().pictures[0] as Blob));
    expect([view.getFloat64(8, true), view.byteLength]).toEqual([5, 36]);
  });

  it("keeps everything through a break and takes up where the server is", async () => {
    session.start();
    welcome(null);
    for (let i = 0; i < 4; i++) add(i);
    last().say({ type: "acknowledged", sequence: 1 });
    last().cut();
    expect(session.phase).toBe("lost");
    for (let i = 4; i < 30; i++) add(i);
    expect(queue.waiting).toBe(28);
    vi.advanceTimersByTime(600);
    expect(peers).toHaveLength(2);
    // Number 2 had arrived; its acknowledgement was lost.
    welcome(2);
    expect((await sequences(last()))[0]).toBe(3);
    // A window at a time, so that pings get through.
    expect(last().pictures).toHaveLength(16);
    last().say({ type: "acknowledged", sequence: 18 });
    expect(await sequences(last())).toEqual(Array.from({ length: 27 }, (_, i) => i + 3));
    last().say({ type: "acknowledged", sequence: 29 });
    expect([queue.waiting, queue.acknowledged, queue.givenUp, session.breaks]).toEqual([0, 30, 0, 1]);
  });

  it("does not wait for a connection that hangs", () => {
    session.start();
    welcome(null);
    for (let s = 0; s < 20; s++) {
      vi.advanceTimersByTime(2000);
      last().say({ type: "ping", number: s });
    }
    expect(peers).toHaveLength(1);
    vi.advanceTimersByTime(7200);
    expect(session.phase).toBe("lost");
    expect(peers[0]?.closed).toBe(true);
    // Each try later than the one before, up to five seconds; or at once when asked to hurry.
    vi.advanceTimersByTime(600);
    expect(peers).toHaveLength(2);
    last().cut();
    session.hurry();
    expect(peers).toHaveLength(3);
    // What an old connection still says counts for nothing.
    peers[0]?.say({ type: "welcome", after: 99 });
    expect(session.phase).toBe("lost");
  });

  it("stops where it is refused, and can take over", () => {
    session.start();
    last().open();
    last().say({ type: "refused", reason: "held", why: "another camera shows" });
    expect([session.phase, session.refusal?.reason]).toEqual(["refused", "held"]);
    vi.advanceTimersByTime(60_000);
    expect(peers).toHaveLength(1);
    session.start(true);
    last().open();
    expect(last().texts[0]).toMatchObject({ take_over: true });
    // But a bench that is closed may be opened again.
    last().say({ type: "refused", reason: "closed", why: "the bench is closed" });
    expect(session.phase).toBe("lost");
  });

  it("sends nothing while the browser's own buffer is full", () => {
    session.start();
    welcome(null);
    last().bufferedAmount = 1 << 20;
    add(0);
    expect(last().pictures).toHaveLength(0);
    last().bufferedAmount = 0;
    vi.advanceTimersByTime(150);
    expect(last().pictures).toHaveLength(1);
  });
});

describe("the time of a picture", () => {
  it("is the camera's where it can be true", () => {
    expect(captureTime(980, 1000)).toBe(980);
    expect(captureTime(undefined, 1000)).toBe(1000);
    expect(captureTime(Number.NaN, 1000)).toBe(1000);
    expect(captureTime(1.7e12, 1000)).toBe(1000);
    expect(captureTime(-9000, 1000)).toBe(1000);
  });
});
