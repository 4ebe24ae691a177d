import type { Certificate, EndName, ReferenceConvention, ThermometerState } from "../api/types";
import { count, difference, fixed, rate } from "./format";

export const states: Record<ThermometerState, string> = {
  in_order: "in order",
  due: "check due",
  overdue: "check overdue",
  out_of_control: "out of control",
  never_checked: "never checked",
};

/** What to do about a state, in one sentence. */
export const stateMeans: Record<ThermometerState, string> = {
  in_order: "Checked in time, and the latest check lies where the earlier ones do.",
  due: "Check it with a standard before its temperatures leave this book.",
  overdue: "No check for more than twice the interval: check it before the next run.",
  out_of_control:
    "The latest check does not belong to the earlier ones. Repeat it with another standard; if it stays so, look for the cause and make a new calibration.",
  never_checked: "Its temperatures stand as logged: nothing tells how far off they are.",
};

export const certificates: Record<Certificate, string> = {
  in_force: "in force",
  expired: "expired",
  not_stated: "no date stated",
};

export const ends: Record<EndName, string> = {
  first_liquid: "first liquid",
  last_crystal: "last crystal",
};

export const conventionKinds: Record<ReferenceConvention["kind"], string> = {
  thermodynamic: "thermodynamic",
  at_rate: "at a heating rate",
  not_stated: "not stated",
};

export const conventionMeans: Record<ReferenceConvention["kind"], string> = {
  thermodynamic: "At zero heating rate, as certificates of liquefaction points and tables of triple points give it.",
  at_rate: "At the heating rate of the method, as pharmacopoeias define it; 0.2 to 2.2 °C higher.",
  not_stated: "The label does not say. What is corrected with it will carry “not stated” too.",
};

/** "thermodynamic", "at 1 °C/min", "not stated". */
export function conventionText(convention: ReferenceConvention | null | undefined): string {
  if (!convention) return "as indicated, not corrected";
  if (convention.kind === "at_rate" && convention.rate_c_per_min != null) {
    return `at ${rate(convention.rate_c_per_min)}`;
  }
  return conventionKinds[convention.kind];
}

const shapes = ["the same everywhere", "a straight line", "a parabola"] as const;

export const thermometers = {
  intro:
    "Every temperature here is as true as the bench’s thermometer. Checks with standards show it; a calibration corrects it.",
  none: "No bench has a record yet. A bench appears here with its first run, or when you add it.",
  addBench: "Add a bench",
  benchName: "Name of the bench",
  places: "Places for tubes",
  standards: "Standards in the cupboard",
  open: (name: string) => `Thermometer of ${name}`,
  back: "All thermometers",
  bench: "Bench",
  state: "State",
  lastCheck: "Last check",
  dueOn: "Next due",
  inForce: "Calibration in force",
  noneInForce: "none: as logged",
  since: (day: string) => `since ${day}`,
  between: (from: string, to: string) => `${from} to ${to} °C`,
  unnamed: "thermometer not named",
  never: "never",

  enter: "Enter a check",
  standard: "Standard",
  pick: "Choose…",
  indicated: "Indicated, °C",
  indicatedHint: (end: string) => `What it showed at ${end}, the moment the label’s value stands for.`,
  uncertainty: "Standard uncertainty, °C",
  uncertaintyHint: "Half a step of the scale at least; leave empty if nothing tells.",
  heatingRate: "Heating rate, °C/min",
  rateHint: "Slow: 1 °C/min or less is common practice.",
  madeOn: "Date",
  remarks: "Remarks",
  taken: (place: number, label: string | null) => `from tube ${place} of a reading${label ? `, ${label}` : ""}`,
  takenDrop: "Enter another",
  labelCounts: "The value on the label of your own standard counts, not one from memory or a table.",
  labelSays: (value: string, end: string, convention: string) => `The label says ${value}, ${end}, ${convention}.`,
  expiredHint: "Its date has passed. The check will be marked with it.",
  put: "Enter it",
  putting: "Entering…",
  entered: (by: string) => `Entered. The thermometer needs ${by} there.`,
  noStandards: "There is no standard in the cupboard yet. Add the ones you have, with the values on their labels.",
  addStandard: "Add a standard",

  checks: "Checks",
  noChecks: "No check yet. Melt a standard slowly, note what the thermometer shows at the moment its label stands for, and enter it above.",
  tableCaption: "Checks in order, with what they say of the thermometer",
  substance: "Standard",
  reference: "Label",
  shown: "Shown",
  needs: "Off by",
  needsHint: "Corrected as on that day, less the label: 0 is right.",
  movement: "Moved",
  said: "Alarms",
  noAlarm: "none",
  own: "in the calibration",
  voided: "void",
  voidIt: "Declare void",
  voidTitle: "Declare this check void",
  voidText: (substance: string, day: string) =>
    `${substance} of ${day} leaves the chart and may not enter a calibration. The record stays in the book.`,
  showVoid: (n: number) => `${count(n, "void check")}`,

  chart: "Drift",
  chartLabel: "Drift of the thermometer over its checks: value, moving range and weighted mean. The table says the same.",
  chartNone: "The chart needs two checks that count.",
  provisional: "Provisional: few checks set the limits, so they may still move.",
  individuals: "Each check, off by °C",
  movingRange: "Step from the check before, °C",
  average: "Weighted mean of the latest, °C",
  upper: "upper limit",
  lower: "lower limit",
  centre: "centre",
  zero: "right",
  limit: "limit",
  mean: "mean",
  legendOrdinary: "check",
  legendOwn: "used in the calibration",
  legendAlarm: "alarm",
  alarmsTitle: "What raises an alarm here",
  alarm: (n: number, day: string, text: string) => `Check ${n}, ${day}: ${text}`,
  noAlarms: "No check raises an alarm.",
  rules: "Rules and where they come from",
  number: "No.",
  wholeTable: (n: number) => `All ${n} checks`,

  correction: "Correction",
  addAt: (by: string, at: string) => `add ${by} at ${at}`,
  addEverywhere: (by: string) => `add ${by} at every temperature`,
  shape: (degree: number) => shapes[degree] ?? `degree ${degree}`,
  validRange: (from: string, to: string) => `The standards lie between ${from} and ${to} °C; beyond them the correction is a guess.`,
  convention: "Convention",
  noCalibration: "No calibration is in force: temperatures of this bench stand as logged.",
  madeBy: (name: string, day: string) => `made by ${name}, ${day}`,
  convert: "Correct a reading of, °C",
  corrected: "Corrected",
  outsideRange: "beyond the standards: a guess",
  notDrawn: "farther from the standards than is drawn",
  pm: "± is the 95 % band of the correction; the reading’s own uncertainty comes on top.",
  plotLabel: "Correction against indicated temperature, with the standards. The table says the same.",
  plotBand: "95 % band of the correction",
  plotValid: "where the standards lie",
  plotUsed: "standard used",
  plotLeftOut: "left out",
  plotSuspect: "doubtful",
  axisResidual: "residual, °C",
  axisIndicated: "indicated, °C",
  axisCorrection: "correction, °C",

  needsChecks: "A calibration begins with checks of the thermometer that the bench has now.",
  make: "Make a new calibration",
  makeHint: "Nothing is kept before you say so.",
  chooseChecks: "From these checks",
  newestOfEach: "The newest of each standard",
  all: "All",
  noneOf: "None",
  degree: "Shape of the correction",
  byEvidence: "what the evidence asks for",
  degrees: ["the same everywhere (0)", "straight line (1)", "parabola (2)"],
  from: "In force from",
  tooFew: "Choose at least one check.",
  why: "Why this shape",
  doubts: "Doubts",
  noDoubts: "No doubts were raised.",
  points: "Points",
  residual: "Residual",
  certificate: "Certificate",
  use: "Use",
  used: "used",
  leftOut: "left out",
  suspect: "doubtful",
  takeOut: "Leave out",
  takeIn: "Use again",
  wouldChange: "What would change",
  didChange: "What changed",
  changes: (changed: number, of: number) =>
    of === 0
      ? "No result in the book stands on this thermometer in that time."
      : changed === 0
        ? `None of ${count(of, "result")} changes.`
        : `${changed} of ${count(of, "result")} ${changed === 1 ? "changes" : "change"}.`,
  moreChanges: (n: number) => `and ${n} more`,
  sample: "Sample",
  before: "Before",
  after: "After",
  by: "By",
  keep: "Keep this calibration",
  keeping: "Keeping…",
  kept: (day: string) => `The calibration is in force from ${day}.`,
  withdrawn_: "The calibration is withdrawn.",
  onlyAnalyst: "Calibrations are made by an analyst or a supervisor.",
  leave: "Leave without keeping",

  history: "Calibrations so far",
  noHistory: "None yet.",
  withdrawn: "withdrawn",
  inForceNow: "in force",
  withdraw: "Withdraw",
  withdrawTitle: "Withdraw this calibration",
  withdrawText: (day: string) =>
    `Results that stand on the calibration in force from ${day} are computed again, with the one before it or as logged. The record stays in the book.`,
  because: (text: string) => `because: ${text}`,
  pointsUsed: (n: number) => count(n, "standard"),

  settings: "Settings",
  settingsOpen: "Change the settings",
  thermometer: "Thermometer",
  thermometerHint: "Type and number. A calibration holds for the thermometer it was made with.",
  every: "Check every … days",
  everyHint: "90 if left empty.",
  highest: "Highest temperature, °C",
  highestText: (c: string) => `up to ${c}`,
  highestHint: "Checks above it are refused.",
  reason: "Reason",
  reasonOptional: "Reason (optional)",
  save: "Save the settings",
  saving: "Saving…",
  everyText: (days: number | null) => `checked every ${days ?? 90} days`,
  record: "Record it",
} as const;

/** "+0.41 °C"; the sign says which way. */
export const by = (value: number) => difference(value, 2);
/** "120 °C". */
export const at = (value: number) => `${fixed(value, 0)} °C`;
