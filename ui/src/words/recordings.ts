import type { LoadedTube, RecordingSource, Work } from "../api/types";
import { celsius, clock } from "./format";

export const kindsOfWork: Record<Work["kind"], string> = { import: "Import", reading: "Reading" };

/** "1 U-1 · 2 U-1 · 3 empty". */
export function loadText(load: readonly LoadedTube[]): string {
  return load.map((tube) => `${tube.place} ${tube.label ?? "not named"}`).join(" · ");
}

export function sourceText(source: RecordingSource): string {
  switch (source.from) {
    case "camera":
      return "camera";
    case "video":
      return source.file_name;
    case "pictures":
      return source.folder_name;
  }
}

export const recordings = {
  readAgain: "Many read again by a new version of the engine",
  search: "State",
  all: "all",
  tubes: "Tubes",
  begun: "Begun",
  span: "Length",
  temperatures: "As logged",
  state: "State",
  readings: "Readings",
  cut: "cut off; what was there is kept",
  none: "No recordings here yet. Import a video of the tubes with its temperature log.",
  noneInState: "No recording is in this state.",
  compare: (n: number) => (n ? `Compare ${n} chosen` : "Choose recordings to compare"),
  pick: (label: string) => `Choose ${label} to compare`,
  span_of: (start: number | null, end: number | null) => (start === null || end === null ? "–" : clock(end - start, 0)),
  range: (low: number | null, high: number | null) =>
    low === null || high === null ? "–" : `${celsius(low)} … ${celsius(high)}`,
  more: "Show more",
} as const;
