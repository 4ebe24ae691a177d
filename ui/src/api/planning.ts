/** Planning away from the bench: programmes of one run, and sessions of many. Nothing here heats or records. */
import { get, id, post, put } from "./client";
import type { Programme } from "./live";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type PlanningBench = Schemas["PlanningBench"];
export type PlanningBenches = Schemas["PlanningBenches"];
export type ExpectedRange = Schemas["ExpectedRange"];
export type RangeOrigin = Schemas["RangeOrigin"];
export type ProgrammeRequest = Schemas["ProgrammeRequest"];
export type MeasuringOrder = Schemas["MeasuringOrder"];
export type LegTime = Schemas["LegTime"];
export type PlannedProgramme = Omit<Schemas["PlannedProgramme"], "programme"> & { programme: Programme };

export const planningBenches = () => get<PlanningBenches>("programmes/benches");
export const expectedRange = (sample: string) => get<ExpectedRange>(`programmes/expected/${id(sample)}`);
export type Screening = Schemas["Screening"];
export type Procedures = Schemas["Procedures"];
export type Procedure = Procedures["procedures"][number];
export const procedures = () => get<Procedures>("programmes/procedures");
export const planProgramme = (request: ProgrammeRequest) => post<PlannedProgramme>("programmes/plan", request);

export type SessionOrder = Required<Omit<Schemas["SessionOrder"], "policy">> & { policy: SessionPolicy };
export type SessionPolicy = Required<Schemas["SessionPolicy"]>;
export type SessionBench = Schemas["SessionBench"];
export type SessionSample = Schemas["SessionSample"];
export type TypedSample = Schemas["TypedSample"];
export type SessionDraft = Schemas["SessionDraft"];
export type DraftLoad = Schemas["DraftLoad"];
export type DraftFault = Schemas["DraftFault"];
export type PlannedTube = Schemas["PlannedTube"];
export type PlannedLoad = Schemas["PlannedLoad"];
export type SessionShown = Schemas["SessionShown"];
export type BenchShares = Schemas["BenchShares"];
export type Saving = Schemas["Saving"];
export type Relaxation = Omit<Schemas["Relaxation"], "order"> & { order: SessionOrder };
export type LoadPicture = Schemas["LoadPicture"];
export type Stage = Schemas["Stage"];
export type StageKind = Schemas["StageKind"];
export type SessionContent = Omit<Schemas["SessionContent"], "order"> & { order: SessionOrder };
export type SessionDocument = Omit<Schemas["SessionDocument"], "session"> & { session: SessionContent };
export type SessionRow = Schemas["SessionRow"];

/** Something that is looked for over seconds, from a plan as it stands. */
export interface Rework {
  order: SessionOrder;
  draft: SessionDraft;
  now_min: number;
  seconds: number;
}

export const sessions = () => get<Schemas["Sessions"]>("sessions");
export const session = (name: string) => get<SessionDocument>(`sessions/${id(name)}`);
export const keepSession = (name: string, revision: number, session: SessionContent) =>
  put<SessionDocument>(`sessions/${id(name)}`, { revision, session });
export const retimeSession = (order: SessionOrder, draft: SessionDraft, now_min: number) =>
  post<SessionShown>("session-plans/retime", { order, draft, now_min });
export const replanSession = (asked: Rework, signal: AbortSignal) => post<SessionShown>("session-plans/replan", asked, signal);
export const sessionSavings = (asked: Rework, signal: AbortSignal) =>
  post<{ savings: Saving[] }>("session-plans/savings", asked, signal);
/** `in_time`: the plan within the time that the page has, where it has one. */
export const sessionRelaxations = (asked: Rework & { in_time: SessionDraft | null }, signal: AbortSignal) =>
  post<{ relaxations: Relaxation[] }>("session-plans/relaxations", asked, signal);
export const readSessionFile = (toml: string) => post<SessionOrder>("session-files/read", { toml });
export const writeSessionFile = (order: SessionOrder) => post<Schemas["SessionFile"]>("session-files/write", order);
