/** What samples are said to be, and mixed meltings out of recordings. */
import { id, post } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type SampleVerdict = Schemas["SampleVerdict"];
export type Verdict = Schemas["Verdict"];
export type VerdictRequest = Schemas["VerdictRequest"];
export type Identified = Schemas["Identified"];
export type SaidMixedMelting = Schemas["SaidMixedMelting"];
export type SaidPurity = Schemas["SaidPurity"];
export type MixedTubes = Schemas["MixedTubesRequest"];
export type MixedTubesJudged = Schemas["MixedTubesJudged"];

export const tryVerdict = (sample: string, request: VerdictRequest, signal?: AbortSignal) =>
  post<SampleVerdict>(`samples/${id(sample)}/verdicts/try`, request, signal);
export const stateVerdict = (sample: string, request: VerdictRequest) => post<Verdict>(`samples/${id(sample)}/verdicts`, request);
export const judgeRecording = (recording: string, tubes: MixedTubes, signal?: AbortSignal) =>
  post<MixedTubesJudged>(`recordings/${id(recording)}/mixed-melting`, tubes, signal);
