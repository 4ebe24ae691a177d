/** Geometry of the planned curve, and what dragging its handles means. */
import type { CurvePoint, LegKind } from "../../api/live";

/** Handles move in these steps. */
export const STEP_C = 0.5;
export const STEP_MIN = 0.5;
/** With Page Up and Page Down they move so many steps. */
const LEAP = 4;
/** Longest soak that a handle sets [min]; the field takes more. */
const LONGEST_SOAK_MIN = 60;
/** Widest margin that a handle sets [°C]. */
const WIDEST_C = 60;

export interface Frame {
  /** Drawn from and to [min]. */
  time: readonly [number, number];
  /** Drawn from and to [°C]. */
  warm: readonly [number, number];
}

/** All of the curve, with some room above and below. */
export function frameOf(curve: readonly CurvePoint[], also_c: readonly number[] = []): Frame {
  const warm = [...curve.map((point) => point.temperature_c), ...also_c];
  const low = Math.min(...warm);
  const high = Math.max(...warm);
  const room = Math.max(2, (high - low) * 0.08);
  return { time: [0, Math.max(1, ...curve.map((point) => point.time_min))], warm: [low - room, high + room] };
}

export interface Stretch {
  leg: number;
  kind: LegKind;
  points: CurvePoint[];
  from_min: number;
  to_min: number;
}

/** The curve leg by leg; legs without a length on the clock are left out. */
export function stretches(curve: readonly CurvePoint[], kinds: readonly LegKind[]): Stretch[] {
  return kinds.flatMap((kind, leg) => {
    const points = curve.filter((point) => point.leg === leg);
    const first = points[0];
    const last = points.at(-1);
    if (!first || !last || last.time_min - first.time_min <= 0) return [];
    return [{ leg, kind, points, from_min: first.time_min, to_min: last.time_min }];
  });
}

/** Where a leg ends on the curve. */
export function endOf(curve: readonly CurvePoint[], leg: number): CurvePoint | null {
  return curve.findLast((point) => point.leg === leg) ?? null;
}

const snapped = (value: number, step: number) => Math.round(value / step) * step;
const within = (value: number, least: number, most: number) => Math.min(most, Math.max(least, value));

/** The scan begins at this temperature: so far below the first liquid. */
export const belowFrom = (first_c: number, at_c: number) => within(snapped(first_c - at_c, STEP_C), 0, WIDEST_C);
/** It ends at this temperature: so far above the last crystal. */
export const aboveFrom = (last_c: number, at_c: number) => within(snapped(at_c - last_c, STEP_C), 0, WIDEST_C);
/** The soak began and ends at these times. */
export const soakFrom = (begins_min: number, ends_min: number) =>
  within(snapped(ends_min - begins_min, STEP_MIN), 0, LONGEST_SOAK_MIN);

/** How many steps a key moves a handle; 0 for keys that do not. Up and right are more. */
export function stepsOf(key: string): number {
  switch (key) {
    case "ArrowUp":
    case "ArrowRight":
      return 1;
    case "ArrowDown":
    case "ArrowLeft":
      return -1;
    case "PageUp":
      return LEAP;
    case "PageDown":
      return -LEAP;
    default:
      return 0;
  }
}
