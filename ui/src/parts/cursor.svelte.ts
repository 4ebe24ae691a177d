/** One time cursor over the pictures of a recording, shared by picture, curves and filmstrip. */

/** Playing speeds, as a multiple of real time. */
export const SPEEDS = [1, 2, 4, 8, 16, 32, 64] as const;

/** Width of a temperature step [°C]. */
export const TEMPERATURE_STEP_C = 0.1;

/** Index of the last value that is not above `wanted`; 0 when all are. `values` ascend. */
export function lastAtOrBefore(values: readonly number[], wanted: number): number {
  let low = 0;
  let high = values.length - 1;
  while (low < high) {
    const middle = (low + high + 1) >> 1;
    if ((values[middle] ?? Infinity) <= wanted) low = middle;
    else high = middle - 1;
  }
  return low;
}

/** Index of the value nearest to `wanted`. `values` ascend. */
export function nearest(values: readonly number[], wanted: number): number {
  const before = lastAtOrBefore(values, wanted);
  const after = Math.min(before + 1, values.length - 1);
  const a = Math.abs((values[before] ?? 0) - wanted);
  const b = Math.abs((values[after] ?? 0) - wanted);
  return b < a ? after : before;
}

/**
 * The frame one temperature step on from `index`.
 *
 * Steps lie on whole multiples of 0.1 °C, so that going there and back ends where it began. The search
 * runs in the order of time: forward to the first frame that reaches the next step up, backward to the
 * last one that is down at the next step below, or to its neighbour on this side where that is nearer.
 * Always at least one frame; the end of the recording where no frame gets there.
 */
export function temperatureStep(
  temperatures_c: readonly (number | null)[],
  index: number,
  direction: 1 | -1,
): number {
  const last = temperatures_c.length - 1;
  const here = known(temperatures_c, index);
  if (here === null) return clamp(index + direction, last);
  const target_c = (Math.round(here / TEMPERATURE_STEP_C) + direction) * TEMPERATURE_STEP_C;
  for (let i = index + direction; i >= 0 && i <= last; i += direction) {
    const t = temperatures_c[i];
    if (t === null || t === undefined) continue;
    const reached = direction > 0 ? t >= target_c - 1e-9 : t <= target_c + 1e-9;
    if (!reached) continue;
    const beside = i - direction;
    const besideT = temperatures_c[beside];
    const nearer =
      beside !== index &&
      besideT !== null &&
      besideT !== undefined &&
      Math.abs(besideT - target_c) < Math.abs(t - target_c);
    return nearer ? beside : i;
  }
  return direction > 0 ? last : 0;
}

function known(values: readonly (number | null)[], index: number): number | null {
  return values[index] ?? null;
}

function clamp(index: number, last: number): number {
  return Math.max(0, Math.min(last, index));
}

export class TimeCursor {
  /** Of each picture, log clock [s], ascending. */
  times_s = $state.raw<readonly number[]>([]);
  /** Of each picture, as logged [°C]; null where nothing was logged. */
  temperatures_c = $state.raw<readonly (number | null)[]>([]);
  index = $state(0);
  speed = $state<number>(8);
  playing = $state(false);
  /** Which way the last move went: prefetching looks there first. */
  direction: 1 | -1 = 1;

  #position_s = 0;

  get last(): number {
    return Math.max(0, this.times_s.length - 1);
  }
  get time_s(): number {
    return this.times_s[this.index] ?? 0;
  }
  get temperature_c(): number | null {
    return known(this.temperatures_c, this.index);
  }

  load(times_s: readonly number[], temperatures_c: readonly (number | null)[]): void {
    this.times_s = times_s;
    this.temperatures_c = temperatures_c;
    this.index = Math.min(this.index, this.last);
    this.#position_s = this.time_s;
  }

  toIndex(index: number): void {
    const next = clamp(Math.round(index), this.last);
    if (next !== this.index) this.direction = next > this.index ? 1 : -1;
    this.index = next;
    this.#position_s = this.time_s;
  }

  toTime(time_s: number): void {
    this.toIndex(nearest(this.times_s, time_s));
  }

  stepFrames(n: number): void {
    this.toIndex(this.index + n);
  }

  /** At least one frame, also where pictures are farther apart than the step. */
  stepSeconds(seconds: number): void {
    const next = nearest(this.times_s, this.time_s + seconds);
    this.toIndex(next === this.index ? this.index + Math.sign(seconds) : next);
  }

  stepTemperature(direction: 1 | -1): void {
    this.toIndex(temperatureStep(this.temperatures_c, this.index, direction));
  }

  toStart(): void {
    this.toIndex(0);
  }
  toEnd(): void {
    this.toIndex(this.last);
  }

  /** Play or hold; from the end it begins again. */
  togglePlay(): void {
    if (!this.playing && this.index >= this.last) this.toStart();
    this.playing = !this.playing && this.times_s.length > 1;
    this.#position_s = this.time_s;
  }

  hold(): void {
    this.playing = false;
  }

  faster(): void {
    this.speed = SPEEDS[Math.min(SPEEDS.length - 1, this.#rung() + 1)] ?? this.speed;
  }
  slower(): void {
    this.speed = SPEEDS[Math.max(0, this.#rung() - 1)] ?? this.speed;
  }

  /** Moves a playing cursor on by so much time on the wall [s]. */
  advance(wall_s: number): void {
    if (!this.playing) return;
    this.#position_s += wall_s * this.speed;
    const index = lastAtOrBefore(this.times_s, this.#position_s);
    if (index > this.index) {
      this.direction = 1;
      this.index = index;
    }
    if (this.index >= this.last) this.playing = false;
  }

  #rung(): number {
    return Math.max(0, (SPEEDS as readonly number[]).indexOf(this.speed));
  }
}
