import { previewPast, takePast, type PastPreview, type PastRow, type PastTaken } from "../../api/past";
import { wordsOf } from "../../api/problem";
import { pastIn as words } from "../../words/past";

/** Rows put on the page at once. */
const ROWS_AT_ONCE = 300;

/** A table of earlier results: looked through first, then recorded exactly as it was looked through. */
export class PastIn {
  name = $state("");
  preview = $state.raw<PastPreview | null>(null);
  taken = $state.raw<PastTaken | null>(null);
  problem = $state("");
  /** What goes on just now. */
  busy = $state<"" | "looking" | "recording">("");
  pasted = $state("");
  pastedName = $state<string>(words.pastedUsual);

  /** What was looked through, held: the file on the disk may change meanwhile. */
  #content: Blob | null = null;
  #shown = $state(ROWS_AT_ONCE);
  #asked: AbortController | undefined;

  /** Rows on the page. */
  get rows(): PastRow[] {
    return this.preview?.rows.slice(0, this.#shown) ?? [];
  }
  /** Rows that are not on the page yet. */
  get hidden(): number {
    return Math.max(0, (this.preview?.rows.length ?? 0) - this.#shown);
  }
  more(): void {
    this.#shown += ROWS_AT_ONCE;
  }
  /** Results that would be recorded. */
  get fresh(): number {
    return this.preview?.rows.filter((row) => !row.there_already).length ?? 0;
  }

  async choose(file: File): Promise<void> {
    if (this.busy === "recording") return;
    try {
      await this.look(file.name, new Blob([await file.arrayBuffer()]));
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  lookPasted(): Promise<void> {
    // Byte for byte what is recorded later, whatever is typed in the field meanwhile.
    return this.look(this.pastedName.trim() || words.pastedUsual, new Blob([this.pasted]));
  }

  /** Asks what is understood; what was asked before is dropped. */
  async look(name: string, content: Blob): Promise<void> {
    this.leave();
    const asked = new AbortController();
    this.#asked = asked;
    this.name = name;
    this.busy = "looking";
    try {
      const preview = await previewPast(name, content, asked.signal);
      if (asked.signal.aborted) return;
      this.preview = preview;
      this.#content = content;
    } catch (error) {
      if (asked.signal.aborted) return;
      this.problem = wordsOf(error);
    }
    this.busy = "";
  }

  /** Records what is shown. */
  async record(): Promise<void> {
    const content = this.#content;
    if (!content || this.busy) return;
    this.busy = "recording";
    this.problem = "";
    try {
      const taken = await takePast(this.name, content);
      this.leave();
      this.pasted = "";
      this.taken = taken;
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.busy = "";
  }

  /** Puts the table away; nothing of it was recorded. */
  leave(): void {
    this.#asked?.abort();
    this.preview = this.taken = this.#content = null;
    this.problem = this.busy = "";
    this.#shown = ROWS_AT_ONCE;
  }
}
