/** Many recordings read again by another engine: how far, what it changes, what becomes of it. */
import { get, id, post } from "./client";
import type { components } from "./schema";

type Schemas = components["schemas"];

export type Rereading = Schemas["Rereading"];
export type RereadingDetail = Schemas["RereadingDetail"];
export type RereadTube = Schemas["RereadTube"];
export type RereadChange = RereadTube["change"];

export const all = () => get<Schemas["Rereadings"]>("rereadings");
export const begin = (everything: boolean) => post<Rereading>("rereadings", { all: everything });
export const detail = (rereading: string) => get<RereadingDetail>(`rereadings/${id(rereading)}`);
export const tubes = async (rereading: string, change: string, offset: number, limit: number) =>
  (
    await get<Schemas["RereadTubes"]>(
      `rereadings/${id(rereading)}/tubes?offset=${offset}&limit=${limit}${change ? `&change=${id(change)}` : ""}`,
    )
  ).rows;
export const accept = (rereading: string) => post<Rereading>(`rereadings/${id(rereading)}/accept`, {});
export const drop = (rereading: string) => post<Rereading>(`rereadings/${id(rereading)}/drop`, {});
export const tryAgain = (rereading: string) => post<Rereading>(`rereadings/${id(rereading)}/try-again`, {});
export const leaveOut = (rereading: string, recording: string, why: string) =>
  post<Rereading>(`rereadings/${id(rereading)}/left-out`, { recording, why });
