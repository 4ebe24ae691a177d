/** The last re-reading of a book, asked for again and again while it goes on. */
import * as api from "../../api/rereading";
import { wordsOf } from "../../api/problem";

/** How often it is asked for [ms]. */
const AGAIN_MS = 3000;

/** Tubes fetched at a time. */
const ROWS = 25;

export class RereadRoom {
  shared = $state(true);
  engine = $state("");
  rows = $state.raw<api.Rereading[]>([]);
  detail = $state.raw<api.RereadingDetail | null>(null);
  tubes = $state.raw<api.RereadTube[]>([]);
  change = $state("");
  more = $state(false);
  problem = $state("");
  loaded = $state(false);
  busy = $state(false);

  /** Whether workers or the server have something to do. */
  get goesOn(): boolean {
    const counts = this.detail?.counts;
    const state = this.detail?.rereading.state;
    return state === "accepting" || (state === "reading" && !!counts && counts.waiting + counts.taken > 0);
  }

  async refresh(): Promise<void> {
    try {
      const found = await api.all();
      this.shared = found.shared;
      this.engine = found.engine;
      this.rows = found.rows;
      const last = found.rows[0];
      this.detail = last ? await api.detail(last.id) : null;
      await this.fetchTubes(0);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.loaded = true;
  }

  private async fetchTubes(from: number): Promise<void> {
    const id = this.detail?.rereading.id;
    if (!id) return;
    const limit = from ? ROWS : Math.max(ROWS, this.tubes.length);
    const rows = await api.tubes(id, this.change, from, limit);
    this.more = rows.length === limit;
    this.tubes = from ? [...this.tubes, ...rows] : rows;
  }

  show(change: string): Promise<void> {
    this.change = change;
    this.tubes = [];
    return this.do(() => this.fetchTubes(0));
  }

  showMore(): Promise<void> {
    return this.do(() => this.fetchTubes(this.tubes.length));
  }

  /** Do something and look again; what goes wrong is said. */
  async do(what: () => Promise<unknown>, look = false): Promise<void> {
    this.busy = true;
    this.problem = "";
    try {
      await what();
      if (look) await this.refresh();
    } catch (error) {
      this.problem = wordsOf(error);
    }
    this.busy = false;
  }

  begin(everything: boolean): Promise<void> {
    return this.do(() => api.begin(everything), true);
  }

  decide(decision: (id: string) => Promise<unknown>): Promise<void> {
    const id = this.detail?.rereading.id;
    return id ? this.do(() => decision(id), true) : Promise.resolve();
  }

  async leaveOut(recording: string, why: string): Promise<void> {
    const id = this.detail?.rereading.id;
    if (!id) return;
    await api.leaveOut(id, recording, why);
    await this.refresh();
  }

  /** Ask again while it goes on; what this returns ends that. */
  follow(): () => void {
    void this.refresh();
    const timer = setInterval(() => {
      if (this.goesOn && !this.busy) void this.refresh();
    }, AGAIN_MS);
    return () => clearInterval(timer);
  }
}
