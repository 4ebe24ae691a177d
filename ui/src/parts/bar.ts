/** One line of a chart of melting ranges. */
export interface Bar {
  key: string;
  label: string;
  /** First liquid and last crystal [°C], with standard uncertainties; null where not seen. */
  first: { c: number; u: number } | null;
  last: { c: number; u: number } | null;
  tone: "agrees" | "outside" | "open";
}
