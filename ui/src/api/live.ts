/** A bench at work: its devices, the run at it, its pictures, and what the person tells it. */
import { ask, id, post, get } from "./client";

export interface LiveBench {
  name: string;
  places: number;
  room_c: number;
  max_c: number;
  simulated: boolean;
  /** Of the bench's clock, as a multiple of real time; 1 for a real one. */
  speed: number;
  /** A person turns the knob. */
  by_hand: boolean;
  /** A person keys in the temperature. */
  keyed: boolean;
  browser_camera: boolean;
  open: boolean;
  /** Why it cannot be opened. */
  problem: string | null;
}

export type DeviceState = { state: "waiting" | "well" } | { state: "doubtful" | "lost"; why: string };
export type Phase = "running" | "holding" | "paused" | "suspended" | "stopping" | "failing" | "ended" | "broken";
export type LegKind = "approach" | "soak" | "attend" | "scan" | "cool";
export type Purpose = "scouting" | "measuring";
export type Look = "empty" | "waiting" | "solid" | "settling" | "first_liquid" | "melting" | "clear" | "darkened";
export type MarkedMoment = "first_liquid" | "last_crystal";
export type Happening = "leg" | "pressed" | "marked" | "called" | "fault" | "mended" | "device" | "doubt" | "over";

export interface Leg {
  kind: LegKind;
  to_c?: number | null;
  rate_c_per_min?: number | null;
  minutes?: number | null;
}
export interface Programme {
  purpose: Purpose;
  legs: Leg[];
}
export interface Coaching {
  advice: "more" | "less" | "hold" | "off";
  wanted_c_per_min: number;
  actual_c_per_min: number | null;
  warning: string | null;
}
export interface LiveTube {
  place: number;
  look: Look;
  first_liquid_s: number | null;
  last_crystal_s: number | null;
  first_liquid_c: number | null;
  last_crystal_c: number | null;
  in_sight: boolean;
}
export interface LiveMark {
  place: number;
  moment: MarkedMoment;
  /** From the start of the run [s]. */
  time_s: number;
  /** As indicated [°C]; none while there was none. */
  temperature_c: number | null;
  by: string;
}
export interface RunEvent {
  time_s: number;
  what: Happening;
  text: string;
}
export interface RunView {
  time_s: number;
  phase: Phase;
  programme: Programme;
  /** From 0. */
  leg: number;
  leg_elapsed_s: number;
  temperature_c: number | null;
  wanted_c: number;
  coaching: Coaching;
  faults: { fault: string; text: string }[];
  tubes: LiveTube[];
  marks: LiveMark[];
  attend_left_s: number | null;
  estimate_c: readonly [number, number] | null;
  events: RunEvent[];
  recording: boolean;
  end: string | null;
}
export interface SeriesPoint {
  time_s: number;
  actual_c: number;
  wanted_c: number;
}
/** What one event tells. */
export interface BenchView {
  time_s: number;
  temperature_c: number | null;
  thermometer: DeviceState;
  heater: DeviceState;
  camera: DeviceState;
  picture: number;
  passed_over: number;
  engine_behind_s: number;
  recording_trouble: string | null;
  run: RunView | null;
  run_id: string | null;
  recording_id: string | null;
  /** Number of the first of the new points, from 0. */
  first_point: number;
  new_points: SeriesPoint[];
}

export interface MeasuringOrder {
  kind: "measuring";
  first_liquid_c: number;
  last_crystal_c: number;
  rate_c_per_min?: number;
  soak_min?: number;
  start_below_c?: number;
  stop_above_c?: number;
  cool_below_c?: number;
  attend?: boolean;
}
export interface ScoutingOrder {
  kind: "scouting";
  up_to_c: number;
  rate_c_per_min?: number;
}
export type PlanOrder = MeasuringOrder | ScoutingOrder;
export interface CurvePoint {
  time_min: number;
  temperature_c: number;
  leg: number;
}
export interface Plan {
  programme: Programme;
  curve: CurvePoint[];
  minutes_to_scan_end: number;
  cautions: string[];
}
export interface RunOrder {
  plan: PlanOrder;
  tubes: { place: number; sample: string | null }[];
  end_when_clear: boolean;
}
export type Press =
  | { key: "hold" | "pause" | "resume" | "skip" | "stop" | "attend" }
  | { key: "mark"; place: number; moment: MarkedMoment };

export const SIMULATED_FAULTS = [
  "thermometer_unplugged",
  "thermometer_frozen",
  "thermometer_jumping",
  "heater_stuck",
  "heater_cold",
  "heater_unreachable",
  "camera_unplugged",
] as const;
export type SimulatedFault = (typeof SIMULATED_FAULTS)[number];

const at = (bench: string) => `live/${id(bench)}`;

export const benches = () => get<{ benches: LiveBench[] }>("live");
export const openBench = (bench: string, speed?: number) =>
  post<unknown>(`${at(bench)}/open`, speed === undefined ? {} : { speed });
export const closeBench = (bench: string) => post<unknown>(`${at(bench)}/close`, {});
/** Says that somebody looks: the heater goes off when nobody has for a minute. */
export const seen = (bench: string) => post<unknown>(`${at(bench)}/seen`, {});
export const plan = (bench: string, order: PlanOrder) => post<Plan>(`${at(bench)}/plan`, order);
export const startRun = (bench: string, order: RunOrder) =>
  post<{ run: string; recording: string | null }>(`${at(bench)}/runs`, order);
export const press = (bench: string, key: Press) => post<unknown>(`${at(bench)}/press`, key);
export const keyIn = (bench: string, temperature_c: number) =>
  post<unknown>(`${at(bench)}/temperature`, { temperature_c });
export const provoke = (bench: string, fault: SimulatedFault, on: boolean) =>
  post<unknown>(`${at(bench)}/faults`, { fault, on });

export interface LivePicture {
  number: number;
  /** Bench clock [s]. */
  time_s: number;
  jpeg: Blob;
}
/** The newest picture after one; null when there was none within a second. */
export async function picture(bench: string, after: number, signal: AbortSignal): Promise<LivePicture | null> {
  const answer = await ask(`${at(bench)}/picture?after=${after}`, { signal });
  if (answer.status === 204) return null;
  return {
    number: Number(answer.headers.get("x-picture-number")),
    time_s: Number(answer.headers.get("x-picture-time")),
    jpeg: await answer.blob(),
  };
}

/** Before a connection that was refused or fell silent is tried again [ms]. */
const AGAIN_MS = 2000;

/** The live connection to one bench. Every connection begins with the whole run, so nothing has to be kept. */
export class BenchEvents {
  #source: EventSource | undefined;
  #again: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly bench: string,
    private readonly hear: (view: BenchView) => void,
    private readonly lost: () => void,
  ) {}

  start(): void {
    this.stop();
    const source = new EventSource(`/api/${at(this.bench)}/events`);
    this.#source = source;
    source.addEventListener("view", (event: MessageEvent<string>) => this.hear(JSON.parse(event.data) as BenchView));
    source.onerror = () => {
      this.lost();
      if (source.readyState === EventSource.CLOSED) this.#again = setTimeout(() => this.start(), AGAIN_MS);
    };
  }

  stop(): void {
    clearTimeout(this.#again);
    this.#source?.close();
    this.#source = undefined;
  }
}
