import * as api from "../../api/client";
import { wordsOf } from "../../api/problem";
import type { AgreementRun, SampleContent, SampleDetail, SampleTube } from "../../api/types";

/** Readings of one run of the sample. */
export interface RunOfSample {
  id: string;
  /** 1.. in order of time, as far as this page knows. */
  number: number;
  recording: string;
  tubes: SampleTube[];
  agreement: AgreementRun | undefined;
}

/** Groups the tubes by run, the oldest run first. The list of recordings (newest first) gives the order. */
export function runsOf(detail: SampleDetail): RunOfSample[] {
  return [...detail.recordings].reverse().map((recording, i) => ({
    id: recording.run,
    number: i + 1,
    recording: recording.id,
    tubes: detail.tubes.filter((tube) => tube.recording === recording.id),
    agreement: detail.agreement?.runs.find((run) => run.run === recording.run),
  }));
}

export class SampleState {
  detail = $state.raw<SampleDetail | null>(null);
  problem = $state("");
  editing = $state(false);

  constructor(private readonly id: string) {}

  get runs(): RunOfSample[] {
    return this.detail ? runsOf(this.detail) : [];
  }

  async refresh(): Promise<void> {
    try {
      this.detail = await api.sample(this.id);
      this.problem = "";
    } catch (error) {
      this.problem = wordsOf(error);
    }
  }

  async save(sample: SampleContent, reason: string): Promise<void> {
    if (!this.detail) return;
    await api.reviseSample(this.id, { supersedes: this.detail.record, sample, reason: reason || null });
    this.editing = false;
    await this.refresh();
  }
}
