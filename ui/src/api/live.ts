/** A bench at work: its devices, the run at it, its pictures, and what the person tells it. */
import { get, id, post, send } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

/** An answer always carries every field; the description cannot tell one that may be null from one that may be missing. */
type Told<T> = T extends readonly (infer U)[]
  ? Told<U>[]
  : T extends object
    ? { [K in keyof T]-?: Told<Exclude<T[K], undefined>> }
    : T;

export type LiveBench = Schemas["LiveBench"];
export type DeviceState = Told<Schemas["DeviceHealth"]>;
export type Phase = Schemas["Phase"];
export type LegKind = Schemas["Leg"]["kind"];
export type Purpose = Schemas["Purpose"];
export type Look = Schemas["Look"];
export type MarkedMoment = Schemas["MomentRequest"];
export type Happening = Schemas["Happening"];
export type Coaching = Told<Schemas["Coaching"]>;
export type LiveTube = Told<Schemas["TubeView"]>;
export type LiveMark = Told<Schemas["Mark"]>;
export type RunEvent = Schemas["RunEvent"];
export type SeriesPoint = Schemas["SeriesPoint"];

/** A leg of any kind, with what its kind has. */
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
export type RunView = Omit<Told<Schemas["RunView"]>, "programme" | "estimate_c"> & {
  programme: Programme;
  /** First liquid and last crystal [°C]. */
  estimate_c: readonly [number, number] | null;
};
/** What one event tells. */
export type BenchView = Omit<Told<Schemas["LiveView"]>, "run" | "points"> & { run: RunView | null };

export type PlanOrder = Schemas["PlanRequest"];
export type CurvePoint = Schemas["PlannedPoint"];
export type Plan = Omit<Schemas["Planned"], "programme"> & { programme: Programme };
export type RunOrder = Schemas["RunRequest"];
export type Press = Schemas["PressRequest"];

export const SIMULATED_FAULTS = [
  "thermometer_unplugged",
  "thermometer_frozen",
  "thermometer_jumping",
  "heater_stuck",
  "heater_cold",
  "heater_unreachable",
  "camera_unplugged",
] as const satisfies readonly Schemas["SimulatedFault"][];
export type SimulatedFault = Schemas["SimulatedFault"];

const at = (bench: string) => `live/${id(bench)}`;

export const benches = () => get<Schemas["LiveBenchList"]>("live");
export const openBench = (bench: string, speed?: number) =>
  post<unknown>(`${at(bench)}/open`, speed === undefined ? {} : { speed });
export const closeBench = (bench: string) => post<unknown>(`${at(bench)}/close`, {});
/** Says that somebody looks: the heater goes off when nobody has for a minute. */
export const seen = (bench: string) => post<unknown>(`${at(bench)}/seen`, {});
export type BenchLearning = Told<Schemas["BenchLearning"]>;
export const learned = (bench: string) => get<BenchLearning>(`${at(bench)}/learned`);
export const learn = (bench: string) => post<BenchLearning>(`${at(bench)}/learn`, {});
export const plan = (bench: string, order: PlanOrder) => post<Plan>(`${at(bench)}/plan`, order);
export const startRun = (bench: string, order: RunOrder) =>
  post<Schemas["RunBegun"]>(`${at(bench)}/runs`, order);
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
  const answer = await send(`${at(bench)}/picture?after=${after}`, { signal });
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
