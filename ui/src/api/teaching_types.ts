/** What the program says of teaching: practice, readers compared, a class at work, the handout. */

// ---------- practice: blind reading on recordings whose truth is known ----------
// Kinds, graded from plain to tricky, in this order:
export type ExerciseKind = "plain" | "faint" | "settling" | "glistening" | "late_last_crystal" | "combined" | "recording";
// "recording": one of the book's own, agreed by several readers (consensus instead of truth).

export interface Exercise { kind: ExerciseKind; /* simulated: whole number >= 1 */ seed: number | null; /* own */ recording: string | null; place: number | null }
export interface PracticeItem {
  exercise: Exercise;
  /** Times of the pictures on the log's clock [s], rising. Blind: no temperatures. */
  times_s: number[];
  /** Address of picture n (from 0) is this + n. JPEG. */
  pictures: string;
  /** Why this one comes next; e.g. "weakest", "first", "chosen", "not_yet_seen". */
  why: string;
  /** Number of this person's attempts with this very exercise so far. */
  attempts: number;
  /** What the reader watches, fractions of the picture 0..1: left, top, width, height; null if the whole picture. */
  column: [number, number, number, number] | null;
}
// GET  /api/practice/next?kind=&person   -> PracticeItem   (kind optional: one of that kind; without: where weakest)
// GET  /api/practice/exercises/{kind}/{seed} -> PracticeItem
// GET  /api/practice/recordings -> { items: PracticeItem[] }          own agreed recordings
// GET  /api/practice/exercises/{kind}/{seed}/pictures/{n} -> image/jpeg
// POST /api/practice/attempts  PracticeAttemptRequest -> PracticeMarked   (same id again: same answer, nothing recorded twice)
export interface PracticeAttemptRequest { id: string; exercise: Exercise; first_liquid_s: number; last_crystal_s: number; seconds_spent: number | null }
export type FooledBy = "settling" | "glistening" | "wetting" | "early" | "late" | "late_last_crystal" | "specks";
export interface EndMarked {
  marked_s: number; marked_c: number; true_s: number; true_c: number;
  /** marked minus true [°C] */ error_c: number;
  /** Standard uncertainty of the truth: half a frame of a simulated one, scatter of readers for a consensus [°C]. */ uncertainty_c: number;
  within_limit: boolean;
  fooled_by: FooledBy | null;
  /** Log times of the pictures that decide: before, at, after [s]. */ deciding_s: number[];
}
export interface PracticeMarked {
  id: string; exercise: Exercise; basis: "truth" | "consensus"; first_liquid: EndMarked; last_crystal: EndMarked;
  /** What happened besides melting, for the time line. */
  events: { kind: string; from_s: number; to_s: number | null }[];
  /** Solid left, 0..1, on times_s: to draw the melting beside the marks; null for a consensus. */
  times_s: number[]; temperatures_c: number[]; 
  progress: PracticeProgress;
}
export interface EndProgress { n: number; bias_c: number | null; bias_standard_error_c: number | null; /* standard deviation of errors */ spread_c: number | null }
export interface PracticePoint { n: number; when: string; kind: ExerciseKind; first_liquid_error_c: number; last_crystal_error_c: number }
export interface KindProgress { kind: ExerciseKind; n: number; first_liquid_rms_c: number | null; last_crystal_rms_c: number | null; passed: boolean }
export interface PassRule { /* every end of the last `of` attempts; at least `within` of them within limit_c at both ends, |bias| <= bias_limit_c, and each of the kinds tried */
  limit_c: number; of: number; within: number; bias_limit_c: number; kinds: ExerciseKind[] }
export interface PracticeProgress {
  person: string; name: string; first_liquid: EndProgress; last_crystal: EndProgress;
  curve: PracticePoint[]; kinds: KindProgress[]; rule: PassRule; passed: boolean;
  /** What is still missing, as codes: "attempts" | "within" | "bias_first_liquid" | "bias_last_crystal" | "kinds" */
  missing: string[];
  next: { kind: ExerciseKind; why: string };
}
// GET /api/practice/progress            -> PracticeProgress   one's own (who acts)
// GET /api/practice/progress/{person}   -> PracticeProgress   supervisors and analysts: anybody's
// GET /api/practice/readers             -> { readers: {person: string; name: string; attempts: number; passed: boolean}[] }

// ---------- reader against reader (ISO 5725-2) ----------
// GET /api/readers/comparison?of=practice|recordings  -> ReaderComparison
export interface ReaderComparison {
  of: "practice" | "recordings";
  readers: { id: string; name: string; engine: boolean }[];
  ends: { end: "first_liquid" | "last_crystal"; comparison: EndComparison | null; /* why there is none yet, in words */ missing: string | null }[];
}
export interface EndComparison {
  /** Levels of the study: kinds of exercises, or recordings. */
  levels: string[];
  /** Bias and precision of each reader, over all levels; values are errors against truth or consensus [°C]. */
  readers: { reader: string; n: number; bias_c: number; bias_standard_error_c: number | null; spread_c: number | null }[];
  /** Each level: general mean error, repeatability, between-reader and reproducibility standard deviations [°C]; null where it cannot be had. */
  by_level: { level: string; readers: number; n: number; mean_c: number; repeatability_sd_c: number | null; between_readers_sd_c: number | null; reproducibility_sd_c: number | null }[];
  /** Mandel's h and k: one row per reader (order of `readers`), one column per level; null where a cell is empty. */
  h: (number | null)[][]; k: (number | null)[][];
  /** Critical values per level at 5 % and 1 %. */
  h_critical: { five_percent: number | null; one_percent: number | null }[]; k_critical: { five_percent: number | null; one_percent: number | null }[];
  outliers: { test: "cochran" | "grubbs_one" | "grubbs_two"; level: string; readers: string[]; statistic: number; five_percent: number; one_percent: number; verdict: "straggler" | "outlier" }[];
}
// GET /api/readers/agreement?of=…&one=<reader id>&other=<reader id or "reference">  -> { ends: { end, limits: LimitsOfAgreement | null, missing: string | null }[] }
export interface LimitsOfAgreement {
  n: number; bias_c: number; standard_deviation_c: number; lower_c: number; upper_c: number;
  bias_95_c: [number, number]; lower_95_c: [number, number]; upper_95_c: [number, number];
  points: { mean_c: number; difference_c: number }[];
}

// ---------- practical: a class session ----------
// A *seat* is where one student or one pair works; it has one vial with an unknown. People in it are known by a pseudonym.
export interface Unknown { /* library id, null when own */ library: string | null; name: string; first_liquid_c: number; last_crystal_c: number; hazards: string | null; /* [J/mol] for mixed melting */ fusion_j_per_mol: number | null }
export interface UnknownsRequest { unknowns: Unknown[]; /* standard uncertainty of one determination by this class [°C] */ standard_uncertainty_c: number }
export interface PairOfUnknowns { one: number; other: number; /* indices */ distance_c: number; /* distance / (sqrt2 * u) */ ratio: number; told: "by_range" | "by_mixed_melting" | "too_close"; /* expected liquidus of a 1:1 mixture, ideal [°C] */ mixed_last_crystal_c: number | null; mixed_depression_c: number | null }
export interface UnknownsCompared { pairs: PairOfUnknowns[]; needed_ratio: number }
// POST /api/practicals/unknowns  UnknownsRequest -> UnknownsCompared
export interface Rubric { /* points */ identity: number; range: number; agreement: number; care: number; /* full points for a range this near to truth, none at three times that [°C] */ range_within_c: number; agreement_within_c: number; heating_rate_c_per_min: number }
export interface PracticalSetUp {
  title: string; seats: number; seats_per_row: number; people_per_seat: number; unknowns: Unknown[]; standard_uncertainty_c: number;
  runs_each: number; length_min: number; operators: number; benches: SessionBench[]; rubric: Rubric; /* supports a re-deal */ seed: number;
}
type SessionBench = import("./schema").components["schemas"]["SessionBench"];
// GET  /api/practicals -> { practicals: { id, title, begun: string /*RFC 3339*/, seats: number, people: number, state: "prepared" | "under_way" | "over" }[] }
// POST /api/practicals { id: uuid, set_up: PracticalSetUp } -> Board       dealt at once, neighbours differ
// GET  /api/practicals/{id}/board -> Board
// GET  /api/practicals/{id}/labels -> Labels
// POST /api/practicals/{id}/steps  { id: uuid, step: InstructorStep } -> Board
// GET  /api/practicals/{id}/gradebook.csv
export interface Labels { class_code: string; join_address: string; join_qr_svg: string; labels: { seat: number; vial: string; code: string; address: string; qr_svg: string }[] }
export type SeatStanding = "empty" | "waits" | "turn" | "heating" | "done" | "stuck";
export interface Turn { /* its next load */ run: number; bench: string; begins_min: number; ends_min: number; standing: "ahead" | "now" | "under_way" | "over"; with_seats: number[]; /* how many loads stand before it on its bench */ before: number; load: number }
export interface SeatResult { id: string; run: number; first_liquid_c: number; last_crystal_c: number; heating_rate_c_per_min: number | null; fresh_tube: boolean; note: string; when: string; by: string; bench: string | null }
export interface SeatPerson { person: string; pseudonym: string; name: string | null; joined: string; here: boolean }
export interface BoardSeat {
  seat: number; vial: string; unknown: number; people: SeatPerson[]; standing: SeatStanding; /* minutes it has stood so */ since_min: number;
  turn: Turn | null; results: SeatResult[]; identified: string | null; 
  /** e.g. "runs_disagree", "readers_disagree", "far_from_unknown", "swapped", "no_action" */ flags: string[];
  help: { id: string; text: string; asked: string } | null;
  mark: SeatMark | null; released: boolean;
}
export interface SeatMark { identity: number; range: number; agreement: number; care: number; total: number; of: number; reasons: string[]; /* set by the instructor over the suggestion */ overridden: boolean }
export interface BoardBench { bench: string; out: boolean; why: string | null; now: { load: number; seats: number[]; begun_min: number; ends_min: number } | null; next: { load: number; seats: number[]; begins_min: number; called: boolean } | null; left: number }
export interface Board {
  id: string; title: string; state: "prepared" | "under_way" | "over"; now_min: number; began: string | null; set_up: PracticalSetUp;
  seats: BoardSeat[]; benches: BoardBench[]; makespan_min: number | null; fits: boolean | null; released: boolean; names_kept: boolean; /* last record number it includes */ seq: number;
  /** what happened, newest last, for audit */ history: { when: string; who: string; what: string; seat: number | null; words: string }[];
}
export type InstructorStep =
  | { what: "begin" } | { what: "over" }
  | { what: "bench_out"; bench: string; why: string } | { what: "bench_back"; bench: string }
  | { what: "set_in"; bench: string; load: number } | { what: "ended"; bench: string; load: number }
  | { what: "swap"; seat: number; unknown: number; why: string }          // the unknown really in the vial
  | { what: "add_seat" } | { what: "new_code"; seat: number }              // lost phone: old sessions of the seat end
  | { what: "help_given"; help: string }
  | { what: "mark"; seat: number; identity: number; range: number; agreement: number; care: number; why: string }
  | { what: "release" } | { what: "take_back" }
  | { what: "plan_anew" } | { what: "forget_names" };

// Students, without an account:
// POST /api/practicals/join { code: string, name: string | null, seat: number | null } -> Joined     (429 with wait_s after wrong codes)
export interface Joined { practical: string; title: string; seat: number; vial: string; person: string; pseudonym: string }
// GET  /api/practicals/{id}/seat -> SeatPage      (who acts; x-person or the cookie)
export interface SeatPage {
  practical: string; title: string; state: "prepared" | "under_way" | "over"; now_min: number; seat: number; vial: string; pseudonym: string; partners: string[];
  turn: Turn | null; standing: SeatStanding; results: SeatResult[]; runs_each: number; choices: string[]; /* names of unknowns in the stock list, sorted */
  identified: string | null; identified_why: string | null; help: { id: string; text: string; asked: string } | null; notes: { text: string; when: string }[];
  agreement: { agreed: boolean | null; first_liquid_difference_c: number | null; last_crystal_difference_c: number | null };
  /** only after release */ mark: SeatMark | null; truth: { name: string; first_liquid_c: number; last_crystal_c: number } | null;
  cautions: string[];
}
// POST /api/practicals/{id}/seat/steps { id: uuid, at: string | null /* when it was done, RFC 3339, if it was queued */, step: SeatStep } -> SeatPage
export type SeatStep =
  | { what: "set_in"; load: number } | { what: "ended"; load: number }
  | { what: "result"; run: number; first_liquid_c: number; last_crystal_c: number; heating_rate_c_per_min: number | null; fresh_tube: boolean; note: string }
  | { what: "identify"; name: string; why: string } | { what: "note"; text: string }
  | { what: "ask_help"; text: string } | { what: "help_done" };
// Live: GET /api/events brings `change` with kind "practical" or "practical_step" for each; the page asks for its board or seat anew (at most every 300 ms).

// ---------- handout ----------
// GET /api/handout -> { pictures: { name: string; address: string; caption: string }[] }   drawn from simulated frames: names
//   "column_too_low", "column_right", "column_too_high", "column_loose", "solid", "settled", "glistening", "first_liquid", "collapse", "last_crystals", "clear"
// GET /api/handout/pictures/{name} -> image/jpeg
