// Scales of charts, apart from what is drawn on them.

/** Decades from the one under `low` to the one over `high`. */
export function decades(low: number, high: number): number[] {
  const first = Math.floor(Math.log10(low));
  const last = Math.max(Math.ceil(Math.log10(high)), first + 1);
  return Array.from({ length: last - first + 1 }, (_, i) => 10 ** (first + i));
}

/** Places positive values on a logarithmic scale; what is under its foot lies on the foot. */
export function logScale(low: number, high: number, from: number, to: number): (value: number) => number {
  const [a, b] = [Math.log(low), Math.log(high)];
  return (value) => from + ((to - from) * (Math.log(Math.min(Math.max(value, low), high)) - a)) / (b - a);
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
