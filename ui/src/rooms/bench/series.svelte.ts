import type { SeriesPoint } from "../../api/live";

/** The points of a run, gathered from what each event brings. */
export class Series {
  /** Grows whenever the points change: what draws them follows it. */
  version = $state(0);
  /** In order of time. */
  points: SeriesPoint[] = [];

  /**
   * Takes points of which the first bears a number, from 0. What was known from there on is replaced, so
   * that a connection that begins anew and one that repeats itself do no harm.
   *
   * Returns whether nothing is missing between what was known and what came.
   */
  take(first: number, points: readonly SeriesPoint[]): boolean {
    if (first > this.points.length) return false;
    if (first === this.points.length && points.length === 0) return true;
    this.points.length = first;
    for (const point of points) this.points.push(point);
    this.version += 1;
    return true;
  }

  clear(): void {
    if (this.points.length === 0) return;
    this.points = [];
    this.version += 1;
  }
}
