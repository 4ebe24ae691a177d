/** Geometry of the diagram of two solids, and what moving the handle on it means. Temperatures come from the program. */
import type { DiagramPoint, Melting, Mixture, PairPoint } from "../../api/identity";

/** By arrow key, and with Shift [%]. */
const STEP = 1;
const LEAP = 5;

/** Drawn from and to [°C]: all of the lines, the mixture and the own points, with some room. */
export function warmth(told: Mixture, tried: Melting | null, own: readonly PairPoint[]): readonly [number, number] {
  const all = [
    ...told.liquidus.map((point) => point.temperature_c),
    told.eutectic.temperature_c,
    ...(tried ? [tried.first_liquid_c, tried.last_crystal_c] : []),
    ...own.flatMap((point) => [point.liquidus_c, point.solidus_c]).filter((c) => c != null),
  ];
  const low = Math.min(...all);
  const high = Math.max(...all);
  const room = Math.max(2, (high - low) * 0.08);
  return [low - room, high + room];
}

/** The line of the first substance and that of the second; the eutectic belongs to both. */
export function branches(told: Mixture): [DiagramPoint[], DiagramPoint[]] {
  const at = told.eutectic.mole_fraction_b;
  return [
    [...told.liquidus.filter((point) => point.mole_fraction_b < at), told.eutectic],
    [told.eutectic, ...told.liquidus.filter((point) => point.mole_fraction_b > at)],
  ];
}

/** The composition under a pointer, as the field has it [% by mass, whole], from a mole fraction and both molar masses. */
export function percentAt(mole_fraction_b: number, a_g_per_mol: number, b_g_per_mol: number): number {
  const x = Math.min(1, Math.max(0, mole_fraction_b));
  const b = x * b_g_per_mol;
  return Math.round((100 * b) / (b + (1 - x) * a_g_per_mol));
}

/** Where a key moves a composition [% by mass]; null for keys that do not. Up and right are more of the second. */
export function movedBy(key: string, shift: boolean, percent: number): number | null {
  const step = shift ? LEAP : STEP;
  const within = (value: number) => Math.min(100, Math.max(0, value));
  switch (key) {
    case "ArrowUp":
    case "ArrowRight":
      return within(percent + step);
    case "ArrowDown":
    case "ArrowLeft":
      return within(percent - step);
    case "PageUp":
      return within(percent + LEAP);
    case "PageDown":
      return within(percent - LEAP);
    case "Home":
      return 0;
    case "End":
      return 100;
    default:
      return null;
  }
}

/** Some points of the line for a table: the nearest to each tenth of the composition, and the eutectic. */
export function tabled(told: Mixture): (DiagramPoint & { eutectic: boolean })[] {
  const tenths = Array.from({ length: 11 }, (_, i) => i / 10).flatMap((wanted) => {
    const nearest = told.liquidus.reduce<DiagramPoint | null>(
      (best, point) =>
        !best || Math.abs(point.mole_fraction_b - wanted) < Math.abs(best.mole_fraction_b - wanted) ? point : best,
      null,
    );
    return nearest ? [nearest] : [];
  });
  const apart = tenths.filter((point) => point.mole_fraction_b !== told.eutectic.mole_fraction_b);
  return [...apart.map((point) => ({ ...point, eutectic: false })), { ...told.eutectic, eutectic: true }].sort(
    (one, other) => one.mole_fraction_b - other.mole_fraction_b,
  );
}
