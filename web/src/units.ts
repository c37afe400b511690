// Lengths as people say them: metres, or feet and inches. The book holds metres alone.
import { useSyncExternalStore } from "react";

export type Units = "m" | "ft";

const INCH_M = 0.0254; // exact since 1959
const INCHES_A_FOOT = 12;

/** "3.45 m", or to the nearest half inch "11 ft 4 in". */
export function tellLength(metres: number, units: Units): string {
  if (units === "m") return `${metres.toFixed(2)} m`;
  const halves = Math.round((Math.abs(metres) / INCH_M) * 2);
  const feet = Math.floor(halves / (2 * INCHES_A_FOOT));
  const inches = (halves - feet * 2 * INCHES_A_FOOT) / 2;
  const sign = metres < 0 && halves > 0 ? "-" : "";
  if (feet === 0) return `${sign}${inches} in`;
  return inches === 0 ? `${sign}${feet} ft` : `${sign}${feet} ft ${inches} in`;
}

/**
 * What was typed, in metres; null when it is no length. A bare number is metres or feet as `units` says; "3.4 m",
 * "340 cm", "11 ft 4 in", "11' 4\"" and "11 4" (feet and inches) are read whatever the units are.
 */
export function readLength(typed: string, units: Units): number | null {
  const words = typed.trim().toLowerCase().replace(/,/g, ".").replace(/[’′]/g, "'").replace(/[”″]/g, '"');
  const metric = /^(-?\d+(?:\.\d+)?)\s*(mm|cm|m)$/.exec(words);
  if (metric) return Number(metric[1]) / { mm: 1000, cm: 100, m: 1 }[metric[2] as "mm" | "cm" | "m"];
  const inches = /^(-?\d+(?:\.\d+)?)\s*(?:in|")$/.exec(words);
  if (inches) return Number(inches[1]) * INCH_M;
  const feet = /^(-?)(\d+(?:\.\d+)?)\s*(?:ft|')\s*(?:(\d+(?:\.\d+)?)\s*(?:in|")?)?$/.exec(words);
  const both = feet ?? (units === "ft" ? /^(-?)(\d+)\s+(\d+(?:\.\d+)?)$/.exec(words) : null);
  if (both) return (both[1] ? -1 : 1) * (Number(both[2]) * INCHES_A_FOOT + Number(both[3] ?? 0)) * INCH_M;
  if (!/^-?\d+(\.\d+)?$/.test(words)) return null;
  return units === "m" ? Number(words) : Number(words) * INCHES_A_FOOT * INCH_M;
}

const KEY = "lengths";
const listeners = new Set<() => void>();

export function setUnits(units: Units): void {
  window.localStorage.setItem(KEY, units);
  listeners.forEach((changed) => changed());
}

/** The units this browser was last set to. */
export function useUnits(): Units {
  return useSyncExternalStore(
    (changed) => {
      listeners.add(changed);
      return () => listeners.delete(changed);
    },
    () => (window.localStorage.getItem(KEY) === "ft" ? "ft" : "m"),
  );
}
