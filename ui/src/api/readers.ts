/** Readers compared with each other and with what is true. */
import { get, id } from "./client";
import type * as t from "./teaching_types";

export type ReaderComparison = t.ReaderComparison;
export type EndComparison = t.EndComparison;
export type EndOfComparison = ReaderComparison["ends"][number];
export type LimitsOfAgreement = t.LimitsOfAgreement;
export type Compared = ReaderComparison["of"];
export type ReadEnd = EndOfComparison["end"];
export type ReaderRow = EndComparison["readers"][number];
export type Outlier = EndComparison["outliers"][number];
/** The limits at either end, or why there are none. */
export interface Agreements {
  ends: { end: ReadEnd; limits: LimitsOfAgreement | null; missing: string | null }[];
}

/** In the place of a second reader: the truth, or what all agreed on. */
export const REFERENCE = "reference";

export const comparison = (of: Compared) => get<ReaderComparison>(`readers/comparison?of=${of}`);
export const agreement = (of: Compared, one: string, other: string) =>
  get<Agreements>(`readers/agreement?of=${of}&one=${id(one)}&other=${id(other)}`);
