/** Shapes of thermometers, standards and determinations, until the description of the API has them. */
import type { Person, TubeRef } from "./types";

/** What temperatures a standard's value, a calibration or a result stands for. */
export type ReferenceConvention =
  | { kind: "thermodynamic" }
  | { kind: "at_rate"; rate_c_per_min: number | null }
  | { kind: "not_stated" };

export type ThermometerState = "never_checked" | "in_order" | "due" | "overdue" | "out_of_control";
export type Certificate = "in_force" | "expired" | "not_stated";
export type EndName = "first_liquid" | "last_crystal";
export interface Told {
  kind: string;
  text: string;
}

export interface StandardContent {
  substance: string;
  cas?: string | null;
  reference_c: number;
  standard_uncertainty_c?: number | null;
  convention: ReferenceConvention;
  end: EndName;
  lot?: string | null;
  expires?: string | null;
  source?: string | null;
  cautions?: string | null;
  remarks?: string | null;
  retired: boolean;
}
export interface StandardRow {
  id: string;
  record: string;
  who: Person["id"];
  when: string;
  standard: StandardContent;
  expired: boolean;
}
export interface UsualStandard {
  name: string;
  cas: string;
  about_c: number;
  thermodynamic_c: number | null;
  cautions: string;
}
export interface Standards {
  rows: StandardRow[];
  usual: UsualStandard[];
}

export interface InForce {
  id: string;
  record: string;
  in_force_from: string;
  who: string;
  when: string;
  degree: number;
  valid_from_c: number;
  valid_to_c: number;
  convention: ReferenceConvention;
}
export interface ThermometerRow {
  bench: string;
  name: string;
  thermometer: string | null;
  state: ThermometerState;
  reasons: string[];
  last_check: string | null;
  due_on: string | null;
  in_force: InForce | null;
}
export interface CheckContent {
  standard: string;
  made_on: string;
  indicated_c: number;
  standard_uncertainty_c?: number | null;
  heating_rate_c_per_min?: number | null;
  from?: TubeRef | null;
  remarks?: string | null;
}
export interface CheckRow {
  id: string;
  record: string;
  who: string;
  when: string;
  check: CheckContent & { bench: string; thermometer?: string | null; void?: boolean };
  substance: string;
  reference_c: number;
  void_reason?: string | null;
}

export interface ChartAlarm {
  rule: string;
  text: string;
}
export interface ControlChart {
  centre_c: number;
  sigma_c: number;
  limits: { low_c: number; high_c: number };
  moving_range: { mean_c: number; high_c: number; values_c: (number | null)[] };
  ewma: { lambda: number; width: number; values_c: number[]; low_c: number[]; high_c: number[] };
  points: { value_c: number; alarms: ChartAlarm[] }[];
  rules: { name: string; text: string; source: string }[];
  provisional: boolean;
}
export interface ChartDay {
  check: string;
  made_on: string;
  own: boolean;
}

export interface CorrectionCurve {
  degree: number;
  origin_c: number;
  coefficients: number[];
  degrees_of_freedom: number;
  residual_sd_c?: number | null;
  valid_from_c: number;
  valid_to_c: number;
  convention: ReferenceConvention;
}
export interface CalibrationPoint {
  check: string;
  standard: string;
  substance: string;
  reference_c: number;
  reference_u_c?: number | null;
  indicated_c: number;
  indicated_u_c?: number | null;
  certificate: Certificate;
  used: boolean;
  residual_c?: number | null;
  suspect: boolean;
}
export interface CorrectionPlot {
  indicated_c: number[];
  correction_c: number[];
  low_c: number[];
  high_c: number[];
}
export interface CalibrationRow {
  id: string;
  record: string;
  who: string;
  when: string;
  calibration: {
    bench: string;
    thermometer?: string | null;
    in_force_from: string;
    curve: CorrectionCurve;
    points: CalibrationPoint[];
    degree_because: string;
    remarks: Told[];
    withdrawn: boolean;
  };
  withdrawn_because?: string | null;
  plot: CorrectionPlot | null;
}
export interface Changes {
  results: number;
  changed: number;
  rows: {
    sample: string;
    label: string;
    before: string;
    after: string;
    first_liquid_by_c: number | null;
    last_crystal_by_c: number | null;
  }[];
}
export interface ThermometerDetail {
  row: ThermometerRow;
  bench_record: string;
  check_every_days: number | null;
  max_c: number | null;
  checks: CheckRow[];
  chart: ControlChart | null;
  chart_days: ChartDay[];
  calibrations: CalibrationRow[];
}
export interface CalibrationRequest {
  checks: string[];
  left_out: string[];
  degree: number | null;
  in_force_from: string;
}
export interface CalibrationTried {
  curve: CorrectionCurve;
  degree_because: string;
  points: CalibrationPoint[];
  remarks: Told[];
  plot: CorrectionPlot;
  changes: Changes;
}
export interface CalibrationMade {
  calibration: CalibrationRow;
  changes: Changes;
}
export interface ThermometerSettings {
  supersedes: string;
  thermometer: string | null;
  check_every_days: number | null;
  max_c: number | null;
  reason?: string | null;
}

export interface BudgetComponent {
  source: string;
  text: string;
  standard_uncertainty: number;
  sensitivity: number;
  degrees_of_freedom: number | null;
  shape: string;
}
export interface EndResult {
  value_c: number;
  standard_uncertainty_c: number;
  expanded_uncertainty_c: number;
  coverage_factor: number;
  effective_degrees_of_freedom: number | null;
  indicated_c: number;
  correction_c: number;
  extrapolated: boolean;
  budget: BudgetComponent[];
  monte_carlo: { low_c: number; high_c: number; draws: number; differs: boolean } | null;
}
export interface DeterminedRun {
  run: string;
  tubes: number;
  first_liquid_c: number;
  last_crystal_c: number;
  corrected_first_liquid_c?: number | null;
  corrected_last_crystal_c?: number | null;
  used: boolean;
}
export interface Determined {
  agreed: boolean;
  runs: DeterminedRun[];
  runs_used: string[];
  further_runs_needed: number;
  first_liquid: EndResult;
  last_crystal: EndResult;
  spread_c: number;
  width_c: number;
  range_text: string;
  notebook_text: string;
  outliers: { run: string; end: EndName; test: string; statistic: number; critical: number; used: boolean; text: string }[];
  trends: { end: EndName; per_run_c: number; probability: number }[];
  agree_within_c: number;
  corrected: boolean;
  convention: ReferenceConvention | null;
  remarks: Told[];
}
export interface RequiredRange {
  from_c: number;
  to_c: number;
  guard?: number | null;
}
export interface RequiredVerdict {
  from_c: number;
  to_c: number;
  guard?: number | null;
  decision: "meets" | "does_not_meet" | "cannot_be_decided";
  guard_lower_c: number;
  guard_upper_c: number;
  probability_lower: number;
  probability_upper: number;
  text?: string;
}
export interface RunThermometer {
  run: string;
  bench: string;
  name: string;
  calibration: string | null;
  state: ThermometerState;
  reasons: string[];
  heating_rate_c_per_min: number | null;
}
export interface DetermineRequest {
  from?: TubeRef[];
  agree_within_c?: number;
  required?: RequiredRange;
}
export interface DeterminationTried {
  result: Determined | null;
  runs: RunThermometer[];
  required: RequiredVerdict | null;
  zero_rate: { value_c: number; text?: string } | null;
  refused: string | null;
}
export interface TodayThermometer {
  bench: string;
  name: string;
  thermometer: string | null;
  state: ThermometerState;
  reasons: string[];
  due_on: string | null;
}
