/** The two clocks of this page. Pictures bear the monotonic one, which nobody can set; the server is told
 * both, so that a wall clock that is set is noticed. */
export interface Clocks {
  /** Monotonic, from when the page was opened [ms]. */
  page_ms(): number;
  /** The device's clock [ms since 1970]. */
  wall_ms(): number;
}

export const clocks: Clocks = {
  page_ms: () => performance.now(),
  wall_ms: () => Date.now(),
};

/** A picture cannot wait longer than this between its capture and being shown [ms]. */
const LONGEST_WAIT_MS = 5_000;

/**
 * When a picture was captured, by the monotonic clock [ms]: what the camera says where the browser passes it on
 * and it can be true, else when it was shown.
 */
export function captureTime(said_ms: number | undefined, shown_ms: number): number {
  if (said_ms === undefined || !Number.isFinite(said_ms)) return shown_ms;
  return said_ms <= shown_ms + 1 && said_ms > shown_ms - LONGEST_WAIT_MS ? said_ms : shown_ms;
}
