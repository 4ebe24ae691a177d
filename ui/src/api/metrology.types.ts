/** What the metrology of the program writes into its answers as it stands; the description of the API calls it an object. */

/** What temperatures a standard's value, a calibration or a result stands for. */
export type ReferenceConvention =
  | { kind: "thermodynamic" }
  | { kind: "at_rate"; rate_c_per_min: number | null }
  | { kind: "not_stated" };

export type EndName = "first_liquid" | "last_crystal";

export interface Told {
  kind: string;
  text: string;
}

export interface UsualStandard {
  name: string;
  cas: string;
  about_c: number;
  cautions: string;
}

export interface ChartAlarm {
  rule: string;
  text: string;
}
export interface ChartLimits {
  low_c: number;
  high_c: number;
}
export interface ControlChart {
  centre_c: number;
  sigma_c: number;
  limits: ChartLimits;
  moving_range: { mean_c: number; high_c: number; values_c: (number | null)[] };
  weighted_average: { lambda: number; width: number; values_c: number[]; limits: ChartLimits[] };
  points: { value_c: number; alarms: ChartAlarm[] }[];
  rules?: { name: string; text: string; source: string }[];
  provisional: boolean;
}

export interface CorrectionCurve {
  degree: number;
  degrees_of_freedom: number;
  valid_from_c: number;
  valid_to_c: number;
  convention: ReferenceConvention;
}

export interface BudgetComponent {
  source: string;
  text: string;
  standard_uncertainty: number;
  sensitivity: number;
  /** Null where the uncertainty itself is taken as known. */
  degrees_of_freedom: number | null;
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
  /** What is written down [°C], and where it comes from. */
  stated_expanded_uncertainty_c: number;
  stated_from: "first_order" | "monte_carlo" | "each_component";
  monte_carlo: { low_c: number; high_c: number; draws: number; differs: boolean } | null;
}
export interface DeterminedRun {
  run: string;
  tubes: number;
  first_liquid_c: number;
  last_crystal_c: number;
  heating_rate_c_per_min: number | null;
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
  outliers: { run: string; end: EndName; used: boolean; text: string }[];
  trends: { end: EndName; per_run_c: number; probability: number }[];
  agree_within_c: number;
  corrected: boolean;
  /** Null when uncorrected. */
  convention: ReferenceConvention | null;
  remarks: Told[];
}

/** The value at zero heating rate, halfway between two laws. */
export interface ZeroRate {
  temperature_c: number;
  standard_uncertainty_c: number;
  difference_c: number;
  depends_on_law: boolean;
}
