/** When a session starts, as a field of the page and as the server takes it. */

const two = (n: number) => String(n).padStart(2, "0");

/** What a field of date and time holds, with the offset that the clock here has on that day (RFC 3339); null for what is none. */
export function withOffset(field: string): string | null {
  const parts = /^(\d{4})-(\d{2})-(\d{2})T(\d{2}):(\d{2})$/.exec(field);
  if (!parts) return null;
  const when = new Date(field);
  // A time that the clock skips, or the 30th of February, is not silently another one.
  if (Number.isNaN(when.getTime()) || fieldOf(when) !== field) return null;
  const minutes = -when.getTimezoneOffset();
  const size = Math.abs(minutes);
  return `${field}:00${minutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** A moment as a field of date and time holds it, by the clock here. */
export function fieldOf(when: Date): string {
  return `${String(when.getFullYear()).padStart(4, "0")}-${two(when.getMonth() + 1)}-${two(when.getDate())}T${two(when.getHours())}:${two(when.getMinutes())}`;
}

/** When it began where that is known, else the next full hour. */
export function usualStart(begun: string, now = new Date()): string {
  const known = begun ? new Date(begun) : null;
  if (known && !Number.isNaN(known.getTime())) return fieldOf(known);
  const hour = new Date(now);
  hour.setHours(now.getHours() + 1, 0, 0, 0);
  return fieldOf(hour);
}
