/** What a solid could be, how two melt together, how pure one is, and the library behind it. Only the own list is kept. */
import { get, id, post, put } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

/** What a range was corrected to; not the same words as those of a result. */
export type RangeConvention = "unstated" | "at_rate" | "thermodynamic";
/** Why a literature value is doubted. */
export type ValueMark = "disagrees" | "unit" | "boiling" | "range" | "do_not_use" | "median";

export type LiteratureValue = Omit<Schemas["LiteratureValue"], "mark"> & { mark?: ValueMark | null };
export type Enthalpy = Schemas["Enthalpy"];
export type Substance = Omit<Schemas["ToldSubstance"], "melting_c"> & { melting_c: LiteratureValue[] };
export type Substances = Omit<Schemas["Substances"], "substances"> & { substances: Substance[] };
export type ExpectedOfSubstance = Schemas["ExpectedOfSubstance"];
export type OwnList = Schemas["OwnList"];
export type IdentifyRequest = Omit<Schemas["IdentifyRequest"], "convention"> & { convention: RangeConvention };
export type Candidates = Schemas["ToldCandidates"];
export type Candidate = Schemas["ToldCandidate"];
export type NextTest = Schemas["NextTest"];
export type SolidRequest = Schemas["SolidRequest"];
export type PairPoint = Schemas["PairPointRequest"];
export type MixtureRequest = Schemas["MixtureRequest"];
export type Mixture = Schemas["ToldMixture"];
export type MeltingSolid = Schemas["MeltingSolid"];
export type Melting = Schemas["ToldMelting"];
export type DiagramPoint = Schemas["DiagramPoint"];
export type MixedMeltingRequest = Schemas["MixedMeltingRequest"];
export type MixedMelting = Schemas["MixedMelting"];
export type MixedVerdict = Schemas["MixedVerdict"];
export type PurityRequest = Schemas["PurityRequest"];
export type PurityTold = Schemas["PurityTold"];
export type Purity = Schemas["Purity"];

export const findSubstances = (text: string, most: number, signal?: AbortSignal) =>
  get<Substances>(`library?find=${id(text)}&most=${most}`, signal);
export const nearSubstances = (near_c: number, within_c: number, most: number, signal?: AbortSignal) =>
  get<Substances>(`library?near_c=${near_c}&within_c=${within_c}&most=${most}`, signal);
export const expectedOf = (name: string) => get<ExpectedOfSubstance>(`library/expected?name=${id(name)}`);
export const ownList = () => get<OwnList>("library/own");
export const keepOwnList = (csv: string, revision: string) => put<OwnList>("library/own", { csv, revision });
export const candidates = (request: IdentifyRequest, signal?: AbortSignal) => post<Candidates>("candidates", request, signal);
export const mixture = (request: MixtureRequest, signal?: AbortSignal) => post<Mixture>("mixtures", request, signal);
export const mixedMelting = (request: MixedMeltingRequest, signal?: AbortSignal) =>
  post<MixedMelting>("mixed-meltings", request, signal);
export const purity = (request: PurityRequest, signal?: AbortSignal) => post<PurityTold>("purities", request, signal);
