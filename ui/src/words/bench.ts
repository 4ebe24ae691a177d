/** Words at the bench. */
import type { Happening, Leg, LegKind, Look, MarkedMoment, Phase, Purpose, SimulatedFault } from "../api/live";
import { celsius, count, fixed } from "./format";

export const bench = {
  intro: "Benches of this book: heater, thermometer and camera, set to work from here.",
  none: "No bench is described yet. A bench file in the book’s folder says which thermometer, heater and camera stand where.",
  simulated: "simulated",
  simulatedHint: "A simulated bench has no heater: what it shows is computed. Use it to practise.",
  places: (n: number) => count(n, "place"),
  limit: (c: string) => `up to ${c}`,
  isOpen: "at work",
  isShut: "not at work",
  sit: (name: string) => `Sit down at ${name}`,
  all: "All benches",

  speed: "Speed of the simulated bench",
  speedOf: (n: number) => `${n}×`,
  openIt: "Set the bench to work",
  opening: "Setting to work…",
  shut: "Leave the bench",
  shutHint: "Devices are let go, heater off.",
  cannotOpen: "This bench cannot be set to work",
  notOpen: "The devices are not at work yet. Thermometer and camera begin to tell as soon as they are; nothing is heated before a run is started.",

  devices: "Devices",
  thermometer: "Thermometer",
  heater: "Heater",
  camera: "Camera",
  picture: "Live picture",
  pictureAlt: (n: number) => `Live picture of the tubes, number ${n}`,
  noPicture: "No picture yet.",
  pictureStale: (s: number) => `This picture is ${fixed(s, 0)} s old.`,
  browserCamera: "The camera of this bench is a browser’s: its pictures are brought from the device that points at the tubes.",
  toCamera: "Set up its camera in a page of its own",
  behind: (s: number) => `The reading of the pictures is ${fixed(s, 0)} s behind.`,
  passedOver: (n: number) => `${count(n, "picture")} passed over by the engine; the recording keeps them all.`,

  load: "Load",
  loadHint: "Which sample stands in which place, from left to right. Leave a field empty where no tube stands.",
  place: (n: number) => `Place ${n}`,
  unknown: "No sample has this label.",
  addIt: (label: string) => `Add “${label}”`,
  known: "in the book",

  plan: "Programme",
  measuring: "Measuring run",
  measuringHint: "Fast to below the range, soak, then the slow scan through it.",
  scouting: "Scouting run",
  scoutingHint: "One fast ramp to learn roughly where it melts. The tube is discarded.",
  first: "First liquid expected, °C",
  last: "Last crystal expected, °C",
  rate: "Rate of the scan, °C/min",
  scoutRate: "Rate, °C/min",
  soak: "Soak, min",
  below: "Scan begins below first liquid by, °C",
  above: "Scan ends above last crystal by, °C",
  cool: "Cool below first liquid by, °C",
  upTo: "Heat up to, °C",
  attend: "Wait for me before the scan",
  endWhenClear: "End the scan when every tube is clear",
  more: "More of the programme",
  prefilled: {
    result: (label: string) => `From the latest result of ${label}.`,
    scouting: "From the scouting run, which is right within a few degrees.",
  },
  minutes: (n: number) => `${fixed(n, 0)} min to the end of the scan`,
  planning: "Reckoning…",
  needRange: "Type the expected range, or scout first.",
  needTop: "Say how far the block may be heated.",

  givenLeg: (of: Leg) =>
    [
      legWords[of.kind],
      ...(of.to_c != null ? [`to ${celsius(of.to_c)}`] : []),
      ...(of.rate_c_per_min != null ? [`at ${fixed(of.rate_c_per_min, 1)} °C/min`] : []),
      ...(of.minutes != null ? [`${fixed(of.minutes, 1)} min`] : []),
    ].join(" "),
  leaveGiven: "Plan it here instead",

  prepare: "Make ready",
  prepareHint: "For you; nothing is kept of these ticks.",
  checks: {
    dry: "dry",
    ground: "ground fine",
    packed: "packed to 2–3 mm",
    fresh: "fresh tube in every place",
    eyes: "eye protection on",
  },
  cautions: "About this programme",
  coolFirst: (below: string, now: string) => `Cool the block to at least 20 °C below the range before the fresh tube goes in: below ${below}. It is at ${now}.`,
  coolEnough: (below: string, now: string) => `The block is at ${now}, below ${below}: cool enough for the fresh tube.`,
  start: "Start the run",
  starting: "Starting…",
  startKeys: "Enter starts when no field has the focus; from a field it is Ctrl + Enter.",
  unticked: (n: number) => `${count(n, "point")} of the list not ticked.`,
  notWell: "Not every device is well. A run can be started; it is suspended when a device is missed.",
  viewer: "A viewer looks on: choose somebody who measures before you start.",

  now: "Block",
  wanted: "wanted",
  asIndicated: "as indicated",
  noTemperature: "no temperature",
  legOf: (n: number, of: number) => `leg ${n} of ${of}`,
  legTo: (leg: string, c: string) => `${leg} to ${c}`,
  left: (t: string) => `${t} left`,
  about: (t: string) => `about ${t} left`,
  elapsed: (t: string) => `${t} gone`,
  runTime: (t: string) => `run ${t}`,

  plot: "Planned, wanted and actual temperature",
  plotSummary: (actual: string, wanted: string, time: string) => `At ${time} the block is at ${actual}, wanted ${wanted}.`,
  planSummary: (minutes: string, top: string) => `Planned: ${minutes}, up to ${top}.`,
  planned: "planned",
  actual: "actual",
  window: "scan",
  minutesAxis: "min",
  spanWhole: "Whole run",
  spanNear: "Last minutes",

  tubes: "Tubes",
  tube: (place: number) => `Tube ${place}`,
  noTubes: "No tubes found in the picture yet. Marks can be set all the same.",
  outOfSight: "out of sight",
  provisional: "provisional",
  called: (moment: string, at: string, time: string) => `${moment}? ${at} at ${time}`,
  hideCalls: "Hide what the engine says until I have marked",
  hidden: "hidden until you have marked both moments",
  mark: (moment: string) => `Mark ${moment}`,
  markOf: (place: number, moment: string) => `Mark ${moment} of tube ${place}`,
  marked: (at: string, time: string) => `${at} at ${time}`,
  markHint: "A key always marks the same moment. Marking again moves the mark; the last one counts.",

  marks: "Marked",
  noMarks: "Nothing marked yet.",
  moment: "Moment",
  temperature: "Temperature, as indicated",
  time: "Time of the run",
  by: "By",
  events: "What happened",

  coach: "Coach",
  advice: { more: "More", less: "Less", hold: "Leave it", off: "Off" },
  adviceHint: {
    more: "turn the knob up",
    less: "turn the knob down",
    hold: "the rate is as wanted",
    off: "turn the knob to nothing",
  },
  rateActual: "heating at",
  rateWanted: "wanted",
  rateUnknown: "not yet known",
  keyed: "Temperature you read, °C",
  keyIn: "Key it in",

  keys: "Keys",
  steer: "Steer the run",
  letters: "Letter and number keys act",
  press: {
    hold: "Hold",
    pause: "Pause",
    resume: "Resume",
    skip: "Next leg",
    stop: "Stop",
    attend: "I am here: begin the scan",
  },
  stopAsk: "Stop the run for good? The heater goes off; the recording is kept.",
  stopYes: "Yes, stop",
  stopNo: "No, go on",
  ring: "Sound",
  notices: "Notices of the browser",
  noticesDenied: "The browser does not allow notices here.",
  attendTitle: "The block is ready",
  attendText: "Come to the bench: the scan begins when you say so.",
  attendLeft: (t: string) => `After ${t} without you it cools.`,
  faultTitle: "Something is wrong at the bench",

  suspended: "The heater is off until this is mended and you press R.",
  mendedNow: "Mended. The heater stays off until you go on: press R.",
  cannotMend: "The run ends. Look at the bench before anything is heated again.",
  recordingTrouble: "The recording is not being written",
  recordingStopped: "The recording has ended and is being read. A mark set from now on is no longer kept with it.",

  lost: "No connection to the program",
  lostSince: (s: number) => `Nothing heard for ${fixed(s, 0)} s. What you see is as it was then.`,
  lostRun: "The bench goes on with its run. When no page has looked for a minute the heater goes off. Watch the block itself, and switch the heater off by hand if in doubt.",
  lostIdle: "Nothing is being heated by a run.",
  lostAgain: "The page keeps trying, and catches up by itself.",

  after: "The run is over",
  endedWhy: (why: string) => `Why: ${why}.`,
  calledAndMarked: "Called and marked",
  calledColumn: "Engine, provisional",
  markedColumn: "Marked",
  readingWaits: "The recording is read as a whole now; confirm its moments there. What was called here is provisional; what was marked is kept as a reading of its own.",
  toReading: "Go to the recording",
  noRecording: "No recording was kept of this run.",
  estimate: (a: string, b: string) => `It melts roughly between ${a} and ${b}, as indicated and on a fast ramp.`,
  noEstimate: "Nothing was seen to melt. Look at the tubes: if they are still solid, scout higher; if they darkened, it decomposes.",
  planMeasuring: "Plan the measuring run",
  freshTube: "Take a fresh tube: one that has melted once does not count. Cool the block at least 20 °C below the range first.",
  another: "Another run",
  hot: "The block and the tubes are still hot.",

  practice: "Provoke faults",
  practiceHint: "For practice: what is provoked here stays until it is mended here.",
  mendAll: "Mend everything",
  mend: (what: string) => `Mend: ${what}`,
} as const;

export const momentWords: Record<MarkedMoment, string> = { first_liquid: "first liquid", last_crystal: "last crystal" };

export const legWords: Record<LegKind, string> = {
  approach: "approach",
  soak: "soak",
  attend: "attend",
  scan: "scan",
  cool: "cool",
};

export const phaseWords: Record<Phase, string> = {
  running: "running",
  holding: "holding the temperature",
  paused: "paused, heater off",
  suspended: "suspended, heater off",
  stopping: "stopping, heater going off",
  failing: "ending because of a fault",
  ended: "over",
  broken: "broken off",
};

export const purposeWords: Record<Purpose, string> = { scouting: "scouting run", measuring: "measuring run" };

export const lookWords: Record<Look, string> = {
  empty: "empty",
  waiting: "powder, not followed yet",
  solid: "solid",
  settling: "settling, not melting",
  first_liquid: "first liquid?",
  melting: "melting",
  clear: "clear",
  darkened: "darkened: it may decompose",
};

export const deviceWords = { waiting: "nothing told yet", well: "well", doubtful: "doubtful", lost: "lost" } as const;

/** What to do about a device that is not well. */
export const deviceAdvice = {
  thermometer: {
    waiting: "It should tell within a few seconds.",
    doubtful: "Look whether it sits in its well and its display makes sense.",
    lost: "Check its plug and cable; it is taken up again by itself.",
  },
  heater: {
    waiting: "It should tell within a few seconds.",
    doubtful: "Look at the apparatus before you start.",
    lost: "Check its plug and cable. If the block is hot, switch it off by hand.",
  },
  camera: {
    waiting: "It should tell within a few seconds.",
    doubtful: "Look whether the tubes are lit, sharp and in the picture.",
    lost: "Check its plug; without pictures nothing is read and you mark by eye.",
  },
} as const;

/** What to do about a fault, beside what the program says of it. */
export const faultAdvice: Record<string, string> = {
  over_temperature: "Switch the heater off by hand and let the block cool.",
  thermometer_silent: "Check the thermometer’s plug, cable and battery.",
  thermometer_frozen: "Look whether the thermometer’s display still moves and its probe sits in the block.",
  thermometer_jumping: "Check the thermometer’s plug and cable for a loose contact.",
  heating_unasked: "Switch the heater off by hand, at the apparatus or at the plug.",
  not_following: "Look whether the heater is on, its knob where it should be and nothing lies on the block.",
  heater_lost: "Switch the heater off by hand; then check its plug and cable.",
  unwatched: "Stay at the bench, with this page in view.",
  recording_lost: "Make room on the disk or plug it in again.",
};

export const happeningWords: Record<Happening, string> = {
  leg: "leg",
  pressed: "pressed",
  marked: "marked",
  called: "called",
  fault: "fault",
  mended: "mended",
  device: "device",
  doubt: "doubt",
  over: "over",
};

export const simulatedFaults: Record<SimulatedFault, string> = {
  thermometer_unplugged: "thermometer unplugged",
  thermometer_frozen: "thermometer stands still",
  thermometer_jumping: "thermometer jumps",
  heater_stuck: "heater stuck at full power",
  heater_cold: "heater stays cold",
  heater_unreachable: "heater takes no commands",
  camera_unplugged: "camera unplugged",
};
