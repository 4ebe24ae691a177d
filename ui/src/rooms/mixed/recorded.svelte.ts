import * as client from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { RecordingRow } from "../../api/types";
import * as api from "../../api/verdicts";
import { Latest } from "../../parts/latest";
import type { TubeName } from "./state.svelte";

/** So many recordings are looked through, the newest first. */
const LOOKED_THROUGH = 200;

/** Which place holds what; each place once. */
export class Roles {
  places = $state<Record<TubeName, number>>({ sample: 1, reference: 2, mixture: 3 });

  /** What stood in the place that is taken goes where this one was. */
  set(name: TubeName, place: number): void {
    const before = this.places[name];
    for (const other of ["sample", "reference", "mixture"] as const) {
      if (other !== name && this.places[other] === place) this.places[other] = before;
    }
    this.places[name] = place;
  }

  get request(): api.MixedTubes {
    const { sample, reference, mixture } = this.places;
    return { sample_place: sample, reference_place: reference, mixture_place: mixture };
  }
}

/** Whether sample, reference and mixture can have stood in it; three tubes of one sample are no mixed melting. */
export const holdsThree = (row: RecordingRow): boolean =>
  row.load.length >= 3 && !(row.load[0]?.sample && row.load.every((tube) => tube.sample === row.load[0]?.sample));

/** Three tubes out of a recording of the book. */
export class RecordedTubes {
  recordings = $state.raw<RecordingRow[] | null>(null);
  chosen = $state("");
  readonly roles = new Roles();
  judged = $state.raw<api.MixedTubesJudged | null>(null);
  problem = $state("");
  readonly #latest = new Latest(0);

  /** `got` is told what the tubes are; null while that is not known. */
  constructor(private readonly got: (judged: api.MixedTubesJudged | null) => void) {}

  async load(): Promise<void> {
    try {
      const found = await client.recordings({ state: "read", per_page: LOOKED_THROUGH });
      this.recordings = found.rows.filter(holdsThree);
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }
  close(): void {
    this.#latest.drop();
  }
  get row(): RecordingRow | null {
    return this.recordings?.find((one) => one.id === this.chosen) ?? null;
  }

  /** What stands on the vial of the sample in the place that is chosen. */
  get sampleLabel(): string {
    return this.row?.load.find((tube) => tube.place === this.roles.places.sample)?.label ?? "";
  }

  change(): void {
    this.judged = null;
    this.problem = "";
    this.got(null);
    if (!this.chosen) {
      this.#latest.drop();
      return;
    }
    const { chosen } = this;
    const { request } = this.roles;
    this.#latest.soon(
      (signal) => api.judgeRecording(chosen, request, signal),
      (judged) => {
        this.judged = judged;
        this.got(judged);
      },
      (error) => (this.problem = wordsOf(error)),
    );
  }
}
