/** Blind practice on recordings whose truth is known. */
import { get, id, post, send } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type Exercise = Schemas["Exercise"];
export type ExerciseKind = Schemas["ExerciseKind"];
export type PracticeItem = Schemas["PracticeItem"];
export type PracticeAttempt = Schemas["PracticeAttemptRequest"];
export type PracticeMarked = Schemas["PracticeMarked"];
export type PracticeProgress = Schemas["PracticeProgress"];
export type PassRule = Schemas["PassRule"];
export type EndMarked = Schemas["EndMarked"];
export type EndProgress = Schemas["EndProgress"];
export type FooledBy = Schemas["FooledBy"];
export type PracticePoint = Schemas["PracticePoint"];
export type PracticeReader = Schemas["PracticeReader"];

/** What comes next for whoever acts; one of a kind where one is named. */
export const next = (kind: ExerciseKind | "", signal?: AbortSignal) =>
  get<PracticeItem>(`practice/next${kind ? `?kind=${id(kind)}` : ""}`, signal);
/** One exercise by its number. */
export const exercise = (kind: ExerciseKind, seed: number, signal?: AbortSignal) =>
  get<PracticeItem>(`practice/exercises/${id(kind)}/${seed}`, signal);
/** The book's own recordings on which several readers agree. */
export const agreed = async () => (await get<{ items: PracticeItem[] }>("practice/recordings")).items;
/** Picture n of an exercise, from 0. */
export async function picture(item: Pick<PracticeItem, "pictures">, n: number, signal?: AbortSignal): Promise<Blob> {
  return (await send(`${item.pictures.replace(/^\/?api\//, "")}${n}`, signal ? { signal } : {})).blob();
}
/** The same attempt sent again is answered the same and recorded once. */
export const attempt = (attempt: PracticeAttempt) => post<PracticeMarked>("practice/attempts", attempt);
/** One's own progress, or that of a person. */
export const progress = (person?: string) =>
  get<PracticeProgress>(person ? `practice/progress/${id(person)}` : "practice/progress");
export const readers = async () => (await get<{ readers: PracticeReader[] }>("practice/readers")).readers;
