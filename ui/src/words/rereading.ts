/** Words of the page on recordings that are read again. */
import type { RereadChange, Rereading } from "../api/rereading";

export const rereading = {
  intro:
    "A new version of the engine reads recordings of this book again. What it finds is compared with what the engine said before; nothing is recorded until a supervisor accepts it. Decisions of people stay as they are.",
  notShared:
    "This book is in a folder. Many recordings are read again in a shared book, where workers on several machines take part; a single one is read again on its own page.",
  engine: (name: string) => `The engine of this server: ${name}.`,
  begin: "Begin",
  beginOthers: "Read those that this version has not read",
  beginAll: "Read all of them again",
  beginning: "Looking for recordings…",
  onlySupervisors: "A supervisor begins and decides.",
  workers: "Who reads",
  noWorker:
    "No worker has taken anything yet. On any machine that reaches the book: meltrange reread work BOOK. Workers of another version take nothing.",
  worker: "Worker",
  read: "Read",
  taken: "Has taken",
  took: "Time for one",
  progress: "Recordings read",
  of: (done: number, all: number) => `${done} of ${all} recordings`,
  failed: (count: number) => (count === 1 ? "1 cannot be read" : `${count} cannot be read`),
  leftOut: (count: number) => `${count} left out`,
  perMin: (rate: string, left: string) => `${rate} a minute, about ${left} to go`,
  changes: "What changes",
  ends: "How far the ends moved",
  end: "End",
  tubes: "Tubes",
  median: "Median",
  most: "95 % at most",
  furthest: "Furthest",
  furthestTubes: "Tubes that moved furthest",
  recording: "Recording",
  tube: "Tube",
  change: "Change",
  moved: "Moved",
  lane: "First liquid ○ and last crystal ●",
  all: "all",
  show: "Show",
  more: "More",
  accept: "Accept and record",
  acceptAsk: (count: number) =>
    `Record ${count} new readings in your name? Readings, decisions and results before stay in the book.`,
  drop: "Drop all of it",
  dropAsk: "Drop it? Nothing of what was found is recorded.",
  tryAgain: "Try those again that cannot be read",
  leave: "Leave out",
  leaveTitle: "Leave this recording out",
  leaveText: "Its new reading is not recorded; the one before stays.",
  leaveLabel: "Why",
  unreadable: "Cannot be read",
  earlier: "Before",
  when: "Begun",
  state: "State",
  none: "Nothing was read again yet.",
  waitsForDecision: "all read; a supervisor accepts or drops it",
} as const;

export const states: Record<Rereading["state"], string> = {
  reading: "being read",
  accepting: "accepted, being recorded",
  accepted: "accepted and recorded",
  dropped: "dropped",
};

export const changes: Record<RereadChange, string> = {
  same: "the same within its uncertainty",
  moved: "moved",
  outcome: "another outcome",
  gained: "something gained",
  lost: "something lost",
};
