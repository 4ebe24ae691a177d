import type { components } from "./schema";

type Json = components["schemas"]["Problem"];
type Fault = NonNullable<Json["faults"]>[number];

/** A refusal by the server, or no answer at all, in words a person can act on. */
export class Problem extends Error {
  override readonly name = "Problem";
  constructor(
    message: string,
    /** HTTP status; 0 when there was no answer. */
    readonly status: number,
    /** Stable kind of the problem, the `type` of problem JSON. */
    readonly kind = "about:blank",
    /** How long to wait before trying again, where the server says so [s]. */
    readonly wait_s: number | null = null,
  ) {
    super(message);
  }
}

/** Words for anything that was thrown. */
export function wordsOf(thrown: unknown): string {
  return thrown instanceof Error ? thrown.message : String(thrown);
}

/** Faults named one by one before "and so many more". */
const FAULTS_SHOWN = 8;

function faultLines(faults: readonly Fault[]): string[] {
  const lines = faults
    .slice(0, FAULTS_SHOWN)
    .map((fault) => `${fault.line ? `line ${fault.line}, ` : ""}${fault.field}: ${fault.found}; expected ${fault.expected}`);
  return faults.length > FAULTS_SHOWN ? [...lines, `and ${faults.length - FAULTS_SHOWN} more`] : lines;
}

/** Reads problem JSON (RFC 9457) where the answer has it. */
export function problemFrom(status: number, statusText: string, body: string): Problem {
  try {
    const json = JSON.parse(body) as Partial<Json>;
    const said = json.detail || json.title;
    if (typeof said === "string") {
      const faults = json.faults && json.faults.length > 1 ? faultLines(json.faults) : [];
      return new Problem([said, ...faults].join("\n"), status, json.type, json.wait_s ?? null);
    }
  } catch {
    // Not JSON: what stands in the status line has to do.
  }
  return new Problem(`${status} ${statusText}`.trim(), status);
}
