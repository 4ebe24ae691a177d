/** Reports in words, and a second person's signature. */
import { get, id, post } from "./client";
import type { Look } from "./out";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type ChangedSince = Schemas["ChangedSince"];
export type MaySign = Schemas["MaySign"];
export type Sentences = Schemas["Sentences"];
export type SignOff = Schemas["SignOff"];
export type SignOffMeaning = Schemas["SignOffMeaning"];
export type SignOffRequest = Schemas["SignOffRequest"];

export const sentences = (sample: string, language: Look["language"], signal?: AbortSignal) =>
  get<Sentences>(`samples/${id(sample)}/sentences?language=${language}`, signal);
export const signOff = (sample: string, request: SignOffRequest) => post<SignOff>(`samples/${id(sample)}/sign-offs`, request);
export const takeBack = (signed: SignOff, reason: string) =>
  post<SignOff>(`sign-offs/${id(signed.id)}/withdraw`, { supersedes: signed.record, reason });
