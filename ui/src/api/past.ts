/** Results from before the book, and archives that come in. */
import { id, post, send, sendFile } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type CorrectionMark = Schemas["CorrectionMark"];
export type PastColumn = Schemas["PastColumnShown"];
export type PastFault = Schemas["PastFault"];
export type PastPreview = Schemas["PastPreview"];
export type PastResult = Schemas["PastResult"];
export type PastRow = Schemas["PastRow"];
export type PastTaken = Schemas["PastTaken"];

/** What came in with an archive. */
export interface ArchiveTaken {
  records: number;
  there_already: number;
  recordings: number;
  /** Labels. */
  samples: string[];
}

const named = (name: string) => new URLSearchParams({ name: name.slice(0, 120) }).toString();
const csv = (content: Blob): RequestInit => ({ method: "POST", headers: { "content-type": "text/csv" }, body: content });

/** Looks a table through; nothing is recorded. */
export async function previewPast(name: string, content: Blob, signal?: AbortSignal): Promise<PastPreview> {
  const answer = await send(`past-results/preview?${named(name)}`, { ...csv(content), ...(signal ? { signal } : {}) });
  return (await answer.json()) as PastPreview;
}
/** Records what the preview understood, all or nothing. */
export async function takePast(name: string, content: Blob): Promise<PastTaken> {
  return (await (await send(`past-results?${named(name)}`, csv(content))).json()) as PastTaken;
}
export const voidPast = (one: PastResult, reason: string) =>
  post<PastResult>(`past-results/${id(one.id)}/void`, { supersedes: one.record, reason });

export const takeArchive = (file: File, progress: (fraction: number) => void, signal: AbortSignal) =>
  sendFile<ArchiveTaken>("archives", file, progress, signal);
