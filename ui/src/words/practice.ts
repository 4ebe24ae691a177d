/** Words of the pages on which one learns to read a melt. */
import type { ExerciseKind, FooledBy, PassRule } from "../api/practice";
import { count, fixed } from "./format";

export const practice = {
  intro:
    "Step through the pictures, mark first liquid and last crystal, and see how far off you were. There is no temperature and no opinion to lean on until you have sent your marks.",
  compareReaders: "Reader against reader",
  handout: "Handout",

  exercise: "Exercise",
  attempt: (n: number) => (n === 0 ? "You have not read this one yet." : `You have read this one ${count(n, "time")} before.`),
  why: {
    first: "To begin with.",
    weakest: "Comes next because it is where you have been furthest off.",
    not_yet_seen: "Comes next because you have not read one of its kind yet.",
    plainer_first: "Comes next because a plainer kind is to be read well first.",
    chosen: "Chosen by hand.",
  } as Record<string, string>,
  empty: "There is nothing to practise on here.",
  chooseFirst: "Choose who you are first: your attempts are kept under your name.",
  viewer: "Viewers look on. Whoever wants to practise needs to be a student, an analyst or a supervisor of this book.",
  slow: "The pictures are being drawn; this can take some seconds the first time.",
  picture: (n: number, of: number, time: string) => `Picture ${n} of ${of}, at ${time}`,
  frameOf: (n: number, of: number) => `picture ${n} of ${of}`,
  slider: "Picture",
  whole: "Whole picture",
  column: "Only the column",
  brightness: "Brightness",
  contrast: "Contrast",

  marks: "Mark at the shown picture",
  firstHere: "First liquid here",
  lastHere: "Last crystal here",
  notMarked: "not marked yet",
  markedAt: (time: string) => `at ${time}`,
  goTo: (what: string) => `Go to ${what}`,
  send: "Send my marks",
  sending: "Sending…",
  faults: {
    noFirst: "First liquid is not marked: go to its picture and mark it.",
    noLast: "Last crystal is not marked: go to its picture and mark it.",
    order: "Last crystal lies before first liquid. Mark one of them again.",
    alwaysMelts: "Every exercise melts: both ends are there to be marked.",
  },
  ready: "Both ends are marked.",
  kept: (n: number) =>
    n === 1
      ? "An attempt of yours could not be sent. It is kept on this device and goes out as soon as the program answers."
      : `${n} attempts of yours could not be sent. They are kept on this device and go out as soon as the program answers.`,
  sendKept: "Send now",
  refusedKept: (why: string) => `A kept attempt was refused and is put away: ${why}`,

  result: "How you read it",
  next: "Next exercise",
  again: "The same once more",
  solidLeft: "solid left",
  basisTruth: "Compared with what the simulation knows.",
  basisConsensus: "Compared with what several readers agreed on, each on their own.",
  end: "End",
  yours: "Your mark",
  truth: { truth: "True", consensus: "Agreed" },
  error: "Error",
  errorHint: "Error is your mark minus what is compared with: + is too late, − too early. ± is the standard uncertainty of the latter.",
  limit: "Limit",
  within: "within the limit",
  outside: "outside the limit",
  line: "Your marks and what happened, over time",
  lineLabel: (words: string) => `Time line. ${words}`,
  lineYours: "you",
  lineTrue: { truth: "true", consensus: "agreed" },
  temperature: "along the top: temperature as logged",
  events: "what happened",
  eventFrom: (what: string, from: string, to: string | null) => (to ? `${what} from ${from} to ${to}` : `${what} from ${from}`),
  deciding: (end: string) => `The pictures that decide ${end}`,
  positions: ["before", "here", "after"] as const,
  where: "where you marked",
  pictureAlt: (what: string, position: string, time: string) => `Picture ${position}, ${what}, at ${time}`,
  toPicture: (time: string) => `Show the picture at ${time} large`,
  lost: "A picture could not be fetched.",
  wellRead: "Well read.",

  progress: "Your progress",
  progressOf: (name: string) => `Progress of ${name}`,
  own: "My own progress",
  noAttempts: "No attempt yet. Numbers appear here after the first.",
  bias: "Bias",
  biasHint:
    "Bias is the mean error, ± its standard error: whether one marks too late (+) or too early (−) in general. Spread is the standard deviation of the errors: how much one mark differs from another.",
  spread: "Spread",
  attempts: "Attempts",
  kind: "Kind",
  rms: "typical error",
  byKind: "By kind",
  byKindHint: "Typical error is the root mean square of the latest errors, five at most.",
  curve: "Errors, attempt by attempt",
  curveLabel: (n: number, limit: string) =>
    `Errors of ${count(n, "attempt")} in order, first liquid and last crystal; the band is the limit of ±${limit}.`,
  curveAxis: "attempt",
  curveUnit: "error, °C",
  passed: "passed",
  notPassed: "not passed yet",
  rule: "What it takes",
  ruleText: (rule: PassRule) =>
    `Of the last ${count(rule.of, "attempt")}, at least ${rule.within} within ±${fixed(rule.limit_c, 2)} °C at both ends; no bias beyond ±${fixed(rule.bias_limit_c, 2)} °C at either end; and each of these kinds tried: ${rule.kinds.map((kind) => kinds[kind]).join(", ")}.`,
  missing: "Still missing",
  missingNone: "Nothing is missing.",

  choose: "Choose by hand",
  chooseHint: "Knowing the kind makes it easier: it tells what to look out for.",
  automatic: "Let the program choose",
  recordings: "The book’s own recordings",
  recordingsHint: "Recordings on which several readers agree, each having read on their own.",
  recordingsNone: "No recording of this book has been read by enough people yet.",
  recordingNo: (n: number, place: number | null) => `Recording ${n}${place === null ? "" : `, tube ${place}`}`,
  tried: (n: number) => (n === 0 ? "not read yet" : `read ${count(n, "time")}`),

  readers: "Readers",
  readersHint: "Who has practised, and how far they are.",
  readersNone: "Nobody has practised yet.",
  reader: "Reader",
  standing: "Standing",

  keys: "Keys",
  letters: "Letter keys act",
  keyList: [
    ["← →", "one picture"],
    ["Shift ← →", "one second"],
    ["Home End", "start, end"],
    ["Space", "play, hold"],
    ["+ −", "faster, slower"],
    ["F L", "first liquid, last crystal is here"],
    ["N P", "next, previous mark"],
    ["Z", "whole picture, only the column"],
    ["S", "send"],
  ] as const,
} as const;

export const kinds: Record<ExerciseKind, string> = {
  plain: "plain",
  faint: "faint contrast",
  settling: "settling before melting",
  glistening: "glistening before melting",
  late_last_crystal: "a last crystal that lingers",
  combined: "several at once",
  recording: "a recording of this book",
};

/** What misled, and what to look for: kept short, it is read beside the pictures. */
export const fooled: Record<FooledBy, string> = {
  settling:
    "The powder settled: the column sank or drew in, but stayed dry and grainy all over. First liquid is a drop or film that moves, not powder that does.",
  glistening:
    "The powder glistened: single grains flashed while the column kept its shape. Wait until grains run together and light begins to come through.",
  wetting:
    "The glass grew wet before the powder melted. A film on the wall alone does not count; look for liquid within or under the column.",
  early: "You marked too early. Go on until the picture after shows more of the same: what is liquid stays liquid and grows.",
  late: "You marked too late. Go back picture by picture until the sign is gone; the first picture that shows it is the one.",
  late_last_crystal:
    "A last crystal was still there. Look along the bottom and the wall with the contrast turned up, and step on until nothing solid is left.",
  specks:
    "Specks on the glass stayed when all had melted. What does not shrink or drift from one picture to the next is no crystal.",
};

/** Besides melting. */
const events: Record<string, string> = {
  settling: "settling",
  glistening: "glistening",
  wetting: "wetting of the glass",
  shrinkage: "shrinking",
  shrinking: "shrinking",
  bubbles: "bubbles",
  darkening: "darkening",
  sublimate: "sublimate",
  specks: "specks on the glass",
  collapse: "collapse",
  clear: "clear",
};
export const eventName = (kind: string) => events[kind] ?? kind.replaceAll("_", " ");

const missing: Record<string, string> = {
  attempts: "more attempts",
  within: "more of the last attempts within the limit at both ends",
  bias_first_liquid: "a smaller bias at first liquid",
  bias_last_crystal: "a smaller bias at last crystal",
  kinds: "kinds that were not tried yet",
};
/** A code that is not known here is shown as it is, rather than left out. */
export const missingText = (code: string) => missing[code] ?? code.replaceAll("_", " ");
/** Too early or too late, in a word. */
export const side = (error_c: number) => (error_c > 0 ? "late" : error_c < 0 ? "early" : "exactly");
