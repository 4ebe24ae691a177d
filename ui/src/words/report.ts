/** Words of reports, signatures and what leaves the book. */
import type { Language, Paper, Table } from "../api/out";
import type { ChangedSince, SignOff, SignOffMeaning } from "../api/reports";
import type { ReportStanding } from "../rooms/sample/standing";
import { count, moment } from "./format";

/** Each in itself, as who reads it looks for it. */
export const languages: Record<Language, string> = { en: "English", de: "Deutsch", fr: "Français", es: "Español" };
export const papers: Record<Paper, string> = { a4: "A4", letter: "Letter" };

export const meanings: Record<SignOffMeaning, string> = {
  reviewed: "Reviewed",
  reviewed_and_approved: "Reviewed and approved",
};
export const meaningHints: Record<SignOffMeaning, string> = {
  reviewed: "I looked through the pictures, the readings and the computation.",
  reviewed_and_approved: "I looked through them, and the result may be used.",
};
export const changes: Record<ChangedSince, string> = {
  sample: "the sample’s data",
  readings: "its readings",
  result: "the result",
  verdict: "the verdict",
};

/** "a", "a and b", "a, b and c". */
export function listed(parts: readonly string[]): string {
  return parts.length < 2 ? (parts[0] ?? "") : `${parts.slice(0, -1).join(", ")} and ${parts[parts.length - 1]}`;
}

export const standingTags: Record<ReportStanding["kind"], string> = {
  nothing: "nothing to report",
  draft: "draft",
  signed: "signed off",
  changed: "draft again",
  taken_back: "draft again",
};

/** How a report stands, in one sentence. */
export function standingText(standing: ReportStanding, nameOf: (who: string) => string): string {
  const by = (one: SignOff) => `${nameOf(one.who)}, ${moment(one.when)}`;
  switch (standing.kind) {
    case "nothing":
      return "A report rests on a result: state one first.";
    case "draft":
      return "Nobody has signed it off. The report says on every page that it is a draft.";
    case "signed":
      return `${meanings[standing.by.meaning]}: ${by(standing.by)}.`;
    case "changed":
      return `Signed off earlier by ${by(standing.by)}; changed since: ${listed(standing.by.changed_since.map((one) => changes[one]))}.`;
    case "taken_back":
      return `Signed off by ${by(standing.by)}; taken back: ${standing.by.withdrawn_because || "no reason given"}`;
  }
}

export const report = {
  title: "Report",
  language: "Language",
  paper: "Paper",
  openPdf: "Open PDF",
  savePdf: "Save PDF",
  saveHtml: "Save page (HTML)",
  said: (statement: string) => `“${statement}”`,
  all: (n: number) => (n === 1 ? "The signature" : `All ${count(n, "signature")}`),
  signed: "What was signed",
  takeBack: "Take the signature back",
  takeBackTitle: "Take the signature back",
  takeBackText: "The signature stays in the book with your reason; the report becomes a draft again.",
  takeBackLabel: "Why",
  signOff: "Sign off",
  leave: "Leave it",
  signing: "What you sign",
  result: "Result",
  verdict: "Verdict",
  noVerdict: "nothing is said of what it is",
  meaning: "Your signature means",
  statement: "Statement (optional)",
  confirm: "Sign with my name",
  confirmHint: "Recorded with your name. It can be taken back with a reason, never erased.",
  prove: "A signature shows that it is you: give your passphrase with it, or log in and sign within five minutes.",
  passphrase: "Your passphrase",
  changedMeanwhile: "Something changed since this form was opened. Read again what you sign.",
  lookAgain: "Look again",
  cannot: (why: string) => `You cannot sign it off: ${why}`,
  sentences: "Sentences to paste",
  kinds: {
    journal: "For the experimental part of a paper",
    notebook: "For a notebook",
    certificate: "For a certificate",
  },
  noSentences: "They come with the result.",
} as const;

export const copying = {
  copy: "Copy",
  copied: "copied",
  marked: "The text is selected: copy it with the keys of your system.",
} as const;

export const takeAway = {
  title: "Take away",
  busy: "Making it…",
  saved: (name: string) => `Saved as ${name}`,
  archive: "Everything on it (archive)",
  archiveHint: "A zip with every record, picture and log of this sample, described as an RO-Crate; any lab book takes it in.",
  curves: "Melting curves",
  curveForms: { svg: "SVG", png: "PNG", csv: "CSV" },
  film: "Matroska with temperatures",
  filmHint: "The pictures as recorded; the temperature runs along as subtitles in any player.",
  blocked: "The browser did not open a new tab; the file was saved instead.",
} as const;

export const batch = {
  button: "Report of these samples (PDF)",
  collecting: "Collecting the samples…",
  more: (most: number, total: number) => `The first ${most} of ${total} samples, in this order; narrow the list for the others.`,
  none: "No sample is listed.",
} as const;

export const tables: Record<Table, string> = {
  samples: "Samples",
  recordings: "Recordings",
  readings: "Readings",
  determinations: "Results",
  verdicts: "Verdicts",
  events: "Events of runs",
  people: "People",
  sign_offs: "Signatures",
  past_results: "Earlier results",
};
