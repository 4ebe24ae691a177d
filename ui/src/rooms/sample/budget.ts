import type { BudgetComponent, EndResult, UncertaintySource } from "../../api/types";

export interface BudgetLine {
  source: UncertaintySource;
  text: string;
  /** Contribution to the standard uncertainty of the end [°C]. */
  u_c: number;
  /** Null where the uncertainty itself is taken as known. */
  degrees_of_freedom: number | null;
  /** Part of the variance, 0..1. */
  share_fraction: number;
}

const contribution = (one: BudgetComponent) => Math.abs(one.standard_uncertainty * one.sensitivity);

/** The components as lines of a table, the largest first. */
export function budgetLines(end: EndResult): BudgetLine[] {
  const variance = end.budget.reduce((sum, one) => sum + contribution(one) ** 2, 0);
  return end.budget
    .map((one) => ({
      source: one.source,
      text: one.text,
      u_c: contribution(one),
      degrees_of_freedom: one.degrees_of_freedom,
      share_fraction: variance > 0 ? contribution(one) ** 2 / variance : 0,
    }))
    .sort((a, b) => b.u_c - a.u_c);
}
