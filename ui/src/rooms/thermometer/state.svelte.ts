import { wordsOf } from "../../api/problem";
import * as api from "../../api/thermometers";
import type {
  Changes,
  CheckContent,
  CheckRow,
  StandardRow,
  ThermometerDetail,
  ThermometerSettings,
} from "../../api/types";
import { dayHere } from "../../words/format";
import { driftPoints, type DriftPoint } from "./drift";

/** One bench's thermometer: its checks, its drift, its calibrations. */
export class ThermometerState {
  detail = $state.raw<ThermometerDetail | null>(null);
  standards = $state.raw<StandardRow[]>([]);
  problem = $state("");
  /** Which check the chart and the table point at. */
  chosen = $state<string | null>(null);
  /** What the last calibration kept or withdrawn did to results. */
  changes = $state.raw<{ what: "kept" | "withdrawn"; day: string; changes: Changes } | null>(null);

  constructor(readonly bench: string) {}

  async refresh(): Promise<void> {
    try {
      const [detail, standards] = await Promise.all([api.thermometer(this.bench), api.standards()]);
      this.detail = detail;
      this.standards = standards.rows;
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  /** Those that a check can be made with. */
  get usable(): StandardRow[] {
    return this.standards
      .filter((row) => !row.standard.retired)
      .sort((a, b) => a.standard.reference_c - b.standard.reference_c);
  }

  get drift(): DriftPoint[] {
    return this.detail?.chart ? driftPoints(this.detail.chart, this.detail.chart_days) : [];
  }

  /** Checks that count, the newest first. */
  get standing(): CheckRow[] {
    return newestFirst(this.detail?.checks ?? []).filter((row) => !row.void);
  }

  /** Those of them that a calibration of the thermometer it has now can stand on. */
  get ofThisThermometer(): CheckRow[] {
    return this.standing.filter((row) => row.thermometer === this.detail?.row.thermometer);
  }

  get voided(): CheckRow[] {
    return newestFirst(this.detail?.checks ?? []).filter((row) => row.void);
  }

  /** The calibration in force today. */
  get inForce() {
    return this.detail?.calibrations.find((row) => row.in_force) ?? null;
  }

  async enter(check: CheckContent): Promise<void> {
    this.detail = await api.addCheck(this.bench, check);
    this.chosen = null;
  }

  async declareVoid(row: CheckRow, reason: string): Promise<void> {
    this.detail = await api.voidCheck(row.id, row.record, reason);
  }

  async withdraw(id: string, record: string, day: string, reason: string): Promise<void> {
    const { changes } = await api.withdraw(id, record, reason);
    this.changes = { what: "withdrawn", day, changes };
    await this.refresh();
  }

  async set(settings: Omit<ThermometerSettings, "supersedes">): Promise<void> {
    if (!this.detail) return;
    this.detail = await api.settings(this.bench, { supersedes: this.detail.bench_record, ...settings });
  }
}

/** By the day they were made on, then by record; records sort by time. */
export function newestFirst(rows: readonly CheckRow[]): CheckRow[] {
  const key = (row: CheckRow) => `${row.made_on} ${row.id}`;
  return [...rows].sort((a, b) => (key(a) < key(b) ? 1 : -1));
}

/** The newest check of each standard. */
export function newestOfEach(rows: readonly CheckRow[]): string[] {
  const seen = new Set<string>();
  return newestFirst(rows)
    .filter((row) => !row.void && !seen.has(row.standard) && seen.add(row.standard))
    .map((row) => row.id);
}

export interface CheckForm {
  standard: string;
  indicated_c: number | null;
  standard_uncertainty_c: number | null;
  heating_rate_c_per_min: number | null;
  made_on: string;
  remarks: string;
}

export const emptyCheck = (): CheckForm => ({
  standard: "",
  indicated_c: null,
  standard_uncertainty_c: null,
  heating_rate_c_per_min: null,
  made_on: dayHere(),
  remarks: "",
});

/** What is sent of a filled form; null while something that has to be there is missing. */
export function checkFrom(form: CheckForm): CheckContent | null {
  if (!form.standard || form.indicated_c === null || !form.made_on) return null;
  return {
    standard: form.standard,
    made_on: form.made_on,
    indicated_c: form.indicated_c,
    standard_uncertainty_c: form.standard_uncertainty_c,
    heating_rate_c_per_min: form.heating_rate_c_per_min,
    remarks: form.remarks.trim() || null,
  };
}
