/** How the report of a sample stands. */
import type { SignOff } from "../../api/reports";
import type { SampleDetail } from "../../api/types";

export type ReportStanding =
  | { kind: "nothing" }
  | { kind: "draft" }
  /** A signature that holds, that no longer holds, or that was taken back. */
  | { kind: "signed" | "changed" | "taken_back"; by: SignOff };

/** By the newest signature that holds, else by the newest at all; what holds is for the server to say. */
export function standingOf(detail: Pick<SampleDetail, "determinations" | "sign_offs">): ReportStanding {
  if (detail.determinations.length === 0) return { kind: "nothing" };
  const held = detail.sign_offs.find((one) => one.holds);
  if (held) return { kind: "signed", by: held };
  const last = detail.sign_offs[0];
  if (!last) return { kind: "draft" };
  return { kind: last.withdrawn_because !== null ? "taken_back" : "changed", by: last };
}

/** What is looked at when signing: the records, and what they say. */
export interface Signed {
  sample_record: string;
  result_record: string;
  verdict_record: string | null;
  range_text: string;
  verdict_words: string | null;
}

/** What would be signed now; null without a result. */
export function signedNow(detail: Pick<SampleDetail, "record" | "determinations" | "verdicts">): Signed | null {
  const result = detail.determinations[0];
  if (!result) return null;
  const verdict = detail.verdicts[0];
  return {
    sample_record: detail.record,
    result_record: result.record,
    verdict_record: verdict?.record ?? null,
    range_text: result.range_text,
    verdict_words: verdict?.verdict.words ?? null,
  };
}

/** Whether both name the same records. */
export function sameRecords(a: Signed | null, b: Signed | null): boolean {
  return (
    a?.sample_record === b?.sample_record && a?.result_record === b?.result_record && a?.verdict_record === b?.verdict_record
  );
}
