import * as api from "../../api/planning";
import type { DraftFault, DraftLoad, PlannedTube, PlanningBench, SessionContent, SessionDocument, SessionDraft, SessionShown } from "../../api/planning";
import { Problem, wordsOf } from "../../api/problem";
import { session as words } from "../../words/session";
import { people } from "../people/state.svelte";
import { begunOnly, carried, holdsAnything, loadAt, placeOf, whole, type At, type Edit } from "./draft";
import { adviceOf, advised, foundInTime, relaxedEntry, stillInTime, type Advice, type InTime, type Standing } from "./offers";
import { benchOf, entryOf, isReady, keptEntry, MOST_MIN, orderOf, typedOf, withoutRange, type OrderEntry } from "./order";
import { numbered } from "./picture";
import { Search } from "./search.svelte";

/** What was typed rests so long before it is re-timed and kept [ms]. */
const REST_MS = 350;
/** A page that only looks asks so often whether somebody changed the session [ms]. */
const LOOK_MS = 10_000;
/** The clock moves the line of now so often [ms]. */
const TICK_MS = 5_000;
const MOST_UNDO = 60;
/** What plans several times is given so long at least [s]. */
const LEAST_REWORK_S = 3;
/** A new session lasts so long [min]: a practical of three hours. */
const USUAL_LENGTH_MIN = 180;

/** What was kept, or a clock that runs on long after a session, is taken for the nearest that can be. */
const within = (minutes: number): number => Math.min(MOST_MIN, Math.max(0, minutes)) || 0;

/** How the program answers when a draft is to be timed. */
type Timed = { shown: SessionShown } | { why: string; answered: boolean };

interface Before {
  entry: OrderEntry;
  draft: SessionDraft | null;
}

/** One session: what it is to get done, the plan, and how far it is. */
export class SessionRoom {
  entry = $state<OrderEntry | null>(null);
  draft = $state.raw<SessionDraft | null>(null);
  shown = $state.raw<SessionShown | null>(null);
  now_min = $state(0);
  /** When minute 0 was; empty while the clock stands. */
  begun = $state("");
  selected = $state.raw<At | null>(null);
  bookBenches = $state.raw<PlanningBench[]>([]);

  revision = $state(0);
  by = $state("");
  keeping = $state(false);
  /** Somebody else changed it; what they kept. */
  conflict = $state.raw<SessionDocument | null>(null);
  fetched = $state(false);
  trouble = $state("");
  /** Why the planner refuses. */
  refused = $state("");
  /** Said to a screen reader, and beside the picture: what was done last, or why not. */
  told = $state("");

  readonly search = new Search();
  /** How long to look. */
  seconds = $state(1);

  #undo = $state.raw<Before[]>([]);
  #changed = false;
  /** The order that the plan shown is of, and the minute. */
  #ordered = "";
  #minute = 0;
  /** The plan that finishes most in time, as it was found last. */
  #inTime: InTime | null = null;
  /** The draft as it stands could not be timed when that was asked last. */
  #untimed = false;
  #closed = false;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #timers: ReturnType<typeof setInterval>[] = [];
  #queue: Promise<unknown> = Promise.resolve();

  constructor(readonly name: string) {}

  get order(): api.SessionOrder | null {
    return this.entry ? orderOf(this.entry) : null;
  }
  get mayPlan(): boolean {
    return !this.fixed && this.entry !== null && this.entry.benches.length > 0 && this.entry.samples.some(isReady);
  }
  /** What is being looked for; empty while nothing is. */
  get looking(): string {
    return this.search.what;
  }
  get canUndo(): boolean {
    return this.#undo.length > 0 && !this.fixed;
  }
  /** Why nothing of the plan can be changed just now; empty where it can. */
  get fixed(): string {
    return this.onlyLooks || (this.looking ? words.refusals.looking : "");
  }
  /** Why this person changes nothing here; empty where they may. */
  get onlyLooks(): string {
    if (people.mayWrite) return "";
    return people.me ? words.onlyLook : words.whoFirst;
  }
  get selectedLoad() {
    return this.draft ? loadAt(this.draft, this.selected) : null;
  }
  get numbers(): number[][] {
    return this.shown ? numbered(this.shown) : [];
  }
  numberOf(at: At): number {
    return this.numbers[at.bench]?.[at.load] ?? 0;
  }
  faultsOf(at: At): DraftFault[] {
    const bench = this.shown?.draft.benches[at.bench]?.bench;
    return this.shown?.faults.filter((fault) => fault.bench === bench && fault.load === at.load) ?? [];
  }
  /** With the load that it is about. */
  faultWords(fault: DraftFault): string {
    const bench = this.shown?.draft.benches.findIndex((one) => one.bench === fault.bench) ?? -1;
    if (bench < 0 || fault.load == null) return fault.text;
    return `${words.load(this.numberOf({ bench, load: fault.load }), fault.bench ?? "")}: ${fault.text}`;
  }
  /** Why the tubes of a load share it; empty where nothing is to be said. */
  whyOf(at: At): string {
    return this.shown?.words.loads[at.bench]?.[at.load] ?? "";
  }
  /** When each load is set in, bench by bench [min]. */
  get starts(): number[][] {
    return this.shown?.plan.benches.map((bench) => bench.loads.map((load) => load.load_start_min)) ?? [];
  }

  async start(): Promise<void> {
    await this.fetch();
    const look = () => {
      if (document.visibilityState === "visible") void this.#look();
    };
    this.#timers = [setInterval(look, LOOK_MS), setInterval(() => this.tick(), TICK_MS)];
    window.addEventListener("focus", look);
    this.#stop = () => window.removeEventListener("focus", look);
  }
  #stop: () => void = () => {};
  close(): void {
    this.#closed = true;
    this.#timers.forEach(clearInterval);
    this.#stop();
    this.search.stop();
    clearTimeout(this.#rest);
    if (this.#changed) void this.keep();
  }

  async fetch(): Promise<void> {
    try {
      this.bookBenches = (await api.planningBenches()).benches;
      let kept: SessionDocument | null = null;
      try {
        kept = await api.session(this.name);
      } catch (error) {
        if (!(error instanceof Problem && error.status === 404)) throw error;
      }
      if (kept) await this.take(kept);
      else await this.#begin();
      this.trouble = "";
    } catch (error) {
      this.trouble = wordsOf(error);
    }
    this.fetched = true;
  }

  /** A new one: the usual policy, and the benches of the book. */
  async #begin(): Promise<void> {
    const usual = await api.readSessionFile(`length_min = ${USUAL_LENGTH_MIN}.0\n`);
    const described = this.bookBenches.filter((bench) => bench.described);
    this.entry = { ...entryOf(usual), benches: (described.length ? described : this.bookBenches).map(benchOf) };
  }

  /** Takes what is kept in place of what is shown. What is being looked for is for another one. */
  async take(kept: SessionDocument): Promise<void> {
    this.search.stop();
    await this.#inTurn(() => this.#take(kept));
  }
  async #take(kept: SessionDocument): Promise<void> {
    const { session } = kept;
    this.entry = keptEntry(session);
    this.draft = session.draft ?? null;
    this.now_min = within(session.now_min ?? 0);
    this.begun = session.begun ?? "";
    this.revision = kept.revision;
    this.by = kept.by;
    this.conflict = null;
    this.#changed = false;
    this.#undo = [];
    if (this.begun) this.now_min = this.#clock();
    await this.#retime();
    if (!this.selectedLoad) this.selected = null;
  }

  /** Looks whether somebody else changed it. */
  async #look(): Promise<void> {
    const idle = () => !((this.#changed && !this.onlyLooks) || this.keeping || this.looking || this.conflict);
    const before = this.revision;
    if (before === 0 || !idle()) return;
    try {
      const kept = await api.session(this.name);
      await this.#inTurn(async () => {
        if (kept.revision !== before && this.revision === before && idle()) await this.#take(kept);
      });
    } catch {
      // The next look tells; the masthead says that the program does not answer.
    }
  }

  get content(): SessionContent | null {
    if (!this.entry) return null;
    return {
      order: orderOf(this.entry),
      without_range: withoutRange(this.entry),
      typed: typedOf(this.entry),
      draft: this.draft,
      now_min: this.now_min,
      begun: this.begun || null,
    };
  }

  async keep(): Promise<void> {
    const content = this.content;
    if (!content || this.keeping || this.conflict || !people.mayWrite) return;
    this.keeping = true;
    this.#changed = false;
    try {
      const kept = await api.keepSession(this.name, this.revision, content);
      this.revision = kept.revision;
      this.by = kept.by;
      this.trouble = "";
    } catch (error) {
      this.#changed = true;
      if (error instanceof Problem && error.status === 409) {
        this.conflict = await api.session(this.name).catch(() => null);
      }
      if (!this.conflict) this.trouble = wordsOf(error);
    }
    this.keeping = false;
    if (this.#changed && !this.conflict && !this.trouble) this.#later();
  }
  /** What the person sees goes in the place of what somebody else kept. */
  async keepMine(): Promise<void> {
    if (!this.conflict) return;
    this.revision = this.conflict.revision;
    this.conflict = null;
    await this.keep();
  }

  #later(): void {
    this.#changed = true;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.keep(), REST_MS);
  }

  /** Something of the order was typed: re-timed and kept once the typing rests. */
  typed(): void {
    // What a page that only looks has in its fields is no change: the next look takes what is kept.
    if (this.onlyLooks) return;
    this.#changed = true;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => {
      void this.retime();
      void this.keep();
    }, REST_MS);
  }

  remember(): void {
    if (!this.entry || this.onlyLooks) return;
    const before = { entry: $state.snapshot(this.entry) as OrderEntry, draft: this.draft };
    this.#undo = [...this.#undo.slice(-MOST_UNDO + 1), before];
  }
  async undo(): Promise<void> {
    if (this.fixed) {
      this.told = this.fixed;
      return;
    }
    await this.#inTurn(async () => {
      const before = this.#undo.at(-1);
      if (!before) return;
      this.#undo = this.#undo.slice(0, -1);
      this.entry = before.entry;
      this.draft = before.draft;
      this.selected = null;
      this.told = words.undone;
      await this.#retime();
      this.#later();
    });
  }

  /** One after another: each change starts from what the one before it left. */
  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const done = this.#queue.then(work);
    this.#queue = done.catch(() => {});
    return done;
  }

  /** Checks and re-times the draft as it stands. */
  retime(): Promise<void> {
    return this.#inTurn(() => this.#retime());
  }
  async #retime(): Promise<void> {
    const order = this.order;
    if (!order || !this.draft) {
      this.shown = null;
      return;
    }
    const of = { order, draft: this.#whole(this.draft, order), now_min: this.now_min };
    const timed = await this.#time(of);
    if ("shown" in timed) this.#show(timed.shown, of, stillInTime(this.#inTime, timed.shown, of));
    else this.#unshown(this.draft, timed.why);
  }
  #whole(draft: SessionDraft, order: api.SessionOrder): SessionDraft {
    return whole(draft, order.bench.map((bench) => bench.name));
  }
  async #time({ order, draft, now_min }: Standing): Promise<Timed> {
    try {
      return { shown: await api.retimeSession(order, draft, now_min) };
    } catch (error) {
      return { why: wordsOf(error), answered: error instanceof Problem && error.status !== 0 };
    }
  }

  #show(shown: SessionShown, { order, draft, now_min }: Standing, inTime: InTime | null): void {
    this.draft = draft;
    this.#inTime = inTime;
    this.shown = { ...shown, draft, in_time: inTime?.draft ?? null, in_time_finished: inTime?.finished ?? null };
    this.#ordered = JSON.stringify(order);
    this.#minute = Math.floor(now_min);
    this.refused = "";
    this.#untimed = false;
  }
  /** A draft without times of its own: those it had last, where its loads had some. */
  #unshown(draft: SessionDraft, why: string): void {
    this.draft = draft;
    if (this.shown?.draft !== draft) this.shown = carried(this.shown, draft);
    this.refused = why;
    this.#untimed = true;
  }

  /** A change of one load by hand, from the draft as it stands when its turn comes. */
  changeLoad(load: DraftLoad, edit: (draft: SessionDraft, at: At) => Edit, tube?: PlannedTube): Promise<boolean> {
    return this.change((draft) => {
      const at = placeOf(draft, load, tube);
      return at ? edit(draft, at) : { refused: words.refusals.gone };
    });
  }
  /** A change of the draft by hand: re-timed at once, kept soon. What the program refuses is not taken, and it is said why. */
  async change(edit: (draft: SessionDraft) => Edit): Promise<boolean> {
    if (this.fixed) {
      this.told = this.fixed;
      return false;
    }
    return this.#inTurn(() => this.#change(edit));
  }
  async #change(edit: (draft: SessionDraft) => Edit): Promise<boolean> {
    const order = this.order;
    const before = this.draft;
    if (!this.entry || !order || !before) return false;
    const made = edit(before);
    if (made.refused !== undefined) {
      this.told = made.refused;
      return false;
    }
    const was: Before = { entry: $state.snapshot(this.entry) as OrderEntry, draft: before };
    const of = { order, draft: this.#whole(made.draft, order), now_min: this.now_min };
    // Where the draft could not be timed before, or the order is another, or nobody answers, it may not be this change that is refused.
    const stood = !this.#untimed && this.#ordered === JSON.stringify(order);
    const timed = await this.#time(of);
    if ("shown" in timed) {
      this.#show(timed.shown, of, stillInTime(this.#inTime, timed.shown, of));
    } else if ((stood && timed.answered) || (this.shown && !carried(this.shown, of.draft))) {
      this.told = words.notTaken(timed.why);
      return false;
    } else {
      this.#unshown(of.draft, timed.why);
    }
    this.#undo = [...this.#undo.slice(-MOST_UNDO + 1), was];
    this.selected = made.at;
    this.told = "";
    this.#later();
    return true;
  }

  /** Looks for a plan; a bar shows how far the time is. What began stays, and nothing is set in before now. */
  async plan(anew: "all" | "rest"): Promise<void> {
    if (!this.onlyLooks) await this.#plan(anew, () => this.remember());
  }
  async #plan(anew: "all" | "rest", remember: () => void): Promise<void> {
    await this.look(anew === "rest" ? words.replan : words.plan, this.seconds, async (signal) => {
      const order = this.order;
      if (!order) return;
      const stands = this.draft ?? { benches: [] };
      const draft = anew === "rest" ? stands : begunOnly(stands);
      const asked = { order, draft, now_min: this.now_min, seconds: this.seconds };
      const shown = await api.replanSession(asked, signal);
      await this.#inTurn(async () => {
        if (signal.aborted) return;
        remember();
        const of = { order, draft: this.#whole(shown.draft, order), now_min: asked.now_min };
        this.#show(shown, of, foundInTime(shown, of));
        // What it tells of benches goes by the order's own order of them.
        this.selected = null;
        this.told = words.planned;
        this.#later();
      });
    });
  }

  /** The plan that finishes most samples in time, where not all fits. */
  async takeInTime(): Promise<void> {
    const draft = this.shown?.in_time;
    if (draft && (await this.change(() => ({ draft, at: { bench: 0, load: 0 } })))) this.selected = null;
  }

  #savings = $state.raw<Advice<api.Saving> | null>(null);
  #relaxations = $state.raw<Advice<api.Relaxation> | null>(null);
  /** What one more of something would save; asked for, as it takes seconds. */
  get savings(): api.Saving[] | null {
    return advised(this.#savings, this.#stands);
  }
  /** What could give. */
  get relaxations(): api.Relaxation[] | null {
    return advised(this.#relaxations, this.#stands);
  }
  /** Something was found, but for another order, plan or minute. */
  get outdated(): boolean {
    return (this.#savings !== null && !this.savings) || (this.#relaxations !== null && !this.relaxations);
  }
  get #stands(): Standing | null {
    const order = this.order;
    return order && this.draft ? { order, draft: this.draft, now_min: this.now_min } : null;
  }

  async askSavings(): Promise<void> {
    await this.#rework(words.savings, async (asked, signal) => {
      const { savings } = await api.sessionSavings(asked, signal);
      this.#savings = adviceOf(savings, asked, this.now_min);
    });
  }
  async askRelaxations(): Promise<void> {
    await this.#rework(words.relax, async (asked, signal) => {
      const { relaxations } = await api.sessionRelaxations({ ...asked, in_time: this.shown?.in_time ?? null }, signal);
      this.#relaxations = adviceOf(relaxations, asked, this.now_min);
    });
  }
  async #rework(what: string, work: (asked: api.Rework, signal: AbortSignal) => Promise<void>): Promise<void> {
    const seconds = Math.max(this.seconds, LEAST_REWORK_S);
    await this.look(what, seconds, async (signal) => {
      const of = this.#stands;
      if (of) await work({ ...of, seconds }, signal);
    });
  }
  /** Takes what was relaxed into the order, and plans it; not into an order that was changed since. */
  async takeRelaxed(relaxed: api.Relaxation): Promise<void> {
    if (!this.entry || this.fixed) return;
    if (!this.relaxations?.includes(relaxed)) {
      this.told = words.adviceOld;
      return;
    }
    // One step back undoes both, the order and the plan.
    this.remember();
    this.entry = relaxedEntry(this.entry, relaxed.order);
    await this.#plan(holdsAnything(this.draft) ? "rest" : "all", () => {});
    this.#later();
  }

  /** Something that takes seconds, with its progress. */
  async look(what: string, seconds: number, work: (signal: AbortSignal) => Promise<void>): Promise<void> {
    if (this.looking) return;
    const refused = await this.search.run(what, seconds, async (signal) => {
      // Changes that are under way come first: what is looked for starts from them.
      await this.#queue;
      await work(signal);
    });
    this.refused = refused || this.refused;
    // What was typed meanwhile, and the minutes that went by, are not in what was found.
    const late = this.#ordered !== JSON.stringify(this.order) || this.#minute !== Math.floor(this.now_min);
    if (!this.draft || !late || this.#closed) return;
    await this.retime();
    this.refused ||= refused;
  }

  #clock(): number {
    return within((Date.now() - Date.parse(this.begun)) / 60_000);
  }
  /** Where now is; re-timed when another minute has begun. */
  tick(): void {
    if (!this.begun) return;
    const before = Math.floor(this.now_min);
    this.now_min = this.#clock();
    if (Math.floor(this.now_min) !== before && this.draft && !this.looking) void this.retime();
  }
  startClock(): void {
    if (this.onlyLooks) return;
    this.begun = new Date(Date.now() - this.now_min * 60_000).toISOString();
    this.typed();
  }
  stopClock(): void {
    if (this.onlyLooks) return;
    this.now_min = Math.round(this.#clock() * 10) / 10;
    this.begun = "";
    this.typed();
  }
  /** Whether that can be now. */
  setNow(minutes: number): boolean {
    if (this.onlyLooks || !(minutes >= 0 && minutes <= MOST_MIN)) return false;
    this.now_min = minutes;
    if (this.begun) this.begun = new Date(Date.now() - this.now_min * 60_000).toISOString();
    this.typed();
    return true;
  }
}
