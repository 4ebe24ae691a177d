/** Numbers, times and plurals as people read them. Values come rounded by the server or are shown to the
 * place that their uncertainty justifies; nothing is computed here. */

const MINUS = "−";

/** A number with a fixed number of places and a true minus sign. */
export function fixed(value: number, places: number): string {
  const text = value.toFixed(places);
  const zero = Number(text) === 0;
  return text.startsWith("-") ? (zero ? text.slice(1) : MINUS + text.slice(1)) : text;
}

/** Places after the point that an uncertainty justifies: its first digit, two when that is a 1. */
export function placesFor(uncertainty: number): number {
  if (!(uncertainty > 0) || !Number.isFinite(uncertainty)) return 1;
  const power = Math.floor(Math.log10(uncertainty));
  const lead = uncertainty / 10 ** power;
  return Math.min(2, Math.max(0, -power + (lead < 1.95 ? 1 : 0)));
}

/** "121.6 °C". */
export function celsius(value: number | null | undefined, places = 1): string {
  return value === null || value === undefined ? "–" : `${fixed(value, places)} °C`;
}

/** "121.63 ± 0.04 °C"; what stands behind the sign is said where it is shown. */
export function measured(value: number, uncertainty: number): string {
  const places = placesFor(uncertainty);
  const shown = uncertainty > 0 ? Math.max(uncertainty, 0.5 * 10 ** -places) : 0;
  return `${fixed(value, places)} ± ${fixed(shown, places)} °C`;
}

/** "+0.12 °C", "−0.30 °C". */
export function difference(value: number, places = 2): string {
  const text = fixed(value, places);
  return `${value > 0 && !text.startsWith(MINUS) ? "+" : ""}${text} °C`;
}

/** Seconds on the log's clock: "4:05.2", "1:02:03.0". */
export function clock(seconds: number, places = 1): string {
  const sign = seconds < 0 ? MINUS : "";
  const scale = 10 ** places;
  const units = Math.round(Math.abs(seconds) * scale);
  const whole = Math.floor(units / scale);
  const h = Math.floor(whole / 3600);
  const m = Math.floor(whole / 60) % 60;
  const s = whole % 60;
  const part = places > 0 ? `.${String(units % scale).padStart(places, "0")}` : "";
  const two = (n: number) => String(n).padStart(2, "0");
  return `${sign}${h ? `${h}:${two(m)}` : m}:${two(s)}${part}`;
}

/** "12.4 s". */
export function seconds(value: number, places = 1): string {
  return `${fixed(value, places)} s`;
}

/** "1.02 °C/min". */
export function rate(value: number | null | undefined): string {
  return value === null || value === undefined ? "–" : `${fixed(value, 2)} °C/min`;
}

/** "25 Nov 2026, 18:04", in the zone of the machine. */
export function moment(text: string): string {
  const when = new Date(text);
  return Number.isNaN(when.getTime())
    ? text
    : when.toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
}

/** "25 Nov 2026"; a date without a time is that day in every zone. */
export function day(text: string): string {
  const when = new Date(/^\d{4}-\d{2}-\d{2}$/.test(text) ? `${text}T00:00` : text);
  return Number.isNaN(when.getTime()) ? text : when.toLocaleDateString("en-GB", { dateStyle: "medium" });
}

/** The day on the wall here, as fields of dates and the server take it: "2026-11-25". */
export function dayHere(now = new Date()): string {
  const two = (n: number) => String(n).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** "1 run", "2 runs". */
export function count(n: number, one: string, many = `${one}s`): string {
  return `${n} ${n === 1 ? one : many}`;
}

/** "12.4 MB". */
export function bytes(n: number): string {
  const units = ["B", "kB", "MB", "GB"];
  let value = n;
  let unit = 0;
  while (value >= 1000 && unit < units.length - 1) {
    value /= 1000;
    unit += 1;
  }
  return `${unit === 0 ? value : fixed(value, 1)} ${units[unit] ?? "GB"}`;
}
