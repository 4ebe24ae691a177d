/** What the program says of a practical, until its own description has these shapes under the same names. */
import type { components } from "./schema";

type SessionBench = components["schemas"]["SessionBench"];

/** A *seat* is where one student or one pair works; it has one vial with an unknown. People in it are known by a pseudonym. */
export interface Unknown { /* library id, null when own */ library: string | null; name: string; first_liquid_c: number; last_crystal_c: number; hazards: string | null; /* [J/mol] for mixed melting */ fusion_j_per_mol: number | null }
export interface UnknownsRequest { unknowns: Unknown[]; /* standard uncertainty of one determination by this class [°C] */ standard_uncertainty_c: number }
export interface PairOfUnknowns { one: number; other: number; /* indices */ distance_c: number; /* distance / (sqrt2 * u) */ ratio: number; told: "by_range" | "by_mixed_melting" | "too_close"; /* expected liquidus of a 1:1 mixture, ideal [°C] */ mixed_last_crystal_c: number; mixed_depression_c: number }
export interface UnknownsCompared { pairs: PairOfUnknowns[]; needed_ratio: number }
export interface Rubric { /* points */ identity: number; range: number; agreement: number; care: number; /* full points for a range this near to truth, none at three times that [°C] */ range_within_c: number; agreement_within_c: number; heating_rate_c_per_min: number }
export interface PracticalSetUp {
  title: string; seats: number; seats_per_row: number; people_per_seat: number; unknowns: Unknown[]; standard_uncertainty_c: number;
  runs_each: number; length_min: number; operators: number; benches: SessionBench[]; rubric: Rubric; /* supports a re-deal */ seed: number;
}
export interface Labels { class_code: string; join_address: string; join_qr_svg: string; labels: { seat: number; vial: string; code: string; address: string; qr_svg: string }[] }
export type SeatStanding = "empty" | "waits" | "turn" | "heating" | "done" | "stuck";
export interface Turn { /* its next load */ run: number; bench: string; begins_min: number; ends_min: number; standing: "ahead" | "now" | "under_way" | "over"; with_seats: number[]; /* how many loads stand before it on its bench */ before: number; load: number }
export interface SeatResult { id: string; run: number; first_liquid_c: number; last_crystal_c: number; heating_rate_c_per_min: number | null; fresh_tube: boolean; note: string; when: string; by: string; bench: string | null }
export interface SeatPerson { person: string; pseudonym: string; name: string | null; joined: string; here: boolean }
export interface BoardSeat {
  seat: number; vial: string; unknown: number; people: SeatPerson[]; standing: SeatStanding; /* minutes it has stood so */ since_min: number;
  turn: Turn | null; results: SeatResult[]; identified: string | null; 
  /** "runs_disagree", "readers_disagree", "far_from_unknown", "swapped" */ flags: string[];
  help: { id: string; text: string; asked: string } | null;
  mark: SeatMark | null;
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

export interface Joined { practical: string; title: string; seat: number; vial: string; person: string; pseudonym: string }
export interface SeatPage {
  practical: string; title: string; state: "prepared" | "under_way" | "over"; now_min: number; seat: number; vial: string; pseudonym: string; partners: string[];
  turn: Turn | null; standing: SeatStanding; results: SeatResult[]; runs_each: number; choices: string[]; /* names of unknowns in the stock list, sorted */
  identified: string | null; identified_why: string | null; help: { id: string; text: string; asked: string } | null; notes: { text: string; when: string }[];
  agreement: { agreed: boolean | null; first_liquid_difference_c: number | null; last_crystal_difference_c: number | null };
  /** only after release */ mark: SeatMark | null; truth: { name: string; first_liquid_c: number; last_crystal_c: number } | null;
  cautions: string[];
}
export type SeatStep =
  | { what: "set_in"; load: number } | { what: "ended"; load: number }
  | { what: "result"; run: number; first_liquid_c: number; last_crystal_c: number; heating_rate_c_per_min: number | null; fresh_tube: boolean; note: string }
  | { what: "identify"; name: string; why: string } | { what: "note"; text: string }
  | { what: "ask_help"; text: string } | { what: "help_done" };
