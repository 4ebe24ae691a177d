/** Steps on their way to the program. Each is kept on this device before it is sent, goes out in order, and leaves when the
 * program has answered: nothing that was done is lost to a weak network or a page that was closed. A step that arrives
 * twice is recorded once, because it carries its own id; so two pages of one device may both send. */
import { send } from "./client";
import { Problem, wordsOf } from "./problem";

/** One step that was done. */
export interface KeptStep {
  id: string;
  /** Where it goes, below `/api/`. */
  path: string;
  /** Who did it. */
  person: string;
  /** When it was done, by the clock of this device. */
  done: string;
  /** Whether the program is told when it was done, where it comes later than that. */
  timed: boolean;
  step: { what: string };
  /** Why the program did not take it; empty while it waits. */
  refused: string;
}

/** A step and the name under which it is kept; the order of the names is that of the steps. */
interface Row {
  key: string;
  kept: KeptStep;
}

const PREFIX = "meltrange.step.";
/** A try takes so long at most [ms]. */
const TRY_MS = 15_000;
/** Waits between tries [ms]. */
const FIRST_WAIT_MS = 300;
const LONGEST_WAIT_MS = 5000;
/** Sent within this of being done, the time of its coming is its time: clocks of phones go wrong [ms]. */
const AT_ONCE_MS = 2000;
/** So often the program may fail with one step before those behind it go on. */
const MOST_FAILURES = 8;
/** No answer, nobody logged in, too many at once: as good tomorrow as today. */
const AGAIN = [0, 401, 408, 425, 429];

/** What became of a try. */
type Outcome = { what: "taken"; answer: unknown } | { what: "again"; wait_ms: number | null } | { what: "refused"; why: string };

/** The step of the device's store, where it can be read. */
function read(key: string): Row | null {
  try {
    const kept = JSON.parse(localStorage.getItem(key) ?? "") as Partial<KeptStep> | null;
    if (typeof kept?.id !== "string" || typeof kept.path !== "string" || !kept.step) return null;
    return { key, kept: { person: "", done: "", timed: false, refused: "", ...kept } as KeptStep };
  } catch {
    return null;
  }
}

export class Outbox {
  #rows = $state.raw<Row[]>([]);
  /** Steps that the device does not keep: no room, or storing is forbidden. */
  #unkept = $state.raw<Row[]>([]);
  /** Why the last try came to nothing; empty when all goes well. */
  trouble = $state("");
  /** Who is logged in: null where nobody has to, empty where nobody is or it is not known yet. */
  #loggedIn = $state<string | null>("");
  #hearers = new Set<{ path: string; hear: (answer: unknown) => void }>();
  #working = false;
  #wake = () => {};
  #failures = new Map<string, number>();

  /** All that are in the box, in the order in which they were done. */
  get #all(): Row[] {
    return [...this.#rows, ...this.#unkept].sort((a, b) => (a.key < b.key ? -1 : 1));
  }
  get waiting(): KeptStep[] {
    return this.#all.filter(({ kept }) => !kept.refused).map(({ kept }) => kept);
  }
  get refused(): KeptStep[] {
    return this.#all.filter(({ kept }) => kept.refused).map(({ kept }) => kept);
  }
  /** Steps that would be lost with this page. */
  get atRisk(): number {
    return this.#unkept.length;
  }
  /** Those of somebody who is not logged in any more: they wait for them. */
  get held(): KeptStep[] {
    return this.waiting.filter((kept) => !this.#mayGo(kept));
  }

  /** Begins to send what is in the box, now and whenever the network is back; what this returns ends that. */
  start(): () => void {
    const again = () => this.kick();
    const seen = () => document.visibilityState === "visible" && this.kick();
    window.addEventListener("online", again);
    window.addEventListener("storage", again);
    document.addEventListener("visibilitychange", seen);
    this.kick();
    return () => {
      window.removeEventListener("online", again);
      window.removeEventListener("storage", again);
      document.removeEventListener("visibilitychange", seen);
    };
  }

  /** From now on this person is logged in; null where nobody has to be. */
  actsAs(loggedIn: string | null): void {
    if (this.#loggedIn === loggedIn) return;
    this.#loggedIn = loggedIn;
    this.kick();
  }

  /** Puts a step in, and sends it as soon as those before it are gone. Gives its id. */
  put(path: string, person: string, step: { what: string }, timed = false): string {
    const kept: KeptStep = { id: crypto.randomUUID(), path, person, done: new Date().toISOString(), timed, step, refused: "" };
    this.#look();
    const last = Number(this.#all.at(-1)?.key.slice(PREFIX.length, PREFIX.length + 16) ?? 0);
    // By time, and never before one that is in the box already, whatever the clock does.
    const key = `${PREFIX}${String(Math.max(Date.now(), last + 1)).padStart(16, "0")}.${kept.id}`;
    this.#keep({ key, kept });
    this.kick();
    return kept.id;
  }

  /** Hears the program's answers to steps that went to an address. Returns what ends it. */
  hear(path: string, hear: (answer: unknown) => void): () => void {
    const one = { path, hear };
    this.#hearers.add(one);
    return () => this.#hearers.delete(one);
  }

  /** Takes a step that was refused out of the box. */
  dismiss(step: string): void {
    const row = this.#all.find(({ kept }) => kept.id === step);
    if (row) this.#drop(row.key);
  }

  /** Sends a step that was refused once more, in its old place. */
  tryAgain(step: string): void {
    const row = this.#all.find(({ kept }) => kept.id === step);
    if (!row) return;
    this.#failures.delete(step);
    this.#keep({ key: row.key, kept: { ...row.kept, refused: "" } });
    this.kick();
  }

  /** Tries at once, whatever it waited for. */
  kick(): void {
    this.#look();
    this.#wake();
    void this.#work();
  }

  #mayGo(kept: KeptStep): boolean {
    return this.#loggedIn === null || this.#loggedIn === kept.person;
  }

  /** Looks at the store anew: another page of this device may have changed it. */
  #look(): void {
    try {
      const keys = Object.keys(localStorage).filter((key) => key.startsWith(PREFIX));
      this.#rows = keys.flatMap((key) => read(key) ?? []);
    } catch {
      // A browser that forbids storing: only what the page holds itself.
      this.#rows = [];
    }
  }

  #keep(row: Row): void {
    const others = this.#unkept.filter(({ key }) => key !== row.key);
    try {
      localStorage.setItem(row.key, JSON.stringify(row.kept));
      this.#unkept = others;
    } catch {
      this.#unkept = [...others, row];
    }
    this.#look();
  }

  #drop(key: string): void {
    try {
      localStorage.removeItem(key);
    } catch {
      // Then it was never kept there.
    }
    this.#unkept = this.#unkept.filter((row) => row.key !== key);
    this.#look();
  }

  async #work(): Promise<void> {
    if (this.#working) return;
    this.#working = true;
    let tries = 0;
    for (;;) {
      const row = this.#all.find(({ kept }) => !kept.refused && this.#mayGo(kept));
      if (!row) break;
      const outcome = await this.#try(row.kept);
      if (outcome.what === "again") {
        const wait_ms = outcome.wait_ms ?? Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** tries);
        tries += 1;
        await this.#rest(wait_ms);
        this.#look();
        continue;
      }
      tries = 0;
      this.trouble = "";
      this.#failures.delete(row.kept.id);
      if (outcome.what === "refused") {
        // Taken out meanwhile, here or on another page: then nobody waits for it.
        this.#look();
        if (this.#all.some(({ key }) => key === row.key)) this.#keep({ key: row.key, kept: { ...row.kept, refused: outcome.why } });
      } else {
        this.#drop(row.key);
        for (const one of this.#hearers) if (one.path === row.kept.path) one.hear(outcome.answer);
      }
    }
    this.trouble = "";
    this.#working = false;
  }

  async #try(kept: KeptStep): Promise<Outcome> {
    const late = Date.now() - Date.parse(kept.done) > AT_ONCE_MS;
    const body = { id: kept.id, ...(kept.timed ? { at: late ? kept.done : null } : {}), step: kept.step };
    try {
      const answer = await send(kept.path, {
        method: "POST",
        headers: { "content-type": "application/json", ...(this.#loggedIn === null && kept.person ? { "x-person": kept.person } : {}) },
        body: JSON.stringify(body),
        signal: AbortSignal.timeout(TRY_MS),
      });
      return { what: "taken", answer: (await answer.json()) as unknown };
    } catch (error) {
      return this.#failed(kept, error);
    }
  }

  #failed(kept: KeptStep, error: unknown): Outcome {
    const words = wordsOf(error);
    const status = error instanceof Problem ? error.status : 0;
    if (status > 0 && status < 500 && !AGAIN.includes(status)) return { what: "refused", why: words };
    this.trouble = words;
    if (status >= 500) {
      const failures = (this.#failures.get(kept.id) ?? 0) + 1;
      this.#failures.set(kept.id, failures);
      if (failures >= MOST_FAILURES) return { what: "refused", why: words };
    }
    const wait_s = error instanceof Problem ? error.wait_s : null;
    return { what: "again", wait_ms: wait_s === null ? null : wait_s * 1000 };
  }

  #rest(wait_ms: number): Promise<void> {
    return new Promise((done) => {
      const timer = setTimeout(done, wait_ms);
      this.#wake = () => {
        clearTimeout(timer);
        this.#wake = () => {};
        done();
      };
    });
  }
}

export const outbox = new Outbox();
