/** Which key does what during a run. */
import type { MarkedMoment, Phase, Press } from "../../api/live";
import type { KeyPress } from "../reading/keys";

export type BenchAction = Press | { key: "sound" | "span" | "temperature" };
export type Steer = Exclude<Press["key"], "mark">;

/**
 * The action of a key press; `code` names the key's place on the keyboard, so that Shift and the layout do
 * not change what the digits mean.
 *
 * A digit always marks first liquid, with Shift always last crystal: a second, nervous press moves the same
 * mark and never becomes the other moment. Keys that print a character do nothing when `letters` is off.
 */
export function actionOf(press: KeyPress & { code: string; repeat?: boolean }, letters: boolean): BenchAction | null {
  if (press.ctrlKey || press.metaKey || press.altKey || press.repeat) return null;
  if (press.key === "Enter") return { key: "attend" };
  if (!letters) return null;
  const digit = /^(?:Digit|Numpad)([123])$/.exec(press.code) ?? /^([123])$/.exec(press.key);
  if (digit) {
    const moment: MarkedMoment = press.shiftKey ? "last_crystal" : "first_liquid";
    return { key: "mark", place: Number(digit[1]), moment };
  }
  switch (press.key.toLowerCase()) {
    case " ":
      return { key: "attend" };
    case "h":
      return { key: "hold" };
    case "p":
      return { key: "pause" };
    case "r":
      return { key: "resume" };
    case "n":
      return { key: "skip" };
    case "s":
      return { key: "stop" };
    case "m":
      return { key: "sound" };
    case "v":
      return { key: "span" };
    case "t":
      return { key: "temperature" };
    default:
      return null;
  }
}

const RESUMABLE: readonly Phase[] = ["holding", "paused", "suspended"];
const GOING: readonly Phase[] = ["running", "holding", "paused", "suspended"];

/** Whether a press means something in this phase; the program has the last word. */
export function means(key: Steer, phase: Phase, attending: boolean): boolean {
  switch (key) {
    case "hold":
    case "skip":
      return phase === "running";
    case "pause":
      return phase === "running" || phase === "holding";
    case "resume":
      return RESUMABLE.includes(phase);
    case "stop":
      return GOING.includes(phase);
    case "attend":
      return phase === "running" && attending;
  }
}

export const isOver = (phase: Phase): boolean => phase === "ended" || phase === "broken";
