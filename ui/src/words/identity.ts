/** Words of what a solid could be and how pure it is. */
import type { Purity, RangeConvention } from "../api/identity";
import { celsius, count, fixed } from "./format";

/** "42 %", "0.4 %", "below 0.1 %". */
export function percent(probability: number): string {
  const value = probability * 100;
  if (value === 0) return "0 %";
  if (value < 0.1) return "below 0.1 %";
  if (value > 99.9 && value < 100) return "above 99.9 %";
  return `${fixed(value, value < 10 ? 1 : 0)} %`;
}

/** "0.42" of a mole fraction, as mol %. */
export const molPercent = (fraction: number): string => fixed(fraction * 100, 2);

/** "112.0, 113.7, 114.3", each source's. */
export function literature(values: readonly number[]): string {
  return values.length ? values.map((value) => fixed(value, 1)).join(", ") : "–";
}

export const rangeText = (range: readonly number[]): string => `${fixed(range[0] ?? NaN, 1)}–${fixed(range[1] ?? NaN, 1)} °C`;

export const rangeConventions: Record<RangeConvention, string> = {
  unstated: "not stated",
  at_rate: "at a heating rate",
  thermodynamic: "thermodynamic",
};

export const identity = {
  intro:
    "Substances of the library, ranked by how well they agree with a melting range. A range ranks and excludes; it does not identify. Nothing here is recorded.",
  range: "The range",
  first: "First liquid, °C",
  last: "Last crystal, °C",
  u: "Standard uncertainty of either end, °C",
  uHint: "Reading and thermometer together, as the result of a sample has it.",
  convention: "Corrected to",
  conventionHint: "Literature mixes both; leave it at “not stated” where you are not sure.",
  onlyOwn: "Only substances of the own list",
  toOwn: "See the own list",
  from: (sample: string) => `From the result of ${sample}.`,
  uncorrected: "This result is as logged, not corrected: what the thermometer shows wrongly shifts every candidate. Correct it first, or raise the uncertainty.",
  needRange: "Type both ends of the range and its uncertainty.",
  order: "The first liquid comes before the last crystal.",
  looking: "Comparing…",
  candidates: "Candidates",
  holds: (n: number, of: number) =>
    `${count(n, "substance")} of ${of} ${n === 1 ? "holds" : "hold"} 95 % of what is in the library.`,
  many: "So many melt there. A list of what it could be, such as that of your stock room, says more than the whole library.",
  substance: "Substance",
  formula: "Formula",
  literature: "Literature, °C",
  probability: "Probability",
  because: "Why it stands here",
  none: "None of these",
  noneWhy: "It is not in the library, or its literature value is far wrong.",
  others: "All others",
  othersWhy: (n: number) => `${n} substances that are not shown one by one.`,
  own: "own list",
  hazard: "hazard",
  more: (n: number) => `Show ${n} more`,
  fewer: "Show fewer",
  open: (name: string) => `${name}: how pure?`,
  chosen: (name: string) => `${name} is chosen`,
  pureColumn: "How pure?",
  mind: "Mind",
  tests: "Next tests",
  testsIntro:
    "What would tell most: grind sample and reference 1:1, and melt the mixture beside both in one load. The numbers are those of the ideal law, averaged over the other candidates.",
  noTests: "No mixed melting would tell more about these candidates.",
  withReference: "With",
  ifSame: "If it is the same, the mixture melts at",
  ifDifferent: "If it is another, about",
  bits: "Expected to tell",
  bitsOf: (bits: number) => `${fixed(bits, 2)} bit`,
  prepare: (name: string) => `Mixed melting with ${name}`,
  prepareShort: "Set it up",
} as const;

export const purity = {
  title: (name: string) => `How pure, if it is ${name}`,
  intro: "For a main substance above 98.5 mol %. No number is given beyond 3 mol % of impurity.",
  pure: "The pure substance melts at, °C",
  pureHint: "Best measured in the same load, in the convention of the range. Empty: only the width is used.",
  take: (value: string) => `Take ${value}`,
  u: "Standard uncertainty of a difference, °C",
  uHint: "Of the two temperatures; within one load it is smaller than that of either.",
  by: { melting_curve: "From the melting curve", clear_point: "From the last crystal", width: "From the width" } satisfies Record<
    Purity["method"],
    string
  >,
  value: (one: Purity) =>
    `${molPercent(one.impurity_mole_fraction)} mol % impurity; with 95 % between ${molPercent(one.interval_95[0] ?? NaN)} and ${molPercent(one.interval_95[1] ?? NaN)} mol %`,
  mol: (value: number) => `${fixed(value, 3)} mol of impurity in a kilogram`,
  axis: "mol % impurity",
  close: "Close",
  reckoning: "Reckoning…",
  hazards: "Before it is heated",
  noHazards: "Not flagged by this list, which does not mean safe.",
  toSubstance: "All that is known of it",
  pureIs: (value: number) => celsius(value),
} as const;
