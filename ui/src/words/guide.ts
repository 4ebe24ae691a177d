/** Words of the guide through a first determination: what to do now, why, and what to beware of. */

/** In the order in which they are done. */
export const STEPS = [
  "thermometer",
  "sample",
  "hazards",
  "fill",
  "plan",
  "heat",
  "read",
  "opinion",
  "correct",
  "second",
  "agree",
  "result",
  "identify",
  "verdict",
  "report",
] as const;
export type StepName = (typeof STEPS)[number];

export interface StepWords {
  title: string;
  now: string;
  why: string;
  /** Where heat, glass or unknown substances matter. */
  caution?: string;
  /** What the link to the page is called. */
  link: string;
}

const defer = "Your laboratory’s rules, the safety data sheet and the responsible person come first.";

export const steps: Record<StepName, StepWords> = {
  thermometer: {
    title: "Check the thermometer",
    now: "Look whether the thermometer of your bench is in order. If it was never checked or a check is due, measure a standard first and enter what it showed.",
    why: "Every result is only as true as the thermometer. A reference substance with a known melting point shows how far off it is today.",
    caution: `A check is heated like any sample: hot block, thin glass. ${defer}`,
    link: "Thermometers",
  },
  sample: {
    title: "Add the sample",
    now: "Add your sample under what stands on the vial.",
    why: "Recordings, readings and the result all hang on it. With a label from the start no tube is mixed up later.",
    link: "Samples",
  },
  hazards: {
    title: "Look into its hazards",
    now: "Read the label and the safety data sheet, ask the responsible person, and note the hazards with the sample. If nobody knows what it is, note that.",
    why: "What you know before you heat is what protects you. A field left empty says nothing about a substance.",
    caution: `Treat an unknown as harmful. Do not heat what may be energetic or what nobody has assessed. ${defer}`,
    link: "The sample’s page",
  },
  fill: {
    title: "Prepare and fill",
    now: "Dry and grind the powder, pack 2–3 mm of it tight into a tube, and note how you made it ready. Fill a second tube for the second run.",
    why: "Damp, coarse or loose powder melts over a wider range and settles on the way, which looks like melting.",
    caution: `Tubes are thin glass: eye protection on, broken ones into the container for glass. ${defer}`,
    link: "How to fill a tube",
  },
  plan: {
    title: "Plan the heating",
    now: "If you do not know where it melts, plan a fast scouting run first and throw that tube away. Then plan: fast to about 10 °C below, 1 °C/min through the melting.",
    why: "Close to the melting point the block must not run ahead of the tube, or all temperatures come out wrong.",
    link: "Plan a run",
  },
  heat: {
    title: "Heat and watch",
    now: "Run the plan at the bench with the camera on, or film it and import the recording with its temperature log. Say which sample stands in which place.",
    why: "What is recorded can be looked at again, by you and by others. What was only seen cannot.",
    caution: `Block, lamp and tubes stay hot long after heating ends. Stay with it, and stop at smoke, gas or anything unexpected. ${defer}`,
    link: "Benches",
  },
  read: {
    title: "Read it blind",
    now: "Open the recording, tick Read blind, mark first liquid (F) and last crystal (L) in every tube, and send your reading (S).",
    why: "Whoever has seen an opinion finds it again in the pictures. Your own eyes are worth something only before.",
    link: "The recording",
  },
  opinion: {
    title: "Look at the engine’s opinion",
    now: "Compare your marks with the engine’s. Confirm its moments for each tube, or set others and say why.",
    why: "The engine can be misled by settling or glistening, and so can you. Where you differ, the pictures decide.",
    link: "The recording",
  },
  correct: {
    title: "Correct the temperature",
    now: "On the sample’s page see which correction is applied and after which convention. Without a calibration in force, temperatures stay as logged: have one made, or say so in the report.",
    why: "A thermometer shows its own temperature, not the tube’s. The calibration says how far the two are apart.",
    link: "The sample’s page",
  },
  second: {
    title: "Do a second run",
    now: "Heat a fresh tube the same way, record it, and read it blind as well.",
    why: "One run can go wrong without showing it. What has melted once may have changed, so a tube is never used twice.",
    caution: `Let the block cool down before you reach in: it is still hot from the first run. ${defer}`,
    link: "Benches",
  },
  agree: {
    title: "See whether they agree",
    now: "Look whether both runs lie within 0.5 °C of each other at both ends. If not, do another one.",
    why: "Agreement within 0.5 °C is common practice. Runs that disagree point at the filling, the heating or the reading.",
    link: "The sample’s page",
  },
  result: {
    title: "State the result",
    now: "State the melting range from the agreeing runs, with its uncertainty and convention.",
    why: "From here on it is your word: what stands there is recorded with your name and can be checked by others.",
    link: "The sample’s page",
  },
  identify: {
    title: "See what it could be",
    now: "Let the candidates be ranked, and look at the next test that would tell most; often a mixed melting.",
    why: "A range excludes and ranks; it does not identify. Hundreds of solids melt within a degree of any other.",
    link: "Candidates",
  },
  verdict: {
    title: "Say what it is",
    now: "Write the verdict: that it is a substance, is consistent with it, is not, or that it stays open. Open is an honest answer.",
    why: "A verdict names its grounds, so that somebody else can judge how far it goes.",
    link: "The sample’s page",
  },
  report: {
    title: "Hand in the report",
    now: "Take the report from the sample’s page and read it through. Then ask a second person to sign it off.",
    why: "A report shows pictures, uncertainty and history: enough for someone else to check it without you.",
    link: "The sample’s page",
  },
};

export const guide = {
  start: "Show me my first determination",
  resume: "Go on with my first determination",
  title: "My first determination",
  count: (n: number, of: number, title: string) => `Step ${n} of ${of}: ${title}`,
  why: "Why:",
  caution: "Beware:",
  allSteps: "All steps",
  doneOf: (n: number, of: number) => `${n} of ${of} done`,
  done: "done",
  noticed: "found in the book",
  tick: "I have done this",
  undo: "Not done after all",
  now: "now",
  open: "to do",
  previous: "Step before",
  next: "Step after",
  toCurrent: "Back to what is next",
  putAway: "Put away",
  putAwayHint: "It can be brought back from Today.",
  sample: "My sample",
  noSample: "not added yet",
  finished: "All steps are done. That was a determination from the thermometer to the report.",
  said: (done: string, next: string) => `Done: ${done}. Next: ${next}.`,
  saidAll: (done: string) => `Done: ${done}. All steps are done.`,
  import: "Or import a recording",
  practise: "Practise reading first",
  waits: "Comes after an earlier step; the page opens once there is something on it.",
} as const;
