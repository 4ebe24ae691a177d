import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { Book, ThermometerRow, Today, Work } from "../../api/types";

/** What is under way and what waits. */
export class TodayState {
  today = $state.raw<Today | null>(null);
  book = $state.raw<Book | null>(null);
  problem = $state("");

  async refresh(): Promise<void> {
    try {
      [this.today, this.book] = await Promise.all([api.today(), api.book()]);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  /** Takes what was just told of an import or a reading; what is over leaves the list at the next refresh. */
  hear(work: Work): void {
    if (!this.today) return;
    const others = this.today.work.filter((one) => one.id !== work.id);
    this.today = { ...this.today, work: [...others, work] };
    if (work.state === "done") void this.refresh();
  }

  /** Thermometers that somebody has to look after, the most pressing first. */
  get thermometers(): ThermometerRow[] {
    const found = this.today?.thermometers;
    return found ? [...found.out_of_control, ...found.overdue, ...found.due, ...found.never_checked] : [];
  }

  /** Whether the book has nothing in it yet. */
  get isNew(): boolean {
    return this.book !== null && this.book.samples === 0 && this.book.recordings === 0;
  }
}
