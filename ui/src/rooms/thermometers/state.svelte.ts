import { wordsOf } from "../../api/problem";
import * as api from "../../api/thermometers";
import type { BenchContent, ThermometerRow } from "../../api/types";

/** The thermometers of all benches. */
export class ThermometersState {
  rows = $state.raw<ThermometerRow[] | null>(null);
  problem = $state("");

  async refresh(): Promise<void> {
    try {
      this.rows = (await api.thermometers()).rows;
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  async add(bench: BenchContent): Promise<void> {
    await api.addBench(bench);
    await this.refresh();
  }
}
