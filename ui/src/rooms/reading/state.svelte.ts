import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { FrameTimes, Outcome, Reading, RecordingDetail, Tube, Work } from "../../api/types";
import { Player } from "../../parts/player.svelte";
import { outcomes as outcomeWords } from "../../words/common";
import { celsius, clock } from "../../words/format";
import { reading as words } from "../../words/reading";
import * as drafts from "./draft";
import type { Draft, End } from "./draft";

/** A moment that can be jumped to. */
export interface Stop {
  place: number;
  end: End;
  time_s: number;
}

export class ReadingState {
  detail = $state.raw<RecordingDetail | null>(null);
  frames = $state.raw<FrameTimes | null>(null);
  /** The engine's newest reading, with curves. */
  engine = $state.raw<Reading | null>(null);
  /** What the person asked for; none: as their role has it. */
  blindAsked = $state<boolean | null>(null);
  drafts = $state<Record<number, Draft>>({});
  place = $state(1);
  zoom = $state<number | null>(null);
  problem = $state("");
  trouble = $state("");
  busy = $state(false);
  /** The tube whose decision waits for a reason. */
  reasonFor = $state<number | null>(null);
  work = $state.raw<Work | null>(null);
  player: Player;

  constructor(
    readonly id: string,
    private readonly meId: () => string,
  ) {
    this.player = new Player((index, signal) => api.picture(id, index, signal));
  }

  /** Temperature, time and number of the picture that is shown, which may lag behind the cursor. */
  get temperatureText(): string {
    const c = this.frames?.temperature_c[this.player.shownIndex] ?? null;
    return c === null ? words.unknownTemperature : celsius(c, 2);
  }
  get timeText(): string {
    return clock(this.frames?.time_s[this.player.shownIndex] ?? 0);
  }
  get frameText(): string {
    return words.frameOf(this.player.shownIndex + 1, this.player.cursor.times_s.length);
  }

  get blind(): boolean {
    return this.detail?.blind ?? false;
  }
  /** Whether an opinion is kept back until this person has read. */
  get hides(): boolean {
    return this.engine?.hidden ?? (this.blind && !this.own);
  }
  /** This person's own newest reading. */
  get own(): Reading | null {
    const me = this.meId();
    return (
      this.detail?.readings.find((one) => one.reader.by === "person" && one.reader.person === me) ?? null
    );
  }
  /** Whether the person marks all tubes and sends them as a reading, rather than decide on the engine's. */
  get readsAlone(): boolean {
    return this.hides || !this.engine;
  }
  get places(): number[] {
    const read = this.engine?.tubes.map((tube) => tube.place) ?? [];
    const loaded = this.detail?.row.load.map((tube) => tube.place) ?? [];
    const all = read.length ? read : loaded;
    return all.length ? all : [1];
  }
  tube(place: number): Tube | undefined {
    return this.engine?.tubes.find((tube) => tube.place === place);
  }
  label(place: number): string | null {
    return this.detail?.row.load.find((tube) => tube.place === place)?.label ?? null;
  }
  draft(place: number): Draft {
    return this.drafts[place] ?? drafts.emptyDraft();
  }

  /** Moments that hold, as far as they may be seen, and what was marked, in order of time. */
  get stops(): Stop[] {
    const times = this.frames?.time_s ?? [];
    const stops: Stop[] = [];
    for (const place of this.places) {
      const holds = this.tube(place)?.holds;
      if (holds?.first_liquid) stops.push({ place, end: "first", time_s: holds.first_liquid.time_s });
      if (holds?.last_crystal) stops.push({ place, end: "last", time_s: holds.last_crystal.time_s });
      const { first, last } = this.draft(place);
      if (first && first !== "not_seen") stops.push({ place, end: "first", time_s: times[first.frame] ?? 0 });
      if (last && last !== "not_seen") stops.push({ place, end: "last", time_s: times[last.frame] ?? 0 });
    }
    return stops.sort((a, b) => a.time_s - b.time_s);
  }

  async refresh(): Promise<void> {
    try {
      const detail = await api.recording(this.id, this.blindAsked ?? undefined);
      const engine = detail.readings.find((one) => one.reader.by === "engine");
      const full = engine ? await api.reading(engine.id, this.blindAsked ?? undefined) : null;
      this.detail = detail;
      this.engine = full;
      this.work = detail.work;
      if (!this.places.includes(this.place)) this.place = this.places[0] ?? 1;
      if (!this.frames && detail.pictures === "ready") {
        this.frames = await api.frameTimes(this.id);
        this.player.cursor.load(this.frames.time_s, this.frames.temperature_c);
      }
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  async setBlind(blind: boolean): Promise<void> {
    this.blindAsked = blind;
    await this.refresh();
  }

  jump(way: 1 | -1): void {
    const now = this.player.cursor.time_s;
    const all = this.stops;
    // A moment seldom falls on a picture: what lies under the cursor counts as passed.
    const gap = 1e-3 + this.frameGap / 2;
    const next = way > 0 ? all.find((one) => one.time_s > now + gap) : all.findLast((one) => one.time_s < now - gap);
    if (next) this.goTo(next.time_s, next.place);
  }
  goTo(time_s: number, place: number): void {
    this.player.cursor.hold();
    this.place = place;
    this.player.cursor.toTime(time_s);
  }
  get frameGap(): number {
    const { cursor } = this.player;
    return ((cursor.times_s[cursor.last] ?? 0) - (cursor.times_s[0] ?? 0)) / Math.max(1, cursor.last);
  }

  mark(place: number, end: End, seen: boolean): void {
    const mark = seen ? { frame: this.player.shownIndex } : ("not_seen" as const);
    this.drafts[place] = { ...this.draft(place), [end]: mark };
    this.trouble = "";
  }
  setOutcome(place: number, outcome: Outcome | null): void {
    this.drafts[place] = { ...this.draft(place), outcome };
  }
  clear(place: number): void {
    delete this.drafts[place];
    this.trouble = "";
  }
  /** Words for an outcome to choose. */
  readonly outcomeWords = outcomeWords;

  /** How many tubes are still to be marked before a reading of one's own can be sent. */
  get unmarked(): number {
    return this.places.filter((place) => drafts.fault(this.draft(place)) !== null).length;
  }

  /** Confirms the engine's moments of a tube, or records the marked ones; asks for a reason where they differ. */
  async decide(place: number, reason?: string): Promise<void> {
    // One who is quicker than the disk is not left out: the next decision waits for the one before.
    await this.#writing;
    const read = this.tube(place)?.read;
    const engine = this.engine;
    if (!engine || !read || this.readsAlone) return;
    const draft = this.draft(place);
    const times = this.frames?.time_s ?? [];
    const own = !drafts.isEmpty(draft);
    const fault = own ? drafts.fault(drafts.completed(draft, read, times)) : null;
    if (fault) {
      this.trouble = words.faults.tube(place, fault);
      return;
    }
    if (own && drafts.needsReason(draft, read, times) && !reason?.trim()) {
      this.reasonFor = place;
      return;
    }
    await this.#write(async () => {
      await api.decide(
        engine.id,
        own ? drafts.decision(place, draft, read, times, reason ?? "") : { place, says: "confirm" },
      );
      this.clear(place);
      this.reasonFor = null;
      const open = this.engineOpenPlaces.filter((one) => one !== place);
      if (open[0] !== undefined && this.place === place) this.place = open[0];
    });
  }
  get engineOpenPlaces(): number[] {
    return this.places.filter((place) => !this.tube(place)?.decision);
  }

  /** Sends the marks of all tubes as this person's reading. */
  async send(): Promise<void> {
    if (!this.readsAlone || this.busy) return;
    for (const place of this.places) {
      const fault = drafts.fault(this.draft(place));
      if (fault) {
        this.place = place;
        this.trouble = words.faults.tube(place, fault);
        return;
      }
    }
    await this.#write(async () => {
      await api.addReading(this.id, {
        tubes: this.places.map((place) => drafts.seenTube(place, this.draft(place))),
      });
      this.drafts = {};
    });
  }

  async letEngineRead(): Promise<void> {
    await this.#write(async () => {
      this.work = await api.readByEngine(this.id);
    });
  }

  #writing: Promise<void> = Promise.resolve();

  #write(act: () => Promise<void>): Promise<void> {
    this.#writing = this.#writing.then(() => this.#perform(act));
    return this.#writing;
  }

  async #perform(act: () => Promise<void>): Promise<void> {
    this.busy = true;
    this.trouble = "";
    try {
      await act();
      await this.refresh();
    } catch (error) {
      this.trouble = wordsOf(error);
    }
    this.busy = false;
  }

  hear(work: Work): void {
    if (work.recording !== this.id) return;
    this.work = work;
    if (work.state === "done" || work.state === "failed") void this.refresh();
  }

  close(): void {
    this.player.close();
  }
}
