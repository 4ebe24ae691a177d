/** What the API gives, by the names the pages use. */
export type Role = "supervisor" | "analyst" | "student" | "viewer";
export type Outcome = "melted" | "partly_melted" | "unmelted" | "decomposed" | "empty";
export type Standing = "unread" | "read" | "not_agreed" | "agreed";
export type Convention = "as_logged" | "thermodynamic" | "at_rate";
export type RecordingState = "under_way" | "waits_for_reading" | "read";
export type RunState = "under_way" | "ended" | "broken";
export type WorkState = "queued" | "copying" | "making_pictures" | "reading" | "done" | "failed";
export type Kind = string;

export interface Book {
  title: string;
  made_by: string;
  served_by: string;
  records: number;
  head_sha256: string | null;
  people: number;
  samples: number;
  recordings: number;
  agree_within_c: number;
  cautions: string[];
}
export interface Person {
  id: string;
  record: string;
  name: string;
  role: Role;
}
export interface NewPerson {
  name: string;
  role: Role;
}
export interface Moment {
  time_s: number;
  temperature_c: number;
  standard_uncertainty_c: number;
}
export interface Moments {
  outcome: Outcome;
  first_liquid: Moment | null;
  last_crystal: Moment | null;
}
export interface Remark {
  kind: string;
  time_s: number;
  text: string;
}
export interface Quality {
  kind: string;
  text: string;
}
export type Reader = { by: "engine"; program: string } | { by: "person"; person: string; blind: boolean };
export interface Decision {
  who: string;
  when: string;
  record: string;
  reason: string | null;
  instead: Moments | null;
}
export interface Tube {
  place: number;
  sample: string | null;
  frame_px: number[] | null;
  read: Moments | null;
  decision: Decision | null;
  holds: Moments | null;
  heating_rate_c_per_min: number | null;
  remarks: Remark[];
}
export interface TubeCurve {
  place: number;
  time_s: number[];
  temperature_c: number[];
  liquid_fraction: number[];
  solid_fraction: number[];
}
export interface Reading {
  id: string;
  record: string;
  recording: string;
  who: string;
  when: string;
  reader: Reader;
  hidden: boolean;
  tubes: Tube[];
  quality: Quality[];
  notes: string[];
  curves: TubeCurve[];
}
export interface TubeRef {
  reading: string;
  place: number;
}
export type Seen = { at: "frame"; frame: number } | { at: "time"; time_s: number } | { at: "not_seen" };
export interface SeenTube {
  place: number;
  first_liquid: Seen;
  last_crystal: Seen;
  outcome?: Outcome | null;
}
export interface NewReading {
  tubes: SeenTube[];
}
export type DecisionRequest =
  | { place: number; says: "confirm" }
  | {
      place: number;
      says: "set";
      first_liquid: Seen;
      last_crystal: Seen;
      outcome?: Outcome | null;
      reason?: string | null;
    };
export interface LoadedTube {
  place: number;
  sample: string | null;
  label: string | null;
}
export interface Run {
  id: string;
  begun: string;
  bench: string | null;
  state: RunState;
  load: LoadedTube[];
  remarks: string | null;
}
export type RecordingSource =
  | { from: "camera" }
  | { from: "video"; file_name: string; video_start_s: number }
  | { from: "pictures"; folder_name: string; video_start_s: number };
export interface RecordingRow {
  id: string;
  record: string;
  run: string;
  begun: string;
  state: RecordingState;
  source: RecordingSource;
  cut: boolean;
  start_s: number | null;
  end_s: number | null;
  lowest_c: number | null;
  highest_c: number | null;
  load: LoadedTube[];
  readings: number;
}
export interface Recordings {
  rows: RecordingRow[];
  total: number;
  page: number;
  per_page: number;
}
export interface ProblemJson {
  type: string;
  title: string;
  status: number;
  detail?: string | null;
}
export interface Work {
  id: string;
  kind: "import" | "reading";
  state: WorkState;
  done_fraction: number;
  who: string;
  recording: string | null;
  reading: string | null;
  problem: ProblemJson | null;
}
export interface RecordingDetail {
  row: RecordingRow;
  run: Run;
  readings: Reading[];
  pictures: "ready" | "missing";
  blind: boolean;
  work: Work | null;
}
export interface FrameTimes {
  count: number;
  time_s: number[];
  temperature_c: (number | null)[];
  source_width_px: number | null;
  source_height_px: number | null;
}
export interface LogSeries {
  time_s: number[];
  temperature_c: number[];
  rows: number;
  lowest_c: number;
  highest_c: number;
  remarks: string[];
}
export interface Change {
  seq: number;
  record: string;
  kind: Kind;
  subject: string;
}
export interface Preparation {
  dried?: boolean | null;
  ground?: boolean | null;
  column_height_mm?: number | null;
  solvent?: string | null;
}
export interface SampleContent {
  label: string;
  origin?: string | null;
  expected_substance?: string | null;
  hazards?: string | null;
  preparation?: Preparation;
  remarks?: string | null;
}
export interface SampleRevision {
  supersedes: string;
  sample: SampleContent;
  reason?: string | null;
}
export interface SampleRow {
  id: string;
  label: string;
  origin: string | null;
  expected_substance: string | null;
  hazards: string | null;
  standing: Standing;
  recordings: number;
  range_text: string | null;
  added: string;
}
export interface Samples {
  rows: SampleRow[];
  total: number;
  page: number;
  per_page: number;
}
export interface SampleTube {
  run: string;
  recording: string;
  reading: string;
  reader: Reader;
  read_at: string;
  hidden: boolean;
  tube: Tube;
}
export interface AgreementRun {
  run: string;
  first_liquid_c: number;
  last_crystal_c: number;
  tubes: number;
  agrees: boolean;
  decided: boolean;
}
export interface Agreement {
  agreed: boolean;
  within_c: number;
  runs: AgreementRun[];
  spread_c: number | null;
  further_runs_needed: number;
  from: TubeRef[];
  range_text: string | null;
}
export interface ResultValue {
  value_c: number;
  standard_uncertainty_c: number;
  expanded_uncertainty_c: number;
  coverage_factor: number;
}
export interface Determination {
  id: string;
  record: string;
  who: string;
  when: string;
  agreed: boolean;
  spread_c: number | null;
  further_runs_needed: number;
  convention: Convention;
  first_liquid: ResultValue | null;
  last_crystal: ResultValue | null;
  range_text: string;
  from: TubeRef[];
  outdated: TubeRef[];
}
export interface SampleDetail {
  row: SampleRow;
  record: string;
  sample: SampleContent;
  tubes: SampleTube[];
  recordings: RecordingRow[];
  agreement: Agreement | null;
  determinations: Determination[];
  blind: boolean;
}
export interface Bench {
  id: string;
  record: string;
  name: string;
  places: number;
  thermometer?: string | null;
  thermometer_due?: string | null;
}
export interface Today {
  runs_under_way: Run[];
  work: Work[];
  waiting_for_reading: { rows: RecordingRow[]; total: number };
  not_agreed: { rows: SampleRow[]; total: number };
  undecided_tubes: number;
  thermometers_due: Bench[];
}
export interface Upload {
  id: string;
  name: string;
  bytes: number;
}
export interface UploadedVideo {
  upload: Upload;
  width_px: number;
  height_px: number;
  start_s: number;
  end_s: number;
  frame_interval_s: number;
  remarks: string[];
}
export interface ImportRequest {
  video: string;
  log: string;
  video_start_s: number;
  tubes: { place: number; sample?: string | null }[];
  bench?: string | null;
  remarks?: string | null;
  read: boolean;
}
export interface People {
  people: Person[];
}
export interface ImportedSamples {
  samples: string[];
}
