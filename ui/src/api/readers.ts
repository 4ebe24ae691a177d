/** Readers compared with each other and with what is true. */
import { get, id } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type ReaderComparison = Schemas["ReaderComparison"];
export type EndComparison = Schemas["EndComparison"];
export type EndOfComparison = ReaderComparison["ends"][number];
export type LimitsOfAgreement = Schemas["LimitsOfAgreement"];
export type Compared = ReaderComparison["of"];
export type ReadEnd = EndOfComparison["end"];
export type ReaderRow = EndComparison["readers"][number];
export type Outlier = EndComparison["outliers"][number];
export type Agreements = Schemas["ReaderAgreement"];

/** In the place of a second reader: the truth, or what all agreed on. */
export const REFERENCE = "reference";

export const comparison = (of: Compared) => get<ReaderComparison>(`readers/comparison?of=${of}`);
export const agreement = (of: Compared, one: string, other: string) =>
  get<Agreements>(`readers/agreement?of=${of}&one=${id(one)}&other=${id(other)}`);
