/** Words of results from before the book, and of the room where files go out and come in. */
import type { ArchiveTaken, CorrectionMark, PastFault, PastTaken } from "../api/past";
import { count, fixed } from "./format";

export const marks: Record<CorrectionMark, string> = {
  corrected: "corrected",
  uncorrected: "not corrected",
  not_stated: "not stated whether corrected",
};

interface Understood {
  from_c: number | null;
  to_c: number | null;
  above: boolean;
  decomposed: boolean;
}

/** One place, two where the second says something. */
function degrees(value: number): string {
  return fixed(value, Math.abs(value * 10 - Math.round(value * 10)) < 1e-6 ? 1 : 2);
}

/** "121.0–123.5 °C, decomposed"; "above 250.0 °C". */
export function understood(one: Understood): string {
  const ends = [one.from_c, one.to_c].filter((end): end is number => end !== null).map(degrees);
  const range = ends[0] === ends[1] || ends.length === 1 ? ends[0] : ends.join("–");
  const said = range === undefined ? "" : `${one.above ? "above " : ""}${range} °C`;
  return [said, one.decomposed ? "decomposed" : ""].filter(Boolean).join(", ") || "no temperature";
}

/** What stands where in a table, what was expected, and what becomes of the row. */
export function faultText(fault: PastFault): string {
  const where = fault.column ? `line ${fault.line}, ${fault.column}` : `line ${fault.line}`;
  return `${where}: found “${fault.found}”; expected ${fault.expected}`;
}

export const takenFor: Record<string, string> = {
  label: "label of the sample",
  substance: "expected substance",
  range: "range",
  from: "start of the range",
  to: "end of the range",
  decomposed: "whether it decomposed",
  mark: "whether corrected",
  heating_rate: "heating rate",
  day: "day",
  by: "by whom",
  source: "source",
  remarks: "remarks",
};

const SEPARATORS: Record<string, string> = { ",": "comma", ";": "semicolon", "\t": "tab", "|": "bar" };
export const separatorName = (separator: string) => SEPARATORS[separator] ?? `“${separator}”`;

export const past = {
  title: "Earlier results",
  notOurs: "From before this book, written down by hand: no pictures here stand behind them.",
  table: "Table of earlier results",
  written: "As written",
  understood: "Understood as",
  mark: "Correction",
  rate: "Heating rate",
  day: "Day",
  by: "By",
  source: "Source",
  fileLine: (file: string, line: number) => `${file}, line ${line}`,
  voided: (reason: string) => `does not count: ${reason}`,
  voidButton: "Does not count",
  voidButtonOf: (written: string) => `Does not count: ${written}`,
  voidTitle: "This result does not count",
  voidText: "It stays in the book with your reason, and is left out of everything that is said of the sample.",
  voidLabel: "Why",
} as const;

export const pastIn = {
  title: "Earlier results from a table",
  intro: "A CSV as spreadsheets write it, with headings in English, German, French or Spanish: label and range, and optionally substance, correction, heating rate, day, by, source, remarks. You see first what is understood; nothing is recorded before you say so.",
  choose: "Choose a CSV, or drop it here",
  paste: "Or paste the table",
  pasteHint: "With its headings, cells between commas, semicolons or tabs.",
  pastedName: "Name it, for the record",
  pastedUsual: "pasted table",
  lookPasted: "Look it through",
  looking: "Looking it through…",
  preview: (name: string) => `What is understood of ${name}`,
  separator: (name: string) => `Between the cells: ${name}.`,
  columns: "Columns",
  heading: "Heading",
  takenFor: "Taken for",
  alone: "left alone",
  unit: (unit: string) => `in ${unit}`,
  faults: "Not understood",
  leftOut: "row left out",
  kept: "row kept without it",
  remarks: "Mind",
  rows: (n: number) => `${count(n, "row")} understood`,
  line: "Line",
  label: "Sample",
  newSample: "new sample",
  there: "in the book already",
  notes: "Read as",
  more: (n: number) => `Show ${n} more`,
  nothing: "Nothing new is in this table.",
  record: (n: number) => `Record ${count(n, "result")}`,
  adds: (n: number) => (n ? `Adds ${count(n, "sample")} to the book.` : "Every sample is in the book already."),
  as: (name: string) => `Recorded in the name of ${name}.`,
  whoFirst: "Choose who you are first.",
  mayNot: "Viewers record nothing.",
  leave: "Leave it",
  taken: (done: PastTaken) =>
    [
      `${count(done.past_results, "result")} recorded`,
      done.samples_added ? `${count(done.samples_added, "sample")} added` : "",
      done.there_already ? `${count(done.there_already, "row")} there already` : "",
      done.left_out ? `${count(done.left_out, "row")} left out` : "",
    ]
      .filter(Boolean)
      .join(", "),
} as const;

export const outAndIn = {
  intro: "Everything in this book can be taken out in open formats, and a sample’s archive taken in.",
  out: "Out",
  in: "In",
  book: "The whole book",
  bookHint: "A zip with every record, picture and log, described as an RO-Crate; a new lab book can be made of it.",
  bookButton: "Save the book (archive)",
  tables: "Tables",
  tablesHint: "CSV for spreadsheets; Parquet keeps types and units.",
  table: "Table",
  asCsv: "CSV",
  asParquet: "Parquet",
  save: (table: string, form: string) => `${table} as ${form}`,
  archive: "A sample’s archive",
  archiveHint: "As another book wrote it under “Take away”. Its records keep their names and times; what is here already is passed over.",
  archiveChoose: "Choose a .zip, or drop it here",
  notZip: (name: string) => `${name} is no .zip; expected an archive as a lab book writes it`,
  sending: (name: string) => `Sending ${name}`,
  checking: "Sent. The book checks it and takes it in…",
  stop: "Stop",
  taken: (done: ArchiveTaken) =>
    `${count(done.records, "record")} and ${count(done.recordings, "recording")} taken in${done.there_already ? `; ${count(done.there_already, "record")} there already` : ""}.`,
  samples: "Samples in it",
  link: "Earlier results and archives come in under",
  bookLink: "Take the book out",
} as const;
