/** Calls the person to the bench: by sound, in the window's title and, where allowed, by a notice. */

/** Between two calls of the same kind [ms]. */
const AGAIN_MS = 8000;
const FLASH_MS = 900;

/** Tones of a call [Hz], each so long [s]: rising asks the person to come, falling says that something is wrong. */
const TONES = { attend: [660, 880, 1100], fault: [880, 620, 880, 620] } as const;
const TONE_S = 0.18;
const LOUDNESS = 0.25;

export type CallKind = keyof typeof TONES;

export class Caller {
  sound = $state(true);
  kind = $state<CallKind | null>(null);
  /** What the browser says of notices. */
  notices = $state<NotificationPermission | "none">(typeof Notification === "undefined" ? "none" : Notification.permission);
  #audio: AudioContext | undefined;
  #again: ReturnType<typeof setInterval> | undefined;
  #flash: ReturnType<typeof setInterval> | undefined;
  #title = "";
  #notice: Notification | undefined;

  /** Makes ready to sound. Browsers allow it only after the person did something on the page. */
  arm(): void {
    if (this.#audio || typeof AudioContext === "undefined") return;
    this.#audio = new AudioContext();
    void this.#audio.resume().catch(() => {});
  }

  async allowNotices(): Promise<void> {
    if (typeof Notification === "undefined") return;
    this.notices = await Notification.requestPermission();
  }

  /** Begins to call, until ended; a call of the same kind goes on. */
  call(kind: CallKind, title: string, text: string): void {
    if (this.kind === kind) return;
    this.end();
    this.kind = kind;
    this.#ring();
    this.#again = setInterval(() => this.#ring(), AGAIN_MS);
    this.#title = document.title;
    let shown = false;
    const turn = () => {
      shown = !shown;
      document.title = shown ? `● ${title}` : this.#title;
    };
    turn();
    this.#flash = setInterval(turn, FLASH_MS);
    if (this.notices === "granted") {
      try {
        this.#notice = new Notification(title, { body: text, tag: `meltrange-${kind}` });
      } catch {
        // Some tablets allow notices from service workers only.
      }
    }
  }

  end(): void {
    if (this.kind === null) return;
    this.kind = null;
    clearInterval(this.#again);
    clearInterval(this.#flash);
    document.title = this.#title;
    this.#notice?.close();
    this.#notice = undefined;
  }

  close(): void {
    this.end();
    void this.#audio?.close().catch(() => {});
    this.#audio = undefined;
  }

  #ring(): void {
    const audio = this.#audio;
    if (!this.sound || !audio || this.kind === null) return;
    TONES[this.kind].forEach((hertz, i) => {
      const from = audio.currentTime + i * TONE_S * 1.25;
      const tone = audio.createOscillator();
      const loud = audio.createGain();
      tone.frequency.value = hertz;
      loud.gain.setValueAtTime(0, from);
      loud.gain.linearRampToValueAtTime(LOUDNESS, from + 0.02);
      loud.gain.linearRampToValueAtTime(0, from + TONE_S);
      tone.connect(loud).connect(audio.destination);
      tone.start(from);
      tone.stop(from + TONE_S);
    });
  }
}
