/** Words of the sheet on filling a tube and reading a melt. One page of paper: every sentence has its price. */

export const handout = {
  print: "Print",
  toPractice: "Practise it",
  intro: "For whoever fills and reads a capillary for the first time. One page of A4.",
  fill: "Fill",
  fillText:
    "Dry and grind the powder. Press the open end into it, turn the tube over and let it drop down a long glass pipe until the powder sits tight at the sealed end: a column of 2–3 mm, without gaps. Wipe the outside.",
  watch: "Watch",
  watchText: "Not every change is melting. The melting range goes from first liquid to last crystal; note both temperatures.",
  heat: "Heat and note",
  rules: [
    "One fast run tells roughly where it melts; throw that tube away.",
    "Then heat fast to about 10 °C below, and from there at 1 °C/min until all is clear.",
    "Note the temperature of first liquid and of last crystal, as a range: not one number.",
    "A fresh tube for every run: what has melted once may be something else.",
    "Repeat until two runs lie within 0.5 °C of each other at both ends.",
    "Note too what is not melting: settling, glistening, a colour, gas, a sublimate.",
  ],
  cautions: "Before you heat or touch anything",
  cautionList: [
    "The block, the lamp and the tubes stay hot long after heating ends.",
    "Thin glass breaks: eye protection on; broken tubes go into the container for glass.",
    "Treat an unknown as harmful: do not touch, smell or taste it. Do not heat what may be energetic or what nobody has assessed.",
  ],
  defer: "Your laboratory’s rules, the safety data sheet and the responsible person decide.",
  drawn: "Pictures drawn by meltrange.",
  lost: "This picture could not be fetched.",
} as const;

export type HandoutName =
  | "column_right"
  | "column_too_low"
  | "column_too_high"
  | "column_loose"
  | "solid"
  | "settled"
  | "glistening"
  | "first_liquid"
  | "collapse"
  | "last_crystals"
  | "clear";

/** What is shown, in this order, and what stands below it. */
export const fillPictures: [HandoutName, string, string][] = [
  ["column_right", "Right", "2–3 mm, packed tight."],
  ["column_too_low", "Too low", "Little to see; the ends come too close."],
  ["column_too_high", "Too high", "The top lags behind; the range grows wide."],
  ["column_loose", "Loose", "Gaps collapse early and look like melting."],
];
export const watchPictures: [HandoutName, string, string][] = [
  ["solid", "Solid", "Dry, grainy, opaque."],
  ["settled", "Settled", "Sunk or shrunk, still dry: not yet."],
  ["glistening", "Glistening", "Grains flash, no liquid: not yet."],
  ["first_liquid", "First liquid", "First clear drop: note it."],
  ["collapse", "Collapse", "The column falls into the melt."],
  ["last_crystals", "Last crystals", "Specks in the melt: wait."],
  ["clear", "Clear", "The last crystal is gone: note it."],
];
/** The two that are noted. */
export const noted: readonly HandoutName[] = ["first_liquid", "clear"];
/** Those that mislead. */
export const notYet: readonly HandoutName[] = ["settled", "glistening"];
