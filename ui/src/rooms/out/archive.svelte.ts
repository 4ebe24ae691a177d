import { takeArchive, type ArchiveTaken } from "../../api/past";
import { wordsOf } from "../../api/problem";
import { outAndIn as words } from "../../words/past";

/** A sample's archive on its way into the book. */
export class ArchiveIn {
  file = $state.raw<File | null>(null);
  /** Of the file that has gone out; null while nothing goes. */
  fraction = $state<number | null>(null);
  taken = $state.raw<ArchiveTaken | null>(null);
  problem = $state("");
  #stop: AbortController | undefined;

  get busy(): boolean {
    return this.fraction !== null;
  }

  async take(file: File): Promise<void> {
    if (this.busy) return;
    this.file = file;
    this.taken = null;
    this.problem = "";
    if (!/\.zip$/i.test(file.name)) {
      this.problem = words.notZip(file.name);
      return;
    }
    this.fraction = 0;
    const stop = new AbortController();
    this.#stop = stop;
    try {
      this.taken = await takeArchive(file, (fraction) => (this.fraction = fraction), stop.signal);
    } catch (error) {
      if (!stop.signal.aborted) this.problem = wordsOf(error);
    }
    this.fraction = null;
  }

  stop(): void {
    this.#stop?.abort();
  }
}
