import type { WorkState } from "../api/types";
import { count } from "./format";

export const works: Record<WorkState, string> = {
  queued: "waits its turn",
  copying: "copying the files",
  making_pictures: "making pictures to look at",
  reading: "the engine reads",
  done: "done",
  failed: "failed",
};

export const today = {
  underWay: "Under way",
  underWayNone: "Nothing is being heated, imported or read at this moment.",
  waiting: "Waiting for a reading",
  waitingNone: "Every recording has been read.",
  notAgreed: "Not yet agreed",
  notAgreedNone: "Every sample that was read has a result from agreeing runs.",
  undecided: (n: number) => `${count(n, "tube")} read by the engine and not yet confirmed by a person`,
  thermometer: "Thermometers",
  thermometerNone: "No thermometer that is in use waits for a check.",
  thermometerLook: "All thermometers",
  dueOn: (day: string) => `due on ${day}`,
  more: (n: number) => `and ${n} more`,
  newBook: "The book is empty. A first evening goes: add the samples, import a recording (a video of the tubes and the temperature log), then look at the reading and confirm it.",
  addSamples: "Add samples",
  importRecording: "Import a recording",
  look: "Look at it",
  read: "Read",
  runs: (n: number) => count(n, "recording"),
  tubes: (labels: string) => labels || "no tube named",
  chain: (records: number) => count(records, "record"),
  ending: "chain ends in",
  noSample: "not named",
} as const;
