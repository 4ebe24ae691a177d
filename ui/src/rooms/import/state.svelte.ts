import * as api from "../../api/client";
import { live } from "../../api/live.svelte";
import { wordsOf } from "../../api/problem";
import { thermometers } from "../../api/thermometers";
import type { LogSeries, SampleRow, ThermometerRow, Upload, UploadedVideo, Work } from "../../api/types";
import { nearest } from "../../parts/cursor.svelte";
import { importing as words } from "../../words/import";
import { Alignment } from "./alignment.svelte";

/** Small pictures along the video. */
const THUMBNAILS = 8;
/** Suggestions while a label is typed. */
const SUGGESTED = 12;

/** A file on its way to the program. */
export class Sent<T> {
  file = $state.raw<File | null>(null);
  fraction = $state(0);
  upload = $state.raw<Upload | null>(null);
  content = $state.raw<T | null>(null);
  problem = $state("");
  #stop: AbortController | undefined;

  constructor(private readonly look: (upload: string) => Promise<T>) {}

  /** Sends a file in place of the one before, and asks what it holds. */
  async take(file: File): Promise<T | null> {
    this.drop();
    const stop = new AbortController();
    this.#stop = stop;
    this.file = file;
    try {
      const upload = await api.upload(file, (fraction) => (this.fraction = fraction), stop.signal);
      if (stop.signal.aborted) return null;
      this.upload = upload;
      this.content = await this.look(upload.id);
      return stop.signal.aborted ? null : this.content;
    } catch (error) {
      if (!stop.signal.aborted) this.problem = wordsOf(error);
      return null;
    }
  }

  /** Stops what is on its way and forgets what was sent. */
  drop(): void {
    this.#stop?.abort();
    if (this.upload && !this.taken) void api.removeUpload(this.upload.id).catch(() => {});
    this.file = null;
    this.fraction = 0;
    this.upload = null;
    this.content = null;
    this.problem = "";
    this.taken = false;
  }

  /** Whether the book has it now. */
  taken = false;
}

export interface Loaded {
  label: string;
  sample: SampleRow | null;
}

export class ImportState {
  video = new Sent<UploadedVideo>((upload) => api.previewVideo(upload));
  log = new Sent<LogSeries>((upload) => api.previewLog(upload));
  alignment = new Alignment();
  thumbnails = $state.raw<{ time_s: number; url: string }[]>([]);
  tubes = $state<Loaded[]>([1, 2, 3].map(() => ({ label: "", sample: null })));
  places = $state(3);
  remarks = $state("");
  /** Id of the bench that the recording was made at; its calibration is then applied. Empty when not known. */
  bench = $state("");
  benches = $state.raw<ThermometerRow[]>([]);
  suggestions = $state.raw<SampleRow[]>([]);
  trouble = $state("");
  busy = $state(false);
  orderId = $state("");
  #ordered = $state.raw<Work | null>(null);

  /** The import that was begun here, as last told. */
  get work(): Work | null {
    return live.work[this.orderId] ?? this.#ordered;
  }

  /** Asks which benches there are; without them the recording is one from elsewhere. */
  async askBenches(): Promise<void> {
    try {
      this.benches = (await thermometers()).rows;
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  async takeVideo(file: File): Promise<void> {
    this.#forgetThumbnails();
    const info = await this.video.take(file);
    if (!info) return;
    this.alignment.video = { from_s: info.start_s, to_s: info.end_s };
    this.alignment.look((info.start_s + info.end_s) / 2);
    await this.#fetchThumbnails(info);
  }

  async takeLog(file: File): Promise<void> {
    const series = await this.log.take(file);
    if (!series) return;
    this.alignment.log = { from_s: series.time_s[0] ?? 0, to_s: series.time_s.at(-1) ?? 0 };
  }

  /** Sorts dropped files by what they look like: a log is text. */
  async take(files: Iterable<File>): Promise<void> {
    const all = [...files].map((file) =>
      /\.(csv|txt|tsv)$/i.test(file.name) || file.type.startsWith("text/") ? this.takeLog(file) : this.takeVideo(file),
    );
    await Promise.all(all);
  }

  async #fetchThumbnails(info: UploadedVideo): Promise<void> {
    const step = (info.end_s - info.start_s) / THUMBNAILS;
    for (let i = 0; i < THUMBNAILS; i += 1) {
      if (this.video.upload?.id !== info.upload.id) return;
      const time_s = info.start_s + (i + 0.5) * step;
      try {
        const blob = await api.previewPicture(info.upload.id, time_s);
        if (this.video.upload?.id !== info.upload.id) return;
        this.thumbnails = [...this.thumbnails, { time_s, url: URL.createObjectURL(blob) }];
      } catch {
        // One picture less in the strip; what cannot be read at all is said by the preview.
      }
    }
  }
  #forgetThumbnails(): void {
    for (const one of this.thumbnails) URL.revokeObjectURL(one.url);
    this.thumbnails = [];
  }

  /** The row logged nearest to the picture looked at [°C]; null outside the log. */
  get temperatureAtLook(): number | null {
    const series = this.log.content;
    const at = this.alignment.lookOnLog_s;
    const span = this.alignment.log;
    if (!series || !span || at < span.from_s || at > span.to_s) return null;
    return series.temperature_c[nearest(series.time_s, at)] ?? null;
  }

  async typeLabel(place: number, label: string): Promise<void> {
    const tube = this.tubes[place - 1];
    if (!tube) return;
    tube.label = label;
    tube.sample = null;
    try {
      const found = await api.samples({ text: label.trim(), per_page: SUGGESTED });
      if (tube.label !== label) return;
      this.suggestions = found.rows;
      tube.sample = found.rows.find((row) => row.label.toLowerCase() === label.trim().toLowerCase()) ?? null;
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  async addSample(place: number): Promise<void> {
    const tube = this.tubes[place - 1];
    if (!tube?.label.trim()) return;
    try {
      tube.sample = (await api.addSample({ label: tube.label.trim() })).row;
      this.trouble = "";
    } catch (error) {
      this.trouble = wordsOf(error);
    }
  }

  /** What is still missing before the import can begin; null when nothing is. */
  get missing(): string | null {
    if (!this.video.content) return words.missing.video;
    if (!this.log.content) return words.missing.log;
    if (!this.alignment.overlap) return words.missing.overlap;
    const unknown = this.tubes.slice(0, this.places).findIndex((tube) => tube.label.trim() !== "" && !tube.sample);
    if (unknown >= 0) return words.missing.sample(unknown + 1);
    return null;
  }

  async begin(): Promise<void> {
    const { video, log } = this;
    if (this.missing || !video.upload || !log.upload) return;
    this.busy = true;
    this.trouble = "";
    try {
      const work = await api.importRecording({
        video: video.upload.id,
        log: log.upload.id,
        video_start_s: this.alignment.start_s,
        tubes: this.tubes
          .slice(0, this.places)
          .map((tube, i) => ({ place: i + 1, sample: tube.sample?.id ?? null })),
        remarks: this.remarks.trim() || null,
        bench: this.bench || null,
        read: true,
      });
      video.taken = true;
      log.taken = true;
      this.#ordered = work;
      this.orderId = work.id;
    } catch (error) {
      this.trouble = wordsOf(error);
    }
    this.busy = false;
  }

  /** Back to an empty page. */
  again(): void {
    this.#forgetThumbnails();
    this.video.drop();
    this.log.drop();
    this.alignment = new Alignment();
    this.tubes = [1, 2, 3].map(() => ({ label: "", sample: null }));
    this.remarks = "";
    this.orderId = "";
    this.#ordered = null;
    this.trouble = "";
  }

  close(): void {
    if (!this.orderId) {
      this.video.drop();
      this.log.drop();
    }
    this.#forgetThumbnails();
  }
}
