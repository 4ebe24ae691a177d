import * as api from "../../api/client";
import { MOST_IN_REPORT } from "../../api/out";
import { wordsOf } from "../../api/problem";
import type { SampleContent, SampleRow, Standing } from "../../api/types";

/** Rows asked for at once when all are collected. */
const ROWS_OF_ALL = 100;
/** Rest after a key before the search is sent [ms]. */
const REST_MS = 150;

export class SamplesState {
  rows = $state.raw<SampleRow[]>([]);
  total = $state(0);
  text = $state("");
  standing = $state<Standing | "">("");
  order = $state<"newest" | "label">("newest");
  problem = $state("");
  loaded = $state(false);
  imported = $state(0);

  #pages = 1;
  #asked = 0;
  #rest: ReturnType<typeof setTimeout> | undefined;

  /** Fetches what is shown. An answer that was overtaken by a later question is dropped. */
  async refresh(): Promise<void> {
    this.#asked += 1;
    const question = this.#asked;
    try {
      const rows: SampleRow[] = [];
      let total = 0;
      for (let page = 1; page <= this.#pages; page += 1) {
        const part = await api.samples({ ...this.#search, page });
        rows.push(...part.rows);
        total = part.total;
      }
      if (question !== this.#asked) return;
      this.rows = rows;
      this.total = total;
      this.problem = "";
    } catch (error) {
      if (question === this.#asked) this.problem = wordsOf(error);
    }
    this.loaded = true;
  }

  typed(text: string): void {
    this.text = text;
    this.#pages = 1;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.refresh(), REST_MS);
  }

  show(): Promise<void> {
    this.#pages = 1;
    return this.refresh();
  }

  more(): Promise<void> {
    this.#pages += 1;
    return this.refresh();
  }

  get #search() {
    return { text: this.text.trim(), ...(this.standing ? { standing: this.standing } : {}), order: this.order };
  }

  /**
   * Ids of what the search finds, in its order, whatever of it is shown; at most what goes into one report. Asked page
   * by page: a search that grows meanwhile gives no sample twice.
   */
  async idsForReport(): Promise<{ ids: string[]; total: number }> {
    const search = this.#search;
    const ids = new Set<string>();
    for (let page = 1; ; page += 1) {
      const { rows, total } = await api.samples({ ...search, page, per_page: ROWS_OF_ALL });
      for (const row of rows) ids.add(row.id);
      if (ids.size >= Math.min(total, MOST_IN_REPORT) || rows.length === 0) {
        return { ids: [...ids].slice(0, MOST_IN_REPORT), total };
      }
    }
  }

  get searching(): boolean {
    return this.text.trim() !== "" || this.standing !== "";
  }

  async add(sample: SampleContent): Promise<void> {
    await api.addSample(sample);
    await this.refresh();
  }

  async importCsv(file: File): Promise<void> {
    this.imported = 0;
    const added = await api.importSamples(file);
    this.imported = added.samples.length;
    await this.refresh();
  }
}
