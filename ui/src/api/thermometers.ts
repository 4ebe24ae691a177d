/** Requests of thermometers and of the standards they are checked with. */
import { get, id, post } from "./client";
import type * as t from "./types";

export const standards = () => get<t.Standards>("standards");
export const addStandard = (standard: t.StandardContent) => post<t.StandardRow>("standards", standard);
export const reviseStandard = (standard: string, revision: t.StandardRevision) =>
  post<t.StandardRow>(`standards/${id(standard)}`, revision);

/** A bench that no bench file describes: a block with a thermometer that somebody reads, or a film of it. */
export const addBench = (bench: t.BenchContent) => post<t.Bench>("benches", bench);

export const thermometers = () => get<t.Thermometers>("thermometers");
export const thermometer = (bench: string) => get<t.ThermometerDetail>(`thermometers/${id(bench)}`);
export const settings = (bench: string, settings: t.ThermometerSettings) => post<t.ThermometerDetail>(`thermometers/${id(bench)}`, settings);
export const addCheck = (bench: string, check: t.CheckContent) =>
  post<t.ThermometerDetail>(`thermometers/${id(bench)}/checks`, check);
export const voidCheck = (check: string, supersedes: string, reason: string) =>
  post<t.ThermometerDetail>(`checks/${id(check)}`, { supersedes, reason, void: true });
export const tryCalibration = (bench: string, request: t.CalibrationRequest) =>
  post<t.CalibrationTried>(`thermometers/${id(bench)}/calibrations/try`, request);
export const calibrate = (bench: string, request: t.CalibrationRequest) =>
  post<t.CalibrationDone>(`thermometers/${id(bench)}/calibrations`, request);
export const withdraw = (calibration: string, supersedes: string, reason: string) =>
  post<t.CalibrationDone>(`calibrations/${id(calibration)}/withdraw`, { supersedes, reason });

export const tryDetermination = (sample: string, request: t.DetermineRequest) =>
  post<t.DeterminationTried>(`samples/${id(sample)}/determinations/try`, request);
