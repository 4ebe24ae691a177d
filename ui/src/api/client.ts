/** The only place that calls the network. Every function is one request; every failure is a `Problem`. */
import { frame } from "../words/common";
import { Problem, problemFrom } from "./problem";
import type { DetermineRequest } from "./types";
import type * as t from "./types";

let personId = "";

/** Whose name the records carry that are written from now on, and whose eyes the answers are for. */
export function writeAs(person: string): void {
  personId = person;
}

let nobody = () => {};

/** What is done once an answer says that nobody is logged in. */
export function whenNobody(told: () => void): void {
  nobody = told;
}

/** What a refusal means: one that says that nobody is logged in is told. */
function refused(status: number, statusText: string, body: string): Problem {
  if (status === 401) nobody();
  return problemFrom(status, statusText, body);
}

/** Said with every request, so that no other page can send it in this one's name. */
const OWN_PAGE = "x-own-page";

/** One request; the answer as it came. Who acts is said with it, unless the request names somebody itself. */
export async function send(path: string, init: RequestInit): Promise<Response> {
  const headers = new Headers(init.headers);
  headers.set(OWN_PAGE, "1");
  if (personId && !headers.has("x-person")) headers.set("x-person", personId);
  let answer: Response;
  try {
    answer = await fetch(`/api/${path}`, { ...init, headers });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Problem(frame.noAnswer, 0);
  }
  if (!answer.ok) throw refused(answer.status, answer.statusText, await answer.text());
  return answer;
}

export async function get<T>(path: string, signal?: AbortSignal): Promise<T> {
  return (await (await send(path, signal ? { signal } : {})).json()) as T;
}

async function sendJson<T>(method: "POST" | "PUT", path: string, body: unknown, signal?: AbortSignal): Promise<T> {
  const answer = await send(path, {
    method,
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
    ...(signal ? { signal } : {}),
  });
  return (answer.status === 204 ? undefined : await answer.json()) as T;
}

export const post = <T>(path: string, body: unknown, signal?: AbortSignal) => sendJson<T>("POST", path, body, signal);
export const put = <T>(path: string, body: unknown) => sendJson<T>("PUT", path, body);

export const id = encodeURIComponent;

/** `?a=1&b=x` of what is set. */
function query(values: Record<string, string | number | boolean | undefined>): string {
  const set = Object.entries(values).filter(([, value]) => value !== undefined && value !== "");
  return set.length ? `?${new URLSearchParams(set.map(([key, value]) => [key, String(value)]))}` : "";
}

export const book = () => get<t.Book>("book");
export const today = () => get<t.Today>("today");

export const people = () => get<t.People>("people");
export const addPerson = (person: t.NewPerson) => post<t.Person>("people", person);

export const samples = (search: { text?: string; standing?: t.Standing; order?: string; page?: number; per_page?: number }) =>
  get<t.Samples>(`samples${query(search)}`);
export const sample = (sample: string) => get<t.SampleDetail>(`samples/${id(sample)}`);
export const addSample = (sample: t.SampleContent) => post<t.SampleDetail>("samples", sample);
export const reviseSample = (sample: string, revision: t.SampleRevision) =>
  post<t.SampleDetail>(`samples/${id(sample)}`, revision);
export const determine = (sample: string, request: DetermineRequest) =>
  post<t.Determination>(`samples/${id(sample)}/determinations`, request);
/** Adds the samples of a CSV file, all or none. */
export async function importSamples(csv: File): Promise<t.ImportedSamples> {
  const answer = await send("samples/import", { method: "POST", headers: { "content-type": "text/csv" }, body: csv });
  return (await answer.json()) as t.ImportedSamples;
}

export const recordings = (search: { state?: t.RecordingState; sample?: string; page?: number; per_page?: number }) =>
  get<t.Recordings>(`recordings${query(search)}`);
export const recording = (recording: string, blind?: boolean) =>
  get<t.RecordingDetail>(`recordings/${id(recording)}${query({ blind })}`);
export const frameTimes = (recording: string) => get<t.FrameTimes>(`recordings/${id(recording)}/frames`);
export async function picture(recording: string, index: number, signal?: AbortSignal): Promise<Blob> {
  return (await send(`recordings/${id(recording)}/frames/${index}`, signal ? { signal } : {})).blob();
}
export const readByEngine = (recording: string) => post<t.Work>(`recordings/${id(recording)}/read`, {});
export const addReading = (recording: string, reading: t.NewReading) =>
  post<t.Reading>(`recordings/${id(recording)}/readings`, reading);
export const reading = (reading: string, blind?: boolean) =>
  get<t.Reading>(`readings/${id(reading)}${query({ blind })}`);
export const decide = (reading: string, decision: t.DecisionRequest) =>
  post<t.Reading>(`readings/${id(reading)}/decisions`, decision);

export const previewVideo = (upload: string) => get<t.UploadedVideo>(`uploads/${id(upload)}/preview`);
export const previewLog = (upload: string) => get<t.LogSeries>(`uploads/${id(upload)}/log`);
/** The first picture of a sent video at or after a time on the video's clock [s]. */
export async function previewPicture(upload: string, time_s: number, signal?: AbortSignal): Promise<Blob> {
  return (await send(`uploads/${id(upload)}/picture${query({ time_s })}`, signal ? { signal } : {})).blob();
}
export const removeUpload = (upload: string) => send(`uploads/${id(upload)}`, { method: "DELETE" });
export const importRecording = (request: t.ImportRequest) => post<t.Work>("imports", request);

/** Where a camera page of this bench brings its pictures. */
export function cameraSocket(bench: string): WebSocket {
  // As a whole address: phones' browsers learned relative ones late.
  return new WebSocket(`${location.origin.replace(/^http/, "ws")}/api/live/${id(bench)}/camera`);
}
/** What stands in the way of that: nothing that is known, a bench that is not open, a pass that is over, or the network. */
export async function cameraAnswer(bench: string): Promise<"open" | "closed" | "no_pass" | "unreachable"> {
  try {
    await send(`live/${id(bench)}/camera`, {});
  } catch (error) {
    const status = error instanceof Problem ? error.status : 0;
    if (status === 0) return "unreachable";
    return status === 404 ? "closed" : status === 403 ? "no_pass" : "open";
  }
  return "open";
}
export const makeCameraPass = (bench: string) => post<t.PassMade>(`live/${id(bench)}/camera-pass`, {});
export const takeBackPasses = (bench: string) => send(`live/${id(bench)}/camera-pass`, { method: "DELETE" });
/** On the listener for phones: uses a code, once. */
export const redeemPass = (code: string) => post<{ bench: string }>("camera-pass", { code });
export const heldPass = () => get<{ bench: string }>("camera-pass");

/**
 * Sends a file as it lies on the disk: the browser streams it, it is never held in memory as a whole.
 * Not `fetch`, which does not tell how much has gone out.
 */
export function sendFile<T>(path: string, file: File, progress: (fraction: number) => void, signal: AbortSignal): Promise<T> {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("POST", `/api/${path}`);
    request.setRequestHeader(OWN_PAGE, "1");
    if (personId) request.setRequestHeader("x-person", personId);
    request.setRequestHeader("content-type", "application/octet-stream");
    request.upload.onprogress = (event) => progress(file.size ? Math.min(1, event.loaded / file.size) : 1);
    request.onload = () => {
      if (request.status >= 200 && request.status < 300) resolve(JSON.parse(request.responseText) as T);
      else reject(refused(request.status, request.statusText, request.responseText));
    };
    request.onerror = () => reject(new Problem(frame.noAnswer, 0));
    request.onabort = () => reject(new DOMException("the upload was stopped", "AbortError"));
    signal.addEventListener("abort", () => request.abort(), { once: true });
    request.send(file);
  });
}
export const upload = (file: File, progress: (fraction: number) => void, signal: AbortSignal) =>
  sendFile<t.Upload>(`uploads${query({ name: file.name })}`, file, progress, signal);
