/** A plan that is carried to the bench in the address of its page, so that it can be sent to another device. */
import type { PlanOrder } from "../api/live";

export interface Handed {
  plan: PlanOrder;
  /** First liquid and last crystal that are expected [°C]; none for scouting. */
  range: readonly [number, number] | null;
  /** What stands on the vials, by place; empty where nothing is named. */
  labels: string[];
  /** Who planned it, in words. */
  from: string;
}

export function handedText(handed: Handed): string {
  return JSON.stringify(handed);
}

/** What an address carries; null where it is none of ours. Its numbers are checked by the program. */
export function handedFrom(text: string | null): Handed | null {
  if (!text) return null;
  try {
    const { plan, range, labels, from } = JSON.parse(text) as Partial<Record<keyof Handed, unknown>>;
    const kind = (plan as { kind?: unknown } | null)?.kind;
    if (kind !== "measuring" && kind !== "scouting" && kind !== "legs") return null;
    const numbers = Array.isArray(range) && range.length === 2 && range.every((one) => typeof one === "number");
    return {
      plan: plan as PlanOrder,
      range: numbers ? ([range[0], range[1]] as [number, number]) : null,
      labels: Array.isArray(labels) ? labels.map(String) : [],
      from: typeof from === "string" ? from : "",
    };
  } catch {
    return null;
  }
}
