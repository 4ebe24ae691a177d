import { wordsOf } from "../../api/problem";
import * as api from "../../api/thermometers";
import type { EndName, ReferenceConvention, StandardContent, StandardRow, UsualStandard } from "../../api/types";

/** Farther from the usual value than this is worth a question [°C]. */
const FAR_C = 3;

/** The reference substances in the cupboard. */
export class StandardsState {
  rows = $state.raw<StandardRow[] | null>(null);
  usual = $state.raw<UsualStandard[]>([]);
  problem = $state("");

  async refresh(): Promise<void> {
    try {
      const answer = await api.standards();
      this.rows = [...answer.rows].sort((a, b) => a.standard.reference_c - b.standard.reference_c);
      this.usual = [...answer.usual].sort((a, b) => a.about_c - b.about_c);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  get inUse(): StandardRow[] {
    return (this.rows ?? []).filter((row) => !row.standard.retired);
  }

  get retired(): StandardRow[] {
    return (this.rows ?? []).filter((row) => row.standard.retired);
  }

  async add(standard: StandardContent): Promise<void> {
    await api.addStandard(standard);
    await this.refresh();
  }

  async revise(row: StandardRow, standard: StandardContent, reason: string): Promise<void> {
    await api.reviseStandard(row.id, { supersedes: row.record, reason: reason || null, standard });
    await this.refresh();
  }
}

/** The form of a standard as it is typed. */
export interface StandardForm {
  substance: string;
  cas: string;
  reference_c: number | null;
  standard_uncertainty_c: number | null;
  convention: ReferenceConvention["kind"];
  rate_c_per_min: number | null;
  end: EndName;
  lot: string;
  expires: string;
  source: string;
  cautions: string;
  remarks: string;
}

export function formOf(standard?: StandardContent): StandardForm {
  const convention = standard?.convention;
  return {
    substance: standard?.substance ?? "",
    cas: standard?.cas ?? "",
    reference_c: standard?.reference_c ?? null,
    standard_uncertainty_c: standard?.standard_uncertainty_c ?? null,
    convention: convention?.kind ?? "not_stated",
    rate_c_per_min: convention?.kind === "at_rate" ? (convention.rate_c_per_min ?? null) : null,
    end: standard?.end ?? "last_crystal",
    lot: standard?.lot ?? "",
    expires: standard?.expires ?? "",
    source: standard?.source ?? "",
    cautions: standard?.cautions ?? "",
    remarks: standard?.remarks ?? "",
  };
}

/** Name and cautions of a usual standard; its value is left to be typed from the label. */
export function startFrom(usual: UsualStandard, form: StandardForm): StandardForm {
  return { ...form, substance: usual.name, cas: usual.cas, cautions: usual.cautions, reference_c: null };
}

/** What is sent; null while the name or the value is missing. */
export function standardFrom(form: StandardForm, retired = false): StandardContent | null {
  const text = (value: string) => value.trim() || null;
  if (!form.substance.trim() || form.reference_c === null) return null;
  return {
    substance: form.substance.trim(),
    cas: text(form.cas),
    reference_c: form.reference_c,
    standard_uncertainty_c: form.standard_uncertainty_c,
    convention: form.convention === "at_rate" ? { kind: "at_rate", rate_c_per_min: form.rate_c_per_min } : { kind: form.convention },
    end: form.end,
    lot: text(form.lot),
    expires: text(form.expires),
    source: text(form.source),
    cautions: text(form.cautions),
    remarks: text(form.remarks),
    retired,
  };
}

/** The usual standard of this name, whatever the case of its letters. */
export function usualOf(name: string, usual: readonly UsualStandard[]): UsualStandard | undefined {
  const wanted = name.trim().toLowerCase();
  return usual.find((one) => one.name.toLowerCase() === wanted);
}

/** Whether a typed value is worth asking about. */
export function isFar(usual: UsualStandard | undefined, value_c: number | null): boolean {
  return usual !== undefined && value_c !== null && Math.abs(value_c - usual.about_c) > FAR_C;
}
