/** What leaves the book as files: fetched with the person's name, and saved by the page. */
import { id, send } from "./client";

/** A file that was fetched, and what it is called. */
export interface FileOut {
  name: string;
  content: Blob;
}

export const LANGUAGES = ["en", "de", "fr", "es"] as const;
export const PAPERS = ["a4", "letter"] as const;
export type Language = (typeof LANGUAGES)[number];
export type Paper = (typeof PAPERS)[number];
/** How a report is to look. */
export interface Look {
  language: Language;
  paper: Paper;
}

/** The tables of a book, and the forms that each comes in. */
export const TABLES = ["samples", "recordings", "readings", "determinations", "verdicts", "events", "people", "sign_offs", "past_results"] as const;
export type Table = (typeof TABLES)[number];

/** Samples that go into one report at most; the server refuses more. */
export const MOST_IN_REPORT = 200;

const looked = (look: Look) => new URLSearchParams({ language: look.language, paper: look.paper }).toString();

/** Addresses of files, below `/api/`. */
export const paths = {
  report: (sample: string, form: "pdf" | "html", look: Look) => `samples/${id(sample)}/report.${form}?${looked(look)}`,
  reports: (samples: readonly string[], look: Look) => `report.pdf?samples=${samples.map(id).join(",")}&${looked(look)}`,
  archive: (sample: string) => `samples/${id(sample)}/archive.zip`,
  curves: (sample: string, form: "svg" | "png" | "csv") => `samples/${id(sample)}/curves.${form}`,
  book: "book/archive.zip",
  table: (table: Table, form: "csv" | "parquet") => `book/tables/${table}.${form}`,
  film: (recording: string) => `recordings/${id(recording)}/recording.mkv`,
  calendar: (session: string, start: string) => `sessions/${id(session)}/calendar.ics?${new URLSearchParams({ start })}`,
} as const;

/** The name that an answer gives its file (RFC 6266, both spellings); the last part of it only. */
export function nameIn(disposition: string | null, otherwise: string): string {
  const extended = /filename\*\s*=\s*UTF-8''([^;\s]+)/i.exec(disposition ?? "")?.[1];
  const plain = /filename\s*=\s*(?:"([^"]*)"|([^;\s]+))/i.exec(disposition ?? "");
  let name = plain?.[1] ?? plain?.[2] ?? "";
  if (extended) {
    try {
      name = decodeURIComponent(extended);
    } catch {
      // Badly encoded: the plain name has to do.
    }
  }
  return name.split(/[/\\]/).pop()?.trim() || otherwise;
}

/** Fetches a file. */
export async function fileOut(path: string, otherwise: string): Promise<FileOut> {
  const answer = await send(path, {});
  return { name: nameIn(answer.headers.get("content-disposition"), otherwise), content: await answer.blob() };
}
