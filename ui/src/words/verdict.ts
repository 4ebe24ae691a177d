/** Words of what a sample is said to be. */
import type { Identified, SaidPurity } from "../api/verdicts";
import { count, fixed } from "./format";
import { molPercent } from "./identity";

export const verdict = {
  title: "Verdict",
  none: "Nothing has been said of what it is yet.",
  needsResult: "State a result first; what it is rests on it.",
  by: (name: string, when: string) => `${name}, ${when}`,
  outdated: "The result it rests on has changed since: look again.",
  anew: (reason: string) => `Takes the place of an earlier one: ${reason}`,
  restsOn: "What it rests on",
  result: "Result",
  rangeAlone: "By the range alone",
  among: (n: number, own: boolean, credible: number) =>
    `${count(credible, "substance")} of ${n} ${own ? "of the own list " : ""}hold 95 %.`,
  unlisted: "none of these",
  mixedWith: (name: string) => `Mixed melting with ${name}`,
  toRecording: "see the recording",
  purity: "How pure",
  methods: { clear_point: "by the last crystal", width: "by the width" } satisfies Record<SaidPurity["method"], string>,
  impurity: (one: SaidPurity) => {
    const [least = 0, most = 0] = one.interval_95;
    const much = least > 0 ? `${molPercent(least)} to ${molPercent(most)} mol % is something else (95 %)` : `at most ${molPercent(most)} mol % is something else (97.5 %)`;
    return `${most < 0.001 ? "no impurity can be shown" : much}; enthalpy of fusion ${fixed(one.hfus_j_per_mol / 1000, 1)} kJ/mol, ${one.hfus_source}`;
  },
  other: "Other evidence",
  mind: "Mind",
  write: "Write a verdict",
  writeAnew: "Write another in its place",
  stop: "Leave it",
  says: "What is said",
  kinds: {
    is: "It is this substance",
    consistent_with: "Consistent with this substance, not proof",
    is_not: "It is not this substance",
    open: "Nothing yet",
  } satisfies Record<Identified, string>,
  substance: "Substance, name or CAS number",
  onlyOwn: "Compare only with substances of the own list",
  pure: "The pure substance melts at, °C (optional)",
  pureHint: "In the convention of the result. With it purity is told from the last crystal of a corrected result, too.",
  pureU: "Standard uncertainty of that, °C",
  pureUHint: "Empty: 1.5 °C, as of a literature value. Less only for what was measured.",
  mixed: "Mixed meltings of this sample",
  noMixed: "No recording of this sample has three tubes: a mixed melting needs sample, reference and mixture side by side.",
  use: (text: string) => `Use ${text}`,
  reference: "Reference in it, name or CAS number",
  needSubstance: "Name the substance.",
  needReference: "Name the reference of the mixed melting.",
  otherEvidence: "Other evidence (optional)",
  otherHint: "For example which spectrum agrees, and where it is kept.",
  proposed: "Proposed words",
  take: "Take these words",
  words: "In your words",
  wordsHint: "Left empty, the proposed words are recorded.",
  reason: "Why it takes the place of the earlier one",
  state: "Confirm and record",
  stateHint: "Recorded with your name. It can be said anew, never erased.",
  working: "Working it out…",
} as const;

export const tubeRoles = {
  title: "Take the three from a recording",
  hint: "Of each tube the reading counts behind which a person stands, else the newest.",
  recording: "Recording",
  none: "type the ranges",
  sample: "Sample in place",
  reference: "Reference in place",
  mixture: "Mixture in place",
  place: (place: number, label: string | null | undefined) => (label ? `${place}: ${label}` : `${place}`),
  undecided: "Nobody has decided on all three readings yet.",
  noRecordings: "No recording with three tubes has been read yet.",
} as const;
