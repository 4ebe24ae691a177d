/** What the routes of thermometers, standards and determinations take and give, with the metrology in it spelt out. */
import type {
  ControlChart,
  CorrectionCurve,
  Determined,
  EndName,
  ReferenceConvention,
  UsualStandard,
  ZeroRate,
} from "./metrology.types";
import type { components } from "./schema";

type Schemas = components["schemas"];
type With<T, R> = Omit<T, keyof R> & R;

export type * from "./metrology.types";

export type BenchContent = Schemas["BenchContent"];
export type CalibrationPoint = Schemas["CalibrationPoint"];
export type CalibrationRequest = Schemas["CalibrationRequest"];
export type Certificate = Schemas["CertificateState"];
export type Changes = Schemas["CalibrationChanges"];
export type ChartDay = Schemas["ChartDay"];
export type CheckContent = Schemas["CheckContent"];
export type CheckRow = Schemas["CheckView"];
export type CorrectionPlot = Schemas["CorrectionPlot"];
export type DetermineRequest = Schemas["DetermineRequest"];
export type RequiredVerdict = Schemas["RequiredChecked"];
export type RunOfResult = Schemas["RunOfResult"];
export type ThermometerOfResult = Schemas["ThermometerOfResult"];
export type ThermometerSettings = Schemas["ThermometerRevision"];
export type ThermometerState = Schemas["ThermometerState"];

export type CalibrationRow = With<Schemas["CalibrationView"], { curve: CorrectionCurve }>;
export type CalibrationDone = With<Schemas["CalibrationDone"], { calibration: CalibrationRow }>;
export type CalibrationTried = With<Schemas["CalibrationTried"], { curve: CorrectionCurve }>;
export type InForce = With<Schemas["CalibrationInForce"], { convention: ReferenceConvention }>;

export type StandardContent = With<Schemas["StandardContent"], { convention: ReferenceConvention }>;
export type StandardRow = With<Schemas["StandardRow"], { standard: StandardContent }>;
export type StandardRevision = With<Schemas["StandardRevision"], { standard: StandardContent }>;
export interface Standards {
  rows: StandardRow[];
  usual: UsualStandard[];
}

export type ThermometerRow = With<Schemas["ThermometerRow"], { in_force: InForce | null }>;
export type ThermometerDetail = With<
  Schemas["Thermometer"],
  { row: ThermometerRow; chart: ControlChart | null; calibrations: CalibrationRow[] }
>;
export type ThermometersToday = Record<keyof Schemas["ThermometersToday"], ThermometerRow[]>;

/** What a result in the book rests on. */
export type Basis = With<Schemas["Basis"], { result: Determined }>;
export type DeterminationTried = With<
  Schemas["DeterminationTried"],
  { result: Determined | null; zero_rate: Record<EndName, ZeroRate | null> | null }
>;
