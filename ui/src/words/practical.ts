/** Words of class sessions: set-up, labels, the instructor's board, the page of a seat. */
import type { InstructorStep, PairOfUnknowns, PracticalState, SeatStanding, SeatStep } from "../api/practicals";
import { celsius, count, difference, fixed } from "./format";

/** "7 min". */
export const minutes = (n: number) => `${fixed(Math.max(0, Math.round(n)), 0)} min`;
/** "seats 3, 4 and 9". */
export function seatList(seats: readonly number[]): string {
  const sorted = [...seats].sort((a, b) => a - b).map(String);
  const last = sorted.pop();
  if (last === undefined) return "no seat";
  return sorted.length ? `seats ${sorted.join(", ")} and ${last}` : `seat ${last}`;
}
/** "113.2–114.5 °C". */
export const range = (first_c: number, last_c: number, places = 1) => `${fixed(first_c, places)}–${celsius(last_c, places)}`;

export const states: Record<PracticalState, string> = { prepared: "prepared", under_way: "under way", over: "over" };

export const standings: Record<SeatStanding, string> = {
  empty: "nobody here",
  waits: "waits",
  turn: "called",
  heating: "heating",
  done: "done",
  stuck: "stuck",
};
export const standingSigns: Record<SeatStanding, string> = { empty: "○", waits: "◷", turn: "▶", heating: "▲", done: "✓", stuck: "!" };
export const standingLooks: Record<SeatStanding, string> = { empty: "", waits: "", turn: "new", heating: "warn", done: "good", stuck: "bad" };

const flagWords: Record<string, string> = {
  runs_disagree: "runs disagree",
  readers_disagree: "readings of one run disagree",
  far_from_unknown: "far from what is in the vial",
  swapped: "vial swapped",
  no_action: "nothing done for long",
};
export const flag = (code: string) => flagWords[code] ?? code.replaceAll("_", " ");

export const told: Record<PairOfUnknowns["told"], string> = {
  by_range: "told by range",
  by_mixed_melting: "mixed melting only",
  too_close: "too close",
};

export const practicals = {
  title: "Practicals",
  intro: "A practical is a class session: every seat has a vial with an unknown, benches are shared, and everybody sees what to do next.",
  none: "No practical is prepared yet.",
  add: "Prepare a practical",
  about: (seats: number, people: number) => `${count(seats, "seat")} · ${people === 0 ? "nobody here yet" : `${count(people, "person", "people")} here`}`,
  made: (when: string) => `since ${when}`,
  link: "Practicals: class sessions",
  all: "All practicals",
  joinInstead: "A student comes in under",
} as const;

export const setUp = {
  title: "Prepare a practical",
  intro: "Each seat gets one vial; neighbours get different unknowns. Nothing is heated by anything on this page.",
  class: "Class",
  name: "Title",
  nameUsual: (day: string) => `Practical ${day}`,
  seats: "Seats",
  perRow: "Seats in a row",
  people: "People at a seat",
  one: "one person",
  pair: "a pair",
  runs: "Runs each",
  length: "Length, min",
  operators: "Loads set in at a time",
  operatorsHint: "How many people can set tubes in at the same moment; usually one at each bench.",
  uncertainty: "Standard uncertainty of one determination, °C",
  uncertaintyHint: "Of this class, by its readings and thermometers: 0.5 °C is a guess until yours is known.",

  unknowns: "Unknowns",
  find: "Find in the library",
  findHint: "Name, CAS number or formula",
  looking: "Looking…",
  nothing: "Nothing in the library goes by that name.",
  take: (name: string) => `Take ${name}`,
  noTemperature: "no melting temperature in the library",
  refused: (name: string, why: string) => `${name} is not to be heated in a capillary: ${why}. Choose another. Local rules and the responsible person decide.`,
  typed: "Add a line",
  substance: "Substance",
  first: "First liquid, °C",
  last: "Last crystal, °C",
  hazards: "Hazards",
  fusion: "Enthalpy of fusion, J/mol",
  of: (field: string, name: string) => `${field}: ${name || "…"}`,
  drop: "Drop",
  dropOne: (name: string) => `Drop ${name || "this line"}`,
  fromLibrary: "From the library: a literature value and one degree below. Put in what this lot really showed.",
  noneYet: "No unknown yet. Two at least, so that neighbours differ.",
  noHazard: "Nothing noted; that does not mean harmless. Look into the safety data sheet.",

  pairs: "Can they be told apart?",
  pairsNeed: (u: number, ratio: number) =>
    `With ${fixed(u, 2)} °C for each determination, two ranges are told apart from a ratio of ${fixed(ratio, 1)} on: distance over the standard uncertainty of a difference.`,
  pairsSummary: (range: number, mixed: number, close: number) =>
    `${count(range, "pair")} told by range, ${mixed} by mixed melting only, ${close} too close.`,
  pairsWait: "Two unknowns with their ranges, and every pair is looked at.",
  pair_: "Pair",
  distance: "Apart",
  ratio: "Ratio",
  told: "Told",
  mixed: "1:1 mixture, last crystal",
  depression: (by: number) => `${difference(-Math.abs(by), 1)} against the lower of the two`,
  tooClose: (one: string, other: string) => `${one} and ${other} cannot be told apart by this class: drop one of them.`,
  onlyMixed: (one: string, other: string) => `${one} and ${other} need a mixed melting: put reference vials out, or drop one of them.`,

  benches: "Benches",
  bench: "Bench",
  places: "Places",
  start: "Block at the start, °C",
  heat: "Heats, °C/min",
  cool: "Cools, time constant, min",
  max: "Up to, °C",
  addBench: "Add a bench",
  fromBook: (name: string) => `Add ${name} of the book`,

  rubric: "Points",
  rubricHint: "Marks are suggested by these; you decide each of them before students see any.",
  identity: "Right name",
  range: "Range",
  agreement: "Runs agree",
  care: "Care",
  rangeWithin: "All points for a range this near, °C",
  agreementWithin: "Runs agree within, °C",
  rate: "Heating through the melting no faster than, °C/min",

  make: "Deal the vials",
  making: "Dealing…",
  again: "Nothing was made yet.",
  faults: {
    title: "A title is missing.",
    seats: "Seats are a whole number, 1 to 100.",
    perRow: "Seats in a row are a whole number, 1 or more.",
    unknowns: "There are fewer than two unknowns.",
    name: "An unknown has no name.",
    range: (name: string) => `${name || "An unknown"} has no whole range: first liquid and last crystal are needed.`,
    backwards: (name: string) => `${name || "An unknown"}: the last crystal comes below the first liquid.`,
    twice: (name: string) => `${name} is in the list twice.`,
    uncertainty: "The standard uncertainty is a number above 0.",
    benches: "There is no bench.",
    benchNames: "Benches need names, each its own.",
    numbers: "Runs, length and loads set in at a time are numbers above 0.",
  },
} as const;

export const labels = {
  title: "Labels",
  print: "Print",
  back: "To the board",
  join: "Join the practical",
  joinHow: "Scan this, or open the address and type the code",
  code: "Class code",
  address: "Address",
  seat: (n: number) => `Seat ${n}`,
  vial: (code: string) => `Vial ${code}`,
  type: "Code",
  qr: (n: number) => `Square code for seat ${n}`,
  qrClass: "Square code for the class",
  hint: "A4, three labels in a row and eight rows. Print at 100 %, without fitting to the page. No label says what is in the vial.",
  keep: "Whoever has a label’s code can sit down at its seat. Give each label to its seat only.",
} as const;

export const board = {
  since: (clock: string) => `began at ${clock}`,
  minute: (n: number, of: number) => `minute ${Math.floor(n)} of ${Math.round(of)}`,
  left: (n: number) => `${minutes(n)} left`,
  over: (n: number) => `${minutes(n)} over time`,
  counts: (parts: readonly string[]) => parts.join(" · "),
  countOf: (n: number, standing: SeatStanding) => `${n} ${standings[standing]}`,
  asksN: (n: number) => `${n} ${n === 1 ? "asks" : "ask"} for help`,
  resultsN: (n: number, of: number) => `${n} of ${of} runs in`,
  fits: (at: number) => `Planned to be done after ${minutes(at)}.`,
  fitsNot: (at: number, length: number) => `Does not fit: done after ${minutes(at)}, ${minutes(at - length)} too late. A bench more, fewer runs, or fewer seats.`,
  old: (clock: string) => `Not connected: this is how it stood at ${clock}.`,

  begin: "Begin",
  beginHint: "The clock starts, loads are planned for the seats that are taken, and the first of them are called.",
  end: "Over",
  endAsk: "End the practical? Nobody is called any more; what is in the record stays.",
  planAnew: "Plan anew",
  addSeat: "Add a seat",
  release: "Release the marks",
  releaseAsk: "Show every seat its marks and what was in its vial?",
  takeBack: "Take the marks back",
  gradebook: "Gradebook (CSV)",
  labels: "Labels",
  joinCode: "Class code",
  forget: "Forget names",
  forgetAsk: "Forget the names of this class? The record stays, with pseudonyms: seats, results, marks, times. The names cannot be brought back, and a gradebook from now on has none.",
  forgetAgain: "Really? Take the gradebook with names first if you need it.",
  namesKept: "Names are kept until you forget them.",
  namesGone: "Names are forgotten; pseudonyms stay.",
  yes: "Yes",
  no: "No",
  more: "More",
  showVials: "Show what is in the vials",
  hideVials: "Hide what is in the vials",

  benches: "Benches",
  nowIn: "In it now",
  empty: "free",
  next: "Next",
  noNext: "nothing more",
  called: "called",
  at: (clock: string) => `at ${clock}`,
  inMin: (n: number) => (n <= 0 ? "due" : `in ${minutes(n)}`),
  overdue: (n: number) => `${minutes(n)} overdue`,
  loads: (n: number) => `${count(n, "load")} left`,
  setIn: "Set in",
  setInOf: (bench: string, seats: string) => `Set in at ${bench}: ${seats}`,
  ended: "Ended",
  endedOf: (bench: string, seats: string) => `Ended at ${bench}: ${seats}`,
  out: "Out…",
  outOf: (bench: string) => `Bench ${bench} out`,
  outTitle: (bench: string) => `Take bench ${bench} out`,
  outText: "Nobody is called to it any more; the rest is planned anew on the other benches. Mind the hot block.",
  outWhy: "What is wrong with it",
  outAction: "Take it out",
  isOut: (why: string) => (why ? `out: ${why}` : "out"),
  back: "Back again",
  backOf: (bench: string) => `Bench ${bench} is back`,

  seats: "Seats",
  byNeed: "By need",
  byNumber: "By number",
  order: "Order of the seats",
  seat: (n: number) => `Seat ${n}`,
  vial: (code: string) => `vial ${code}`,
  nobody: "nobody",
  sinceMin: (n: number) => (n < 1 ? "just now" : `for ${minutes(n)}`),
  asks: (clock: string, min: number) => `Asks for help since ${clock} (${minutes(min)})`,
  helpGiven: "Help given",
  helpGivenTo: (seat: number) => `Help given to seat ${seat}`,
  run: (n: number) => `Run ${n}`,
  runOf: (n: number, of: number) => `run ${n} of ${of}`,
  turnAt: (bench: string, when: string) => `bench ${bench}, ${when}`,
  identified: (name: string) => `says: ${name}`,
  notIdentified: "no name yet",
  holds: (name: string) => `in the vial: ${name}`,
  details: "Details",
  detailsOf: (seat: number) => `Details of seat ${seat}`,
  marked: (points: string) => `${points} points`,

  close: "Close",
  people: "People",
  here: "here",
  away: "away",
  joined: (clock: string) => `since ${clock}`,
  results: "Results",
  noResults: "No result yet.",
  first: "First liquid",
  last: "Last crystal",
  rate: "Rate",
  fresh: "fresh tube",
  reused: "tube used again",
  note: "Note",
  by: "By",
  when: "When",
  bench: "Bench",
  swap: "Another unknown is in the vial",
  swapTo: "Really in it",
  swapWhy: "How that is known",
  swapDo: "Write it down",
  newCode: "New code (lost phone)",
  newCodeHint: "The old code, and whoever came in with it, is out at once. What they did stays.",
  newCodeShown: (seat: number) => `New code for seat ${seat}`,
  newCodeWait: "Waiting for the new code…",
  marks: "Marks",
  suggested: "Suggested",
  overridden: "Set by you",
  parts: { identity: "Name", range: "Range", agreement: "Agreement", care: "Care" },
  total: (n: number, of: number) => `${points(n)} of ${points(of)}`,
  reasons: "Why",
  markWhy: "Why they are changed",
  markSet: "Set these marks",
  noMark: "Nothing to mark yet.",
  released: "Seats see their marks.",
  notReleased: "Seats do not see marks yet.",

  history: "History",
  historyHint: "Everything that was done, newest first. It stays in the book.",
  historyAll: (n: number) => `Show all ${n}`,
  what: "What",
  who: "Who",
  step: (step: InstructorStep) => instructorStep(step),
} as const;

/** Points without needless zeros: "7.5", "10". */
export function points(n: number): string {
  return fixed(n, Number.isInteger(Math.round(n * 10) / 10) ? 0 : 1);
}

export const join = {
  title: "Join a practical",
  intro: "The code stands on your vial’s label, or on the board.",
  code: "Code",
  codeHint: "Capital or small letters, with or without dashes",
  name: "Your name (you may leave it empty)",
  kept: "You are known here by a pseudonym. A name that you give is kept apart from the record, seen by the instructor only, and deleted when the instructor forgets the names of this class. What you measure stays in the record under the pseudonym.",
  seat: "Number of your seat",
  seatHint: "Only with the code from the board; the code on your vial knows its seat.",
  go: "Sit down",
  going: "One moment…",
  wait: (s: number) => `Too many wrong codes from here. Wait ${s < 90 ? count(Math.ceil(s), "second") : minutes(s / 60)}, then try again.`,
  again: "You sit here already",
  goOn: (title: string, seat: number) => `Go on: ${title}, seat ${seat}`,
  out: "You are not at this seat any more: a new code was given out, or the page was opened on another device. Ask the instructor for the code.",
  logIn: "I have an account: log in",
} as const;

export const seat = {
  title: (n: number) => `Seat ${n}`,
  vial: "Vial",
  you: "You are",
  with: (names: string) => `with ${names}`,
  runs: (done: number, of: number) => `${done} of ${count(of, "run")} done`,

  now: "What to do now",
  prepared: "The practical has not begun.",
  preparedMore: "Dry and grind what is in your vial, and pack a capillary, 2 to 3 mm high. You are called here.",
  over: "The practical is over.",
  overMore: "Results that are not sent yet are still taken.",
  waitRun: (run: number) => (run === 1 ? "Wait for your turn." : `Wait for run ${run}.`),
  waitMore: (before: number, bench: string, clock: string) =>
    `${before === 0 ? "You are next" : `${count(before, "load")} before you`} at bench ${bench}, about ${clock}.`,
  turn: (bench: string) => `Your turn at bench ${bench}: set in.`,
  turnMore: (seats: readonly number[]) => (seats.length ? `Together with ${seatList(seats)}.` : "You have it to yourself."),
  heating: (bench: string) => `Heating at bench ${bench}: watch your tube.`,
  heatingMore: (clock: string) => `Until about ${clock}. Note the temperatures of the first liquid and of the last crystal.`,
  result: (run: number) => `Enter what run ${run} showed.`,
  identify: "Say what it is.",
  identifyMore: "Compare your range with the stock list. Two names near each other? A mixed melting tells.",
  disagree: "Your runs do not agree.",
  disagreeMore: "Look for why: heating rate, height of the column, reading. Ask whether another run can be had.",
  done: "Done.",
  doneMore: "You can still correct results, change the name, or practise reading. Marks come when they are released.",
  marked: "Your marks are here.",
  noTurn: "No load is planned for you just now.",
  noTurnMore: "The instructor’s plan is being changed, or all loads are given out. Ask if this stays.",
  setIn: "Set in",
  ended: "Ended",
  turnCautions: "Before you set in",
  turnHot: "Block and tubes are hot, the glass is thin: eye protection on, no fingers on the block.",
  turnUsual: [
    "Block and tubes are hot, the glass is thin: eye protection on, no fingers on the block.",
    "Your powder is an unknown: gloves, no smelling. Stop and ask when it fumes, darkens or foams.",
  ],
  turnRules: "Your laboratory’s rules and the responsible person decide.",

  results: "Results",
  resultNew: (run: number) => `Result of run ${run}`,
  run: "Run",
  first: "First liquid, °C",
  last: "Last crystal, °C",
  rate: "Heating rate, °C/min",
  fresh: "A fresh tube",
  note: "Note",
  save: "Save the result",
  saved: "Saved.",
  correct: (run: number) => `Correct run ${run}`,
  unsent: "not sent yet",
  by: (who: string) => `by ${who}`,
  yours: "yours",
  noResults: "None yet.",
  faults: {
    first: "The first liquid is missing, or is no number.",
    last: "The last crystal is missing, or is no number.",
    backwards: "The last crystal cannot come below the first liquid: look which is which.",
    outside: "A temperature between −50 and 450 °C is expected.",
    rate: "The heating rate is a number above 0, at most 50 °C/min; leave it empty if you do not know it.",
  },
  wide: (c: number) => `${fixed(c, 1)} °C from end to end is wide: a wet or impure powder, fast heating, or a slip in reading?`,
  fast: (c: number) => `${fixed(c, 1)} °C/min is fast: the range comes out wide and high.`,

  agreement: "Do the runs agree?",
  agreementNone: "That shows with the second run.",
  agreed: "They agree.",
  notAgreed: "They do not agree.",
  differences: (first: number | null, last: number | null) =>
    `First liquid ${celsius(first)}, last crystal ${celsius(last)} apart.`,

  name: "What is it?",
  choose: "Choose from the stock list",
  why: "Why",
  whyHint: "Your range, what else it could be, and why not that",
  say: "Say that it is this",
  said: (name: string) => `You say: ${name}`,
  sayAnew: "You may change this until the practical is over.",

  help: "Help",
  helpText: "What is the matter?",
  helpAsk: "Ask for help",
  helpAsked: (clock: string) => `Asked at ${clock}. The instructor sees it.`,
  helpDone: "No longer needed",
  notes: "Notes",
  noteText: "New note",
  noteAdd: "Add the note",
  noNotes: "None yet.",
  practice: "Practise reading while you wait",

  marks: "Marks",
  truth: (name: string, span: string) => `In your vial: ${name}, ${span}.`,
  total: (n: number, of: number) => `${points(n)} of ${points(of)} points`,
  leave: "Leave this seat on this device",
  leaveHint: "For a borrowed phone. What you did stays.",
} as const;

export const sending = {
  unsent: (n: number) => `${n} not sent yet`,
  unsentMore: "Kept on this device; goes out by itself.",
  atRisk: "This browser keeps nothing: leave the page open until all is sent.",
  held: (n: number) => `${count(n, "step")} of somebody who is not logged in here any more`,
  heldDrop: "Throw away",
  refusedTitle: "Not taken",
  refused: (step: string, clock: string) => `${step}, ${clock}`,
  again: "Send again",
  dismiss: "Dismiss",
  allSent: "All sent.",
} as const;

function instructorStep(step: InstructorStep): string {
  switch (step.what) {
    case "begin":
      return "Begin";
    case "over":
      return "Over";
    case "bench_out":
      return `Bench ${step.bench} out`;
    case "bench_back":
      return `Bench ${step.bench} back`;
    case "set_in":
      return `Set in at bench ${step.bench}`;
    case "ended":
      return `Ended at bench ${step.bench}`;
    case "swap":
      return `Swap at seat ${step.seat}`;
    case "add_seat":
      return "One more seat";
    case "new_code":
      return `New code for seat ${step.seat}`;
    case "help_given":
      return "Help given";
    case "mark":
      return `Marks of seat ${step.seat}`;
    case "release":
      return "Marks released";
    case "take_back":
      return "Marks taken back";
    case "plan_anew":
      return "Plan anew";
    case "forget_names":
      return "Forget names";
  }
}

function seatStep(step: SeatStep): string {
  switch (step.what) {
    case "set_in":
      return "Set in";
    case "ended":
      return "Ended";
    case "result":
      return `Result of run ${step.run}: ${range(step.first_liquid_c, step.last_crystal_c)}`;
    case "identify":
      return `What it is: ${step.name}`;
    case "note":
      return "Note";
    case "ask_help":
      return "Asking for help";
    case "help_done":
      return "Help no longer needed";
  }
}

/** A step in a few words, whoever did it. */
export function stepWords(step: { what: string }): string {
  if (step.what === "set_in" || step.what === "ended") {
    return "bench" in step ? instructorStep(step as InstructorStep) : seatStep(step as SeatStep);
  }
  return (seatStep(step as SeatStep) as string | undefined) ?? (instructorStep(step as InstructorStep) as string | undefined) ?? step.what;
}
