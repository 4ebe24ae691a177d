/** How far somebody is: oneself or, for those who teach, anybody. */
import * as api from "../../api/practice";
import type { PracticeItem, PracticeMarked, PracticeProgress, PracticeReader } from "../../api/practice";
import { wordsOf } from "../../api/problem";

export class ProgressState {
  progress = $state.raw<PracticeProgress | null>(null);
  readers = $state.raw<PracticeReader[]>([]);
  recordings = $state.raw<PracticeItem[] | null>(null);
  problem = $state("");
  readersProblem = $state("");
  recordingsProblem = $state("");

  /** `of`: whose; empty for one's own. */
  constructor(private readonly of: string) {}

  async refresh(): Promise<void> {
    try {
      this.progress = await api.progress(this.of || undefined);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  /** An answer to an attempt carries the progress with it. */
  take(marked: PracticeMarked): void {
    if (!this.of) this.progress = marked.progress;
  }

  async askReaders(): Promise<void> {
    try {
      this.readers = await api.readers();
      this.readersProblem = "";
    } catch (error) {
      this.readersProblem = wordsOf(error);
    }
  }

  async askRecordings(): Promise<void> {
    try {
      this.recordings = await api.agreed();
      this.recordingsProblem = "";
    } catch (error) {
      this.recordingsProblem = wordsOf(error);
    }
  }
}
