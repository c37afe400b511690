// Scales of charts, apart from what is drawn on them.

/** How far down a logarithmic scale goes from its top: what is less lies at its foot. */
const MOST_DECADES = 10;

/**
 * Decades from the one under the least of `values` to the one over the greatest, for a logarithmic scale. What is not
 * above nothing has no place on one and does not count; without any other value the decade from 0.1 to 1.
 */
export function decades(values: readonly number[]): number[] {
  const positive = values.filter((value) => value > 0);
  const low = positive.length > 0 ? Math.min(...positive) : 0.1;
  const high = positive.length > 0 ? Math.max(...positive) : 1;
  // Rounded first: the logarithm of 0.001 is not quite -3.
  const exponent = (value: number) => Math.round(Math.log10(value) * 1e9) / 1e9;
  const top = Math.ceil(exponent(high));
  const first = Math.max(Math.min(Math.floor(exponent(low)), top - 1), top - MOST_DECADES);
  return Array.from({ length: top - first + 1 }, (_, i) => Number(`1e${first + i}`));
}

/** Of marks that lie evenly, `apart` pixels each, those whose words of `wide` pixels do not run into one another. */
export function spaced<T>(marks: readonly T[], apart: number, wide: number): T[] {
  const step = Math.max(1, Math.ceil((wide + 12) / apart));
  return marks.filter((_, i) => i % step === 0);
}

/** Two figures that matter, in plain digits: 0.0034, 12, 5,500. */
export function figure(value: number): string {
  if (value === 0) return "0";
  return new Intl.NumberFormat(undefined, { maximumSignificantDigits: 2, maximumFractionDigits: 20 }).format(value);
}

/** Minutes as people say them: 45 min, 3 h, 2 days. */
export function span(minutes: number): string {
  const whole = (value: number, unit: Intl.NumberFormatOptions["unit"]) =>
    new Intl.NumberFormat(undefined, {
      style: "unit",
      unit: unit!,
      unitDisplay: "short",
      maximumFractionDigits: 0,
    }).format(value);
  if (minutes < 90) return whole(minutes, "minute");
  if (minutes < 36 * 60) return whole(minutes / 60, "hour");
  return whole(minutes / 1440, "day");
}
