import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { RecordingRow, RecordingState } from "../../api/types";

/** As many as can stand side by side. */
export const MOST_COMPARED = 6;

export class RecordingsState {
  rows = $state.raw<RecordingRow[]>([]);
  total = $state(0);
  state = $state<RecordingState | "">("");
  chosen = $state<string[]>([]);
  problem = $state("");
  loaded = $state(false);
  #pages = 1;

  async refresh(): Promise<void> {
    try {
      const rows: RecordingRow[] = [];
      for (let page = 1; page <= this.#pages; page += 1) {
        const part = await api.recordings({ ...(this.state ? { state: this.state } : {}), page, per_page: 50 });
        rows.push(...part.rows);
        this.total = part.total;
      }
      this.rows = rows;
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.loaded = true;
  }

  show(state: RecordingState | ""): Promise<void> {
    this.state = state;
    this.#pages = 1;
    return this.refresh();
  }

  more(): Promise<void> {
    this.#pages += 1;
    return this.refresh();
  }

  choose(id: string, on: boolean): void {
    this.chosen = on ? [...this.chosen, id].slice(0, MOST_COMPARED) : this.chosen.filter((one) => one !== id);
  }
}
