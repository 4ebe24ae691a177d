import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { SampleRow } from "../../api/types";

/** Suggestions while a label is typed. */
const SUGGESTED = 12;

export interface Expected {
  first_c: number;
  last_c: number;
  label: string;
}

/** Which sample stands in which place. */
export class Load {
  tubes = $state<{ label: string; sample: SampleRow | null }[]>([]);
  suggestions = $state.raw<SampleRow[]>([]);
  trouble = $state("");
  /** The latest results of samples that were chosen, by id, where the person may see them [°C]. */
  #results = $state.raw<Record<string, readonly [number, number]>>({});

  setPlaces(places: number): void {
    if (this.tubes.length === places) return;
    this.tubes = Array.from({ length: places }, (_, i) => this.tubes[i] ?? { label: "", sample: null });
  }

  async type(place: number, label: string): Promise<void> {
    const tube = this.tubes[place - 1];
    if (!tube) return;
    tube.label = label;
    tube.sample = null;
    try {
      const found = await api.samples({ text: label.trim(), per_page: SUGGESTED });
      if (tube.label !== label) return;
      this.suggestions = found.rows;
      this.trouble = "";
      const same = found.rows.find((row) => row.label.toLowerCase() === label.trim().toLowerCase()) ?? null;
      tube.sample = same;
      if (same) await this.#expect(same);
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  async add(place: number): Promise<void> {
    const tube = this.tubes[place - 1];
    if (!tube?.label.trim()) return;
    try {
      tube.sample = (await api.addSample({ label: tube.label.trim() })).row;
      this.trouble = "";
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  /** Of a blind reader's sample the program tells no result, and so nothing is expected here. */
  async #expect(sample: SampleRow): Promise<void> {
    const [latest] = (await api.sample(sample.id)).determinations;
    if (!latest?.first_liquid || !latest.last_crystal) return;
    const range = [latest.first_liquid.value_c, latest.last_crystal.value_c] as const;
    this.#results = { ...this.#results, [sample.id]: range };
  }

  /** What the loaded samples' latest results span together; null where none has any. */
  get expected(): Expected | null {
    const labels = new Set<string>();
    let first_c = Infinity;
    let last_c = -Infinity;
    for (const { sample } of this.tubes) {
      const range = sample && this.#results[sample.id];
      if (!range) continue;
      labels.add(sample.label);
      first_c = Math.min(first_c, range[0]);
      last_c = Math.max(last_c, range[1]);
    }
    return labels.size ? { first_c, last_c, label: [...labels].join(", ") } : null;
  }

  /** The first place whose label is not in the book; null when there is none. */
  get unknown(): number | null {
    const at = this.tubes.findIndex((tube) => tube.label.trim() !== "" && !tube.sample);
    return at < 0 ? null : at + 1;
  }

  get hazards(): { label: string; hazards: string }[] {
    const noted = new Map<string, string>();
    for (const { sample } of this.tubes) if (sample?.hazards) noted.set(sample.label, sample.hazards);
    return [...noted].map(([label, hazards]) => ({ label, hazards }));
  }

  get order(): { place: number; sample: string | null }[] {
    return this.tubes.map((tube, i) => ({ place: i + 1, sample: tube.sample?.id ?? null }));
  }
}
