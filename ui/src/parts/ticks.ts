/** Round values for an axis: about `wanted` of them from `low` to `high`, steps of 1, 2 or 5. */
export function ticks(low: number, high: number, wanted: number): { at: number[]; places: number } {
  const span = high - low;
  if (!(span > 0) || wanted < 1) return { at: [low], places: 1 };
  const raw = span / wanted;
  const power = 10 ** Math.floor(Math.log10(raw));
  const lead = raw / power;
  const step = power * (lead <= 1 ? 1 : lead <= 2 ? 2 : lead <= 5 ? 5 : 10);
  const places = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  const at: number[] = [];
  for (let i = first; i <= last; i += 1) at.push(Number((i * step).toFixed(places)));
  return { at, places };
}
