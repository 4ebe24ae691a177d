/** Class sessions: set up, taught, and worked in by students without an account. */
import { get, id, post, send } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type Board = Schemas["Board"];
export type BoardBench = Schemas["BoardBench"];
export type BoardSeat = Schemas["BoardSeat"];
export type InstructorStep = Schemas["InstructorStep"];
export type Joined = Schemas["Joined"];
export type Labels = Schemas["Labels"];
export type PairOfUnknowns = Schemas["PairOfUnknowns"];
export type PracticalSetUp = Schemas["PracticalSetUp"];
export type Rubric = Schemas["Rubric"];
export type SeatMark = Schemas["SeatMark"];
export type SeatPage = Schemas["SeatPage"];
export type SeatPerson = Schemas["SeatPerson"];
export type SeatResult = Schemas["SeatResult"];
export type SeatStanding = Schemas["SeatStanding"];
export type SeatStep = Schemas["SeatStep"];
export type Turn = Schemas["Turn"];
export type Unknown = Schemas["Unknown"];
export type UnknownsCompared = Schemas["UnknownsCompared"];
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
export const make = (practical: string, set_up: Schemas["PracticalSetUp"]) => post<Schemas["Board"]>("practicals", { id: practical, set_up });
export const compare = (request: Schemas["UnknownsRequest"], signal?: AbortSignal) =>
  post<Schemas["UnknownsCompared"]>("practicals/unknowns", request, signal);
export const board = (practical: string) => get<Schemas["Board"]>(`practicals/${id(practical)}/board`);
export const labels = (practical: string) => get<Schemas["Labels"]>(`practicals/${id(practical)}/labels`);
export const join = (code: string, name: string | null, seat: number | null) =>
  post<Schemas["Joined"]>("practicals/join", { code, name, seat });

/** The seat of a person, or of whoever is logged in where nobody is named. */
export async function seat(practical: string, person: string): Promise<Schemas["SeatPage"]> {
  const answer = await send(`practicals/${id(practical)}/seat`, person ? { headers: { "x-person": person } } : {});
  return (await answer.json()) as Schemas["SeatPage"];
}

/** Addresses below `/api/`. */
export const paths = {
  steps: (practical: string) => `practicals/${id(practical)}/steps`,
  seatSteps: (practical: string) => `practicals/${id(practical)}/seat/steps`,
  gradebook: (practical: string) => `practicals/${id(practical)}/gradebook.csv`,
} as const;
