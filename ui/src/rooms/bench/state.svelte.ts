import * as api from "../../api/live";
import type { BenchView, CurvePoint, LiveBench, LiveMark, MarkedMoment, Press, SimulatedFault } from "../../api/live";
import { wordsOf } from "../../api/problem";
import type { Handed } from "../../parts/handed";
import { isOver, means } from "./keys";
import { Load } from "./load.svelte";
import { LivePictureState } from "./picture.svelte";
import { PlanState } from "./plan.svelte";
import { Series } from "./series.svelte";

/** How often the program is told that somebody looks [ms]; its heater goes off after a minute without. */
const SEEN_MS = 3000;
/** About four events come a second; after this long without one the connection counts as lost [ms]. */
const SILENT_MS = 4000;

/** A run that begins shows within this time, or was over at once [ms]. */
const BEGINNING_MS = 3000;

/** Which part of the room is shown. */
export type Stage = "fetching" | "unknown" | "shut" | "before" | "during" | "after";

/** What the page keeps of a run beyond the connection: its planned curve, and whether it was put away. */
interface Kept {
  run: string;
  curve: CurvePoint[];
  /** What stands on the vial of each place; empty where nothing was named. */
  labels: string[];
  away: boolean;
}

/** One bench, the run at it and the connection to it. */
export class BenchRoom {
  info = $state.raw<LiveBench | null>(null);
  fetched = $state(false);
  view = $state.raw<BenchView | null>(null);
  series = new Series();
  connected = $state(false);
  /** How long nothing was heard [s]; 0 while connected. */
  silent_s = $state(0);
  /** Why the last thing asked for was not done. */
  trouble = $state("");
  busy = $state(false);
  asksStop = $state(false);
  /** What this page provoked and did not mend; the program does not tell. */
  provoked = $state<SimulatedFault[]>([]);
  load = new Load();
  plan: PlanState;
  picture: LivePictureState;
  /** A run was asked for and does not show yet: what is told is still the last one. */
  #beginning = $state(false);
  #kept = $state.raw<Kept | null>(null);
  #events: api.BenchEvents;
  #heard_ms: number;
  #timers: ReturnType<typeof setInterval>[] = [];

  constructor(
    readonly name: string,
    private readonly store: Pick<Storage, "getItem" | "setItem"> = localStorage,
    private readonly now_ms: () => number = () => Date.now(),
    /** A plan that was made elsewhere, until it is taken. */
    private handed: Handed | null = null,
  ) {
    this.plan = new PlanState(name);
    this.picture = new LivePictureState(name);
    this.#heard_ms = this.now_ms();
    this.#events = new api.BenchEvents(
      name,
      (view) => this.hear(view),
      () => this.lose(),
    );
    this.#kept = this.#recall();
  }

  get run() {
    return this.view?.run ?? null;
  }
  get stage(): Stage {
    if (!this.info) return this.fetched ? "unknown" : "fetching";
    if (!this.info.open) return "shut";
    const run = this.run;
    if (!run) return "before";
    if (!isOver(run.phase)) return "during";
    if (this.#beginning) return "before";
    return this.#kept?.away && this.#kept.run === this.view?.run_id ? "before" : "after";
  }
  /** The planned curve of the run shown; empty where it was not started from this browser. */
  get curve(): CurvePoint[] {
    return this.#kept && this.#kept.run === this.view?.run_id ? this.#kept.curve : [];
  }
  get labels(): string[] {
    return this.#kept && this.#kept.run === this.view?.run_id ? (this.#kept.labels ?? []) : [];
  }
  get attending(): boolean {
    return this.run?.attend_left_s != null;
  }
  get leg() {
    const run = this.run;
    return run ? (run.programme.legs[run.leg] ?? null) : null;
  }

  start(): void {
    void this.refresh();
    this.#timers = [
      setInterval(this.#look, SEEN_MS),
      setInterval(() => this.watch(), 1000),
    ];
    document.addEventListener("visibilitychange", this.#look);
  }
  close(): void {
    this.#timers.forEach(clearInterval);
    document.removeEventListener("visibilitychange", this.#look);
    this.#events.stop();
    this.picture.stop();
    this.plan.close();
  }

  /** Asks for the bench, and follows it when it is at work. */
  async refresh(): Promise<void> {
    try {
      const before = this.info?.open ?? false;
      this.info = (await api.benches()).benches.find((one) => one.name === this.name) ?? null;
      this.fetched = true;
      if (this.info) this.load.setPlaces(this.info.places);
      if (this.info) this.#takeHanded();
      if (this.info?.open && !before) this.#follow();
      if (!this.info?.open) this.#leave();
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  #takeHanded(): void {
    const handed = this.handed;
    if (!handed) return;
    this.handed = null;
    this.plan.take(handed);
    handed.labels.forEach((label, i) => label && void this.load.type(i + 1, label));
  }

  #follow(): void {
    this.#heard_ms = this.now_ms();
    this.#events.start();
    this.picture.again();
    this.picture.start();
    this.#look();
  }
  #leave(): void {
    this.#events.stop();
    this.picture.stop();
    this.view = null;
    this.series.clear();
    this.connected = false;
    this.silent_s = 0;
    this.provoked = [];
  }

  /** Takes what an event tells. Where points are missing the connection is made anew: it begins with all. */
  hear(view: BenchView): void {
    this.#heard_ms = this.now_ms();
    if (view.run_id !== (this.view?.run_id ?? null)) {
      if (view.first_point !== 0) return this.#events.start();
      this.series.clear();
      this.asksStop = false;
    }
    if (!this.series.take(view.first_point, view.new_points)) return this.#events.start();
    this.connected = true;
    this.silent_s = 0;
    if (view.run && isOver(view.run.phase)) this.asksStop = false;
    else if (view.run) this.#beginning = false;
    this.view = view;
    if (this.stage === "before") this.plan.blockAt(view.temperature_c);
  }

  /** The connection broke. */
  lose(): void {
    this.connected = false;
    // The bench may have been closed in the meantime, from here or elsewhere.
    void api
      .benches()
      .then(({ benches }) => {
        const now = benches.find((one) => one.name === this.name);
        if (now && !now.open) {
          this.info = now;
          this.#leave();
        }
      })
      .catch(() => {});
  }

  /** Notices, once a second, that nothing comes any more though nobody said that the connection broke. */
  watch(): void {
    if (!this.info?.open) return;
    const silent_ms = this.now_ms() - this.#heard_ms;
    if (silent_ms < SILENT_MS) {
      if (this.connected) this.silent_s = 0;
      return;
    }
    this.silent_s = silent_ms / 1000;
    if (this.connected) {
      this.connected = false;
      this.#events.start();
    }
  }

  /** Says that somebody looks, where somebody can. A failure shows as a lost connection. */
  #look = (): void => {
    if (!this.info?.open || document.visibilityState !== "visible") return;
    api.seen(this.name).catch(() => {});
  };

  open(speed: number): Promise<boolean> {
    return this.#do(async () => {
      await api.openBench(this.name, this.info?.simulated ? speed : undefined);
      await this.refresh();
    });
  }
  shut(): Promise<boolean> {
    return this.#do(async () => {
      await api.closeBench(this.name);
      await this.refresh();
    });
  }

  /** Starts the planned run. */
  begin(): Promise<boolean> {
    const order = this.plan.order;
    if (!order || this.busy) return Promise.resolve(false);
    const curve = this.plan.plan?.curve ?? [];
    const labels = this.load.tubes.map((tube) => tube.sample?.label ?? "");
    this.#beginning = true;
    const begun = this.#do(async () => {
      const { run } = await api.startRun(this.name, {
        plan: order,
        tubes: this.load.order,
        end_when_clear: this.plan.endWhenClear,
      });
      this.#keep({ run, curve, labels, away: false });
    });
    return begun.then((done) => {
      if (done) setTimeout(() => (this.#beginning = false), BEGINNING_MS);
      else this.#beginning = false;
      return done;
    });
  }

  /** Steers the run. Stop asks first; a second stop is the answer. */
  press(key: Exclude<Press["key"], "mark">): void {
    const run = this.run;
    if (!run || !means(key, run.phase, this.attending)) return;
    if (key === "stop" && !this.asksStop) {
      this.asksStop = true;
      return;
    }
    this.asksStop = false;
    void this.#do(() => api.press(this.name, { key }));
  }
  mark(place: number, moment: MarkedMoment): void {
    const run = this.run;
    if (!run || isOver(run.phase) || place > (this.info?.places ?? 3)) return;
    // Not through `#do`: a mark never waits for anything else that is asked for.
    api.press(this.name, { key: "mark", place, moment }).then(
      () => (this.trouble = ""),
      (error: unknown) => (this.trouble = wordsOf(error)),
    );
  }
  keyIn(temperature_c: number): Promise<boolean> {
    return this.#do(() => api.keyIn(this.name, temperature_c));
  }
  async provoke(fault: SimulatedFault, on: boolean): Promise<void> {
    await this.#do(async () => {
      await api.provoke(this.name, fault, on);
      this.provoked = [...this.provoked.filter((one) => one !== fault), ...(on ? [fault] : [])];
    });
  }
  async mendAll(): Promise<void> {
    for (const fault of api.SIMULATED_FAULTS) await this.provoke(fault, false);
  }

  /** The last mark of a moment, whoever set it. */
  markOf(place: number, moment: MarkedMoment): LiveMark | null {
    return this.run?.marks.filter((mark) => mark.place === place && mark.moment === moment).at(-1) ?? null;
  }

  /** Makes room for the next run; after a scouting run with the measuring run prefilled. */
  putAway(measuring: boolean): void {
    const estimate = this.run?.estimate_c ?? null;
    const run = this.view?.run_id;
    if (run) this.#keep({ run, curve: this.curve, labels: this.labels, away: true });
    if (measuring && estimate) this.plan.measureAround(estimate);
    this.plan.change();
  }

  async #do(what: () => Promise<unknown>): Promise<boolean> {
    this.busy = true;
    this.trouble = "";
    try {
      await what();
      return true;
    } catch (error) {
      this.trouble = wordsOf(error);
      return false;
    } finally {
      this.busy = false;
    }
  }

  #keep(kept: Kept): void {
    this.#kept = kept;
    try {
      this.store.setItem(`meltrange.run.${this.name}`, JSON.stringify(kept));
    } catch {
      // Storage is full or switched off: the curve is gone after the page is fetched anew, nothing else.
    }
  }
  #recall(): Kept | null {
    try {
      const kept = JSON.parse(this.store.getItem(`meltrange.run.${this.name}`) ?? "null") as Kept | null;
      return kept && typeof kept.run === "string" && Array.isArray(kept.curve) ? kept : null;
    } catch {
      return null;
    }
  }
}
