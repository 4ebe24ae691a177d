/** Words that several rooms use. */
import type { Convention, Outcome, Role, Standing, RecordingState } from "../api/types";

export const program = "meltrange";

export const rooms = {
  today: "Today",
  benches: "Benches",
  samples: "Samples",
  sample: "Sample",
  recordings: "Recordings",
  reading: "Reading",
  import: "Import a recording",
  importShort: "Import",
  compare: "Compare",
  people: "People",
  programme: "Plan a run",
  sessions: "Sessions",
  session: "Session",
  thermometers: "Thermometers",
  thermometer: "Thermometer",
  standards: "Standards",
  identity: "What could it be",
  identityShort: "Candidates",
  mixed: "Mixed melting",
  library: "Library",
  out: "Out and in",
  me: "My account",
  access: "Access log",
  rereading: "Read again",
  practice: "Practice",
  readers: "Reader against reader",
  handout: "Filling a tube and reading a melt",
  nowhere: "No such page",
} as const;

export const frame = {
  skip: "Skip to the page",
  navigation: "Rooms of the lab book",
  toDark: "Dark",
  toLight: "Light",
  theme: "Use dark colours",
  who: "At the bench",
  nobody: "Nobody chosen",
  account: (name: string) => `${name}: my account`,
  logOut: "Log out",
  chooseFirst: "Choose who you are before anything is written: every record carries a name.",
  live: "Live",
  notLive: "Not connected: what you see may be out of date",
  nowhere: "Nothing is kept under this address. The links above lead on.",
  loading: "Fetching…",
  noAnswer: "The program does not answer. Is meltrange serve still running on this machine?",
  tryAgain: "Try again",
  close: "Close",
  cancel: "Cancel",
  save: "Save",
  keys: "Keys",
  none: "–",
} as const;

export const roles: Record<Role, string> = {
  supervisor: "supervisor",
  analyst: "analyst",
  student: "student",
  viewer: "viewer",
};

export const outcomes: Record<Outcome, string> = {
  melted: "melted",
  partly_melted: "partly melted",
  unmelted: "unmelted",
  decomposed: "decomposed",
  empty: "empty tube",
};

export const standings: Record<Standing, string> = {
  unread: "not read yet",
  read: "read, no result yet",
  not_agreed: "not yet agreed",
  agreed: "agreed",
};

export const recordingStates: Record<RecordingState, string> = {
  under_way: "under way",
  waits_for_reading: "waits for a reading",
  read: "read",
};

export const conventions: Record<Convention, string> = {
  as_logged: "as logged, not corrected",
  thermodynamic: "corrected, thermodynamic convention",
  at_rate: "corrected, at-rate convention",
  not_stated: "corrected, convention not stated",
};

export const firstLiquid = "first liquid";
export const lastCrystal = "last crystal";
export const asLogged = "as logged, not corrected";
export const standardUncertainty =
  "± is the standard uncertainty of reading and log, without the thermometer’s.";

/** "tube 2". */
export const tube = (place: number) => `tube ${place}`;

export const cautions = {
  title: "Before you heat or touch anything",
  heat: "Block, lamp and tubes stay hot long after heating ends.",
  glass: "Thin glass breaks: eye protection on, broken tubes into the container for glass.",
  fumes: "Some substances give off fumes or decompose violently when heated in a closed space. Do not heat what may be energetic or what nobody has assessed.",
  defer: "Your laboratory’s rules, the safety data sheet and the responsible person come before anything this page says.",
} as const;
