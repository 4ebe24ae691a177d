/** Words of the page that sets readers against each other. */
import type { Compared, EndComparison, Outlier, ReadEnd } from "../api/readers";
import { firstLiquid, lastCrystal } from "./common";
import { fixed } from "./format";
import { kinds } from "./practice";

export const readers = {
  intro:
    "How far readers are from what is true, how well each agrees with themselves, and how well they agree with each other. Every value is a reading error: what was marked minus the truth of a simulation, or minus what several readers agreed on.",
  method: "Reckoned after ISO 5725-2; each kind of exercise, or each recording, is a level of the study.",
  toPractice: "Practice",
  of: "From",
  end: "End",
  none: "Nothing to compare yet.",
  engineTag: "engine",
  engineNote: "The engine stands in the tables as one reader more.",

  biasTitle: "Bias and spread of each reader",
  biasHint:
    "Bias: the mean error, + too late, − too early; ± is its standard error. Spread: the standard deviation of a reader’s errors. n: how many readings.",
  reader: "Reader",
  bias: "Bias",
  standardError: "± s.e.",
  spread: "Spread",
  n: "n",

  levelTitle: "Repeatability and reproducibility by level",
  levelHint:
    "Repeatability: how far readings of one reader scatter (standard deviation). Between readers: what differs from one reader to the next. Reproducibility: both together, what is to be expected of whoever reads. An empty cell needs more readings.",
  level: "Level",
  readersN: "Readers",
  mean: "Mean error",
  repeatability: "Repeatability",
  between: "Between readers",
  reproducibility: "Reproducibility",

  h: "Mandel’s h",
  hHint: "How far a reader’s mean of a level lies from the mean of all readers, in standard deviations of readers’ means.",
  k: "Mandel’s k",
  kHint: "How widely a reader scatters within a level compared with all readers taken together: 1 is as usual.",
  critical: { five_percent: "5 %", one_percent: "1 %" },
  criticalHint: "Beyond the thin line chance brings a bar in 5 % of cases, beyond the thick one in 1 %. Numbers below the bars name the levels.",
  barsLabel: (what: string, beyond: string[]) =>
    `${what} by reader and level. ${beyond.length ? `Beyond the 5 % line: ${beyond.join("; ")}.` : "No bar is beyond the 5 % line."} The numbers stand below.`,
  numbers: "The numbers",
  empty: "–",

  outliersTitle: "What stands out",
  outliersNone: "No reader stands out at any level.",
  outliersHint:
    "A straggler is beyond what chance brings in 5 % of cases, an outlier beyond 1 %. Look at the pictures for a cause before a reading is left out: nothing was left out here.",

  agreementTitle: "Limits of agreement",
  agreementHint:
    "Each point is one exercise that both read: across is the mean of both, up is the difference. 95 % of differences are expected between the limits; the bands are 95 % confidence intervals of the lines.",
  one: "Reader",
  other: "Against",
  reference: "what is true or agreed",
  biasLine: "bias",
  upper: "upper limit",
  lower: "lower limit",
  standardDeviation: "standard deviation of differences",
  interval: "95 % interval",
  value: "Value",
  what: "What",
  points: "exercises read by both",
  meanAxis: "mean of both, °C",
  differenceAxis: "difference, °C",
  plotLabel: (bias: string, lower: string, upper: string, n: number) =>
    `${n} differences against means; bias ${bias}, limits of agreement ${lower} and ${upper}.`,
} as const;

export const ofWords: Record<Compared, string> = { practice: "practice", recordings: "recordings of the book" };
export const endWords: Record<ReadEnd, string> = { first_liquid: firstLiquid, last_crystal: lastCrystal };

/** A level is a kind of exercise or a recording; the latter by its last characters. */
export function levelName(level: string): string {
  if (level in kinds) return kinds[level as keyof typeof kinds];
  return level.length > 20 ? `…${level.slice(-6)}` : level.replaceAll("_", " ");
}

const tests: Record<Outlier["test"], (who: string) => string> = {
  cochran: (who) => `${who} scatters more than the others (Cochran’s test)`,
  grubbs_one: (who) => `the mean of ${who} lies far from the others (Grubbs’ test for one)`,
  grubbs_two: (who) => `the means of ${who} lie far from the others on the same side (Grubbs’ test for two)`,
};

/** "Straggler at plain: …; statistic 0.81, critical 0.74 (5 %) and 0.85 (1 %)." */
export function outlierText(one: Outlier, nameOf: (reader: string) => string): string {
  const who = one.readers.map(nameOf).join(" and ");
  const verdict = one.verdict === "outlier" ? "Outlier" : "Straggler";
  return `${verdict} at “${levelName(one.level)}”: ${tests[one.test](who)}; statistic ${fixed(one.statistic, 2)}, critical ${fixed(one.five_percent, 2)} (5 %) and ${fixed(one.one_percent, 2)} (1 %).`;
}

/** Where bars go beyond the 5 % line, in words. */
export function beyond(
  comparison: EndComparison,
  of: "h" | "k",
  nameOf: (reader: string) => string,
): string[] {
  const critical = of === "h" ? comparison.h_critical : comparison.k_critical;
  return comparison.readers.flatMap((row, r) =>
    comparison.levels.flatMap((level, l) => {
      const value = comparison[of][r]?.[l];
      const line = critical[l]?.five_percent;
      return value != null && line != null && Math.abs(value) > line ? [`${nameOf(row.reader)} at ${levelName(level)}, ${fixed(value, 2)}`] : [];
    }),
  );
}
