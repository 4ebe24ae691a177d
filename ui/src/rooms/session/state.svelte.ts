import * as api from "../../api/planning";
import type { DraftFault, DraftLoad, PlannedTube, PlanningBench, SessionContent, SessionDocument, SessionDraft, SessionShown } from "../../api/planning";
import { Problem, wordsOf } from "../../api/problem";
import { session as words } from "../../words/session";
import { people } from "../people/state.svelte";
import { anythingBegan, begunOnly, carried, holdsAnything, loadAt, placeOf, whole, type At, type Edit } from "./draft";
import { benchOf, entryOf, isReady, keptEntry, MOST_MIN, orderOf, typedOf, withoutRange, type OrderEntry } from "./order";
import { numbered } from "./picture";

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

  /** What is being looked for, and how far that is, 0..1. */
  looking = $state("");
  progress = $state(0);
  left_s = $state(0);
  seconds = $state(1);

  #undo = $state.raw<Before[]>([]);
  #changed = false;
  /** The order that the plan shown is of. */
  #ordered = "";
  /** And the minute that it is of. */
  #minute = 0;
  /** The draft as it stands could not be timed when that was asked last. */
  #untimed = false;
  #closed = false;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #timers: ReturnType<typeof setInterval>[] = [];
  #queue: Promise<unknown> = Promise.resolve();
  #abort: AbortController | undefined;

  constructor(readonly name: string) {}

  get order(): api.SessionOrder | null {
    return this.entry ? orderOf(this.entry) : null;
  }
  get mayPlan(): boolean {
    return !this.fixed && this.entry !== null && this.entry.benches.length > 0 && this.entry.samples.some(isReady);
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
    this.#abort?.abort();
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
    this.stopLooking();
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
    const draft = this.#whole(this.draft, order);
    const timed = await this.#time(order, draft);
    if ("shown" in timed) this.#show(timed.shown, draft, order);
    else this.#unshown(this.draft, timed.why);
  }
  #whole(draft: SessionDraft, order: api.SessionOrder): SessionDraft {
    return whole(draft, order.bench.map((bench) => bench.name));
  }
  async #time(order: api.SessionOrder, draft: SessionDraft): Promise<Timed> {
    try {
      return { shown: await api.retimeSession(order, draft, this.now_min) };
    } catch (error) {
      return { why: wordsOf(error), answered: error instanceof Problem && error.status !== 0 };
    }
  }

  #show(shown: SessionShown, draft: SessionDraft, order: api.SessionOrder): void {
    // What was worked out for another plan does not hold for this one.
    if (shown.plan.makespan_min !== this.shown?.plan.makespan_min) this.savings = this.relaxations = null;
    this.draft = draft;
    const ordered = JSON.stringify(order);
    // Times of a draft are found at once, the plan that finishes most in time is not: it stays, as long as it can be taken.
    const other = shown.in_time || this.#ordered !== ordered || anythingBegan(draft) ? shown : this.shown;
    this.shown = { ...shown, draft, in_time: other?.in_time ?? null, in_time_finished: other?.in_time_finished ?? null };
    this.#ordered = ordered;
    this.#minute = Math.floor(this.now_min);
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
    const draft = this.#whole(made.draft, order);
    // Where the draft could not be timed before, or the order is another, or nobody answers, it may not be this change that is refused.
    const stood = !this.#untimed && this.#ordered === JSON.stringify(order);
    const timed = await this.#time(order, draft);
    if ("shown" in timed) {
      this.#show(timed.shown, draft, order);
    } else if ((stood && timed.answered) || (this.shown && !carried(this.shown, draft))) {
      this.told = words.notTaken(timed.why);
      return false;
    } else {
      this.#unshown(draft, timed.why);
    }
    this.#undo = [...this.#undo.slice(-MOST_UNDO + 1), was];
    this.selected = made.at;
    this.told = "";
    this.#later();
    return true;
  }

  /** Looks for a plan; a bar shows how far the time is. What began stays, and nothing is set in before now. */
  async plan(anew: "all" | "rest"): Promise<void> {
    if (this.onlyLooks) return;
    await this.look(anew === "rest" ? words.replan : words.plan, this.seconds, async (signal) => {
      const order = this.order;
      if (!order) return;
      const stands = this.draft ?? { benches: [] };
      const draft = anew === "rest" ? stands : begunOnly(stands);
      const asked = { order, draft, now_min: this.now_min, seconds: this.seconds };
      const shown = await api.replanSession(asked, signal);
      await this.#inTurn(async () => {
        if (signal.aborted) return;
        this.remember();
        this.#show(shown, this.#whole(shown.draft, order), order);
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

  /** What one more of something would save; asked for, as it takes seconds. */
  savings = $state.raw<api.Saving[] | null>(null);
  /** What could give. */
  relaxations = $state.raw<api.Relaxation[] | null>(null);

  get #rework(): api.Rework | null {
    const order = this.order;
    if (!order || !this.draft) return null;
    return { order, draft: this.draft, now_min: this.now_min, seconds: Math.max(this.seconds, LEAST_REWORK_S) };
  }
  async askSavings(): Promise<void> {
    const asked = this.#rework;
    if (!asked) return;
    await this.look(words.savings, asked.seconds, async (signal) => {
      this.savings = (await api.sessionSavings(asked, signal)).savings;
    });
  }
  async askRelaxations(): Promise<void> {
    const asked = this.#rework;
    if (!asked) return;
    await this.look(words.relax, asked.seconds, async (signal) => {
      this.relaxations = (await api.sessionRelaxations(asked, signal)).relaxations;
    });
  }
  /** Takes an order that was relaxed, and plans it. */
  async takeRelaxed(relaxed: api.Relaxation): Promise<void> {
    if (!this.entry || this.fixed) return;
    const origins = new Map(this.entry.samples.map((one) => [one.id, one.origin]));
    const before: Before = { entry: $state.snapshot(this.entry) as OrderEntry, draft: this.draft };
    const undo = this.#undo;
    const entry = entryOf(relaxed.order, withoutRange(this.entry));
    for (const sample of entry.samples) sample.origin = origins.get(sample.id) ?? "";
    this.entry = entry;
    await this.plan(holdsAnything(this.draft) ? "rest" : "all");
    // One step back undoes both, the order and the plan.
    this.#undo = [...undo, before];
    this.#later();
  }

  /** Something that takes seconds, with its progress. */
  async look(what: string, seconds: number, work: (signal: AbortSignal) => Promise<void>): Promise<void> {
    if (this.looking) return;
    const abort = new AbortController();
    this.#abort = abort;
    this.looking = what;
    this.progress = 0;
    this.left_s = seconds;
    const begun_ms = Date.now();
    const bar = setInterval(() => {
      const gone_s = (Date.now() - begun_ms) / 1000;
      this.progress = Math.min(1, gone_s / seconds);
      this.left_s = seconds - gone_s;
    }, 100);
    let refused = "";
    try {
      // Changes that are under way come first: what is looked for starts from them.
      await this.#queue;
      await work(abort.signal);
    } catch (error) {
      if (!abort.signal.aborted) this.refused = refused = wordsOf(error);
    }
    clearInterval(bar);
    this.looking = "";
    // What was typed meanwhile, and the minutes that went by, are not in what was found.
    const late = this.#ordered !== JSON.stringify(this.order) || this.#minute !== Math.floor(this.now_min);
    if (!this.draft || !late || this.#closed) return;
    await this.retime();
    this.refused ||= refused;
  }
  stopLooking(): void {
    this.#abort?.abort();
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
