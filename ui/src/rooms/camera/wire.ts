/** Messages between this page and the server; docs/server.md describes the exchange. */
export const VERSION = 1;

export interface Hello {
  session: string;
  person: string;
  camera: string;
  size: readonly [number, number];
  takeOver: boolean;
}

export type FromServer =
  | { type: "ping"; number: number }
  | { type: "welcome"; after: number | null }
  | { type: "acknowledged"; sequence: number }
  | { type: "clock"; offset_s: number; at_most_s: number }
  | { type: "refused"; reason: string; why: string };

export function helloText(hello: Hello): string {
  const { session, person, camera, size, takeOver } = hello;
  return JSON.stringify({
    type: "hello",
    version: VERSION,
    session,
    ...(person ? { person } : {}),
    camera,
    size,
    take_over: takeOver,
  });
}

export function pongText(number: number, page_ms: number, wall_ms: number): string {
  return JSON.stringify({ type: "pong", number, page_ms, wall_ms });
}

/** A picture's message: its number (u64) and time of capture (f64, ms), least byte first, then the JPEG. */
export function pictureHead(sequence: number, at_ms: number): ArrayBuffer {
  const head = new ArrayBuffer(16);
  const view = new DataView(head);
  view.setBigUint64(0, BigInt(sequence), true);
  view.setFloat64(8, at_ms, true);
  return head;
}

/** What the server said; nothing when it is no message of these. */
export function heard(text: unknown): FromServer | undefined {
  if (typeof text !== "string") return undefined;
  try {
    const message = JSON.parse(text) as FromServer;
    return typeof message.type === "string" ? message : undefined;
  } catch {
    return undefined;
  }
}
