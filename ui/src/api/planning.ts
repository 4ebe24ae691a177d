/** Planning away from the bench: programmes of one run, and sessions of many. Nothing here heats or records. */
import { get, id, post } from "./client";
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
export const planProgramme = (request: ProgrammeRequest) => post<PlannedProgramme>("programmes/plan", request);
