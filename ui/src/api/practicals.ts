/** Class sessions: set up, taught, and worked in by students without an account. */
import { get, id, post, send } from "./client";
import type * as t from "./practical_types";

export type Board = t.Board;
export type BoardBench = t.BoardBench;
export type BoardSeat = t.BoardSeat;
export type InstructorStep = t.InstructorStep;
export type Joined = t.Joined;
export type Labels = t.Labels;
export type PairOfUnknowns = t.PairOfUnknowns;
export type PracticalSetUp = t.PracticalSetUp;
export type Rubric = t.Rubric;
export type SeatMark = t.SeatMark;
export type SeatPage = t.SeatPage;
export type SeatPerson = t.SeatPerson;
export type SeatResult = t.SeatResult;
export type SeatStanding = t.SeatStanding;
export type SeatStep = t.SeatStep;
export type Turn = t.Turn;
export type Unknown = t.Unknown;
export type UnknownsCompared = t.UnknownsCompared;
export type PracticalState = Board["state"];

/** One of the list. */
export interface PracticalRow {
  id: string;
  title: string;
  begun: string;
  seats: number;
  people: number;
  state: PracticalState;
}

export const all = async () => (await get<{ practicals: PracticalRow[] }>("practicals")).practicals;
/** The same id sent again makes nothing anew. */
export const make = (practical: string, set_up: t.PracticalSetUp) => post<t.Board>("practicals", { id: practical, set_up });
export const compare = (request: t.UnknownsRequest, signal?: AbortSignal) =>
  post<t.UnknownsCompared>("practicals/unknowns", request, signal);
export const board = (practical: string) => get<t.Board>(`practicals/${id(practical)}/board`);
export const labels = (practical: string) => get<t.Labels>(`practicals/${id(practical)}/labels`);
export const join = (code: string, name: string | null, seat: number | null) =>
  post<t.Joined>("practicals/join", { code, name, seat });

/** The seat of a person, or of whoever is logged in where nobody is named. */
export async function seat(practical: string, person: string): Promise<t.SeatPage> {
  const answer = await send(`practicals/${id(practical)}/seat`, person ? { headers: { "x-person": person } } : {});
  return (await answer.json()) as t.SeatPage;
}

/** Addresses below `/api/`. */
export const paths = {
  steps: (practical: string) => `practicals/${id(practical)}/steps`,
  seatSteps: (practical: string) => `practicals/${id(practical)}/seat/steps`,
  gradebook: (practical: string) => `practicals/${id(practical)}/gradebook.csv`,
} as const;
