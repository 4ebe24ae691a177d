/** One exercise after the other: pictures, marks, what became of them. */
import * as api from "../../api/practice";
import type { ExerciseKind, PracticeItem, PracticeMarked } from "../../api/practice";
import { wordsOf } from "../../api/problem";
import type { Decode } from "../../parts/frames";
import { Player } from "../../parts/player.svelte";
import { clock } from "../../words/format";
import { practice as words } from "../../words/practice";
import { mayComeLater, Outbox, type Store } from "./outbox";

export type End = "first" | "last";
/** Numbers of the pictures that were marked. */
export type Marks = Record<End, number | null>;

/** What is to be read: whatever comes next, one of a kind, one by its number, or an own recording that was listed. */
export type Wanted =
  | { what: "next"; kind: ExerciseKind | "" }
  | { what: "exercise"; kind: ExerciseKind; seed: number }
  | { what: "item"; item: PracticeItem };

/** An exercise whose pictures take longer than this is said to be slow [ms]. */
const SLOW_MS = 1500;

export class PracticeState {
  item = $state.raw<PracticeItem | null>(null);
  player = $state.raw<Player | null>(null);
  marks = $state<Marks>({ first: null, last: null });
  marked = $state.raw<PracticeMarked | null>(null);
  /** Kind that was chosen by hand; empty: the program chooses. */
  kind = $state<ExerciseKind | "">("");
  /** Shown as a whole rather than only the column. */
  whole = $state(false);
  waiting = $state(0);
  problem = $state("");
  trouble = $state("");
  refused = $state("");
  busy = $state(false);
  loading = $state(false);
  slow = $state(false);

  readonly #outbox: Outbox;
  #wanted: Wanted = { what: "next", kind: "" };
  #attempt = "";
  #begun_ms = 0;
  #asked = 0;

  constructor(
    private readonly me: () => string,
    /** What is to be done when somebody's progress has changed. */
    private readonly moved: (marked: PracticeMarked) => void,
    store: Store,
    private readonly now_ms: () => number = () => performance.now(),
    private readonly decode?: Decode,
  ) {
    this.#outbox = new Outbox(store);
  }

  get shownIndex(): number {
    return this.player?.shownIndex ?? 0;
  }
  get timeText(): string {
    return this.timeOf(this.shownIndex);
  }
  timeOf(index: number): string {
    return clock(this.item?.times_s[index] ?? 0);
  }
  /** Why this one; nothing where the reason is not known here. */
  get why(): string {
    return words.why[this.item?.why ?? ""] ?? "";
  }
  /** Whether marks can be set: not before there are pictures, not after they were sent. */
  get reads(): boolean {
    return this.item !== null && this.marked === null && !this.busy;
  }

  /** What keeps the marks from being sent, in words; empty when nothing does. */
  get fault(): string {
    const { first, last } = this.marks;
    if (first === null) return words.faults.noFirst;
    if (last === null) return words.faults.noLast;
    return last < first ? words.faults.order : "";
  }

  async open(wanted: Wanted): Promise<void> {
    this.#wanted = wanted;
    this.kind = wanted.what === "next" ? wanted.kind : "";
    const asked = (this.#asked += 1);
    this.loading = true;
    this.problem = "";
    const slow = setTimeout(() => (this.slow = asked === this.#asked), SLOW_MS);
    try {
      const item = await this.#ask(wanted);
      if (asked === this.#asked) this.#take(item);
    } catch (error) {
      if (asked === this.#asked) {
        this.problem = wordsOf(error);
        this.#take(null);
      }
    }
    clearTimeout(slow);
    if (asked !== this.#asked) return;
    this.slow = false;
    this.loading = false;
  }

  /** Asks for what was wanted last once more. */
  retry(): Promise<void> {
    return this.open(this.#wanted);
  }

  /** The one after this: of the kind that was chosen, else as the program chooses. */
  next(): Promise<void> {
    return this.open({ what: "next", kind: this.kind });
  }

  /** The same exercise from the beginning. */
  again(): void {
    if (this.item) this.#take({ ...this.item, attempts: this.item.attempts + (this.marked ? 1 : 0) });
  }

  #ask(wanted: Wanted): Promise<PracticeItem> {
    switch (wanted.what) {
      case "next":
        return api.next(wanted.kind);
      case "exercise":
        return api.exercise(wanted.kind, wanted.seed);
      case "item":
        return Promise.resolve(wanted.item);
    }
  }

  #take(item: PracticeItem | null): void {
    this.player?.close();
    this.item = item;
    this.marks = { first: null, last: null };
    this.marked = null;
    this.trouble = "";
    this.whole = item?.column == null;
    this.player = null;
    if (!item) return;
    const player = new Player((n, signal) => api.picture(item, n, signal), undefined, this.decode);
    // Blind: there are no temperatures to step by.
    player.cursor.load(item.times_s, []);
    this.player = player;
    this.#attempt = crypto.randomUUID();
    this.#begun_ms = this.now_ms();
  }

  mark(end: End, seen = true): void {
    if (!this.reads) return;
    if (!seen) {
      this.trouble = words.faults.alwaysMelts;
      return;
    }
    this.marks[end] = this.shownIndex;
    this.trouble = "";
  }

  /** To a picture, held. */
  goTo(index: number): void {
    this.player?.cursor.hold();
    this.player?.cursor.toIndex(index);
  }
  goToTime(time_s: number): void {
    this.player?.cursor.hold();
    this.player?.cursor.toTime(time_s);
  }

  /** To the next or the previous mark. */
  jump(way: 1 | -1): void {
    const here = this.player?.cursor.index ?? 0;
    const all = [this.marks.first, this.marks.last].filter((one) => one !== null).sort((a, b) => a - b);
    const next = way > 0 ? all.find((one) => one > here) : all.findLast((one) => one < here);
    if (next !== undefined) this.goTo(next);
  }

  /** Sends the marks; where the program does not answer they are kept and sent later under the same id. */
  async send(): Promise<void> {
    const { item } = this;
    if (!item || !this.reads) return;
    if (this.fault) {
      this.trouble = this.fault;
      return;
    }
    this.player?.cursor.hold();
    const attempt: api.PracticeAttempt = {
      id: this.#attempt,
      exercise: item.exercise,
      first_liquid_s: item.times_s[this.marks.first ?? 0] ?? 0,
      last_crystal_s: item.times_s[this.marks.last ?? 0] ?? 0,
      seconds_spent: Math.round((this.now_ms() - this.#begun_ms) / 100) / 10,
    };
    this.busy = true;
    this.trouble = "";
    try {
      const answer = await api.attempt(attempt);
      this.#outbox.drop(attempt.id);
      this.#answered(answer);
    } catch (error) {
      if (mayComeLater(error)) this.#outbox.keep(this.me(), attempt);
      this.trouble = wordsOf(error);
    }
    this.busy = false;
    this.count();
  }

  /** Sends what was kept of this person. */
  async sendKept(): Promise<void> {
    this.count();
    if (this.busy || this.waiting === 0) return;
    this.busy = true;
    const { answers, refused } = await this.#outbox.send(this.me(), api.attempt);
    this.busy = false;
    this.refused = refused.map(words.refusedKept).join("\n");
    for (const answer of answers) this.#answered(answer);
    this.count();
  }

  count(): void {
    this.waiting = this.#outbox.waiting(this.me());
  }

  #answered(marked: PracticeMarked): void {
    this.moved(marked);
    // One that was kept from an earlier exercise only counts; it is not shown over the one that is open now.
    if (marked.id !== this.#attempt) return;
    this.marked = marked;
    this.trouble = "";
  }

  close(): void {
    this.#asked += 1;
    this.player?.close();
  }
}
