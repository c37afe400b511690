// Numbers, days and sums of money as people read them.
import { text } from "./text";

/** A share as people read it; the sign never goes to a line of its own. */
export function percent(p: number): string {
  if (p <= 0) return "0\u00a0%";
  if (p >= 1) return "100\u00a0%";
  if (p < 0.01) return "under 1\u00a0%";
  if (p > 0.99) return "over 99\u00a0%";
  return `${Math.round(p * 100)}\u00a0%`;
}

/** A belief with its range; the figure alone where the range reads the same. */
export function percentWithRange(p: number, low: number, high: number): string {
  const [likely, least, most] = [percent(p), percent(low), percent(high)];
  return least === likely && most === likely ? likely : text.material.beliefRange(likely, least, most);
}

export function money(minor: number, currency: string): string {
  return new Intl.NumberFormat(undefined, {
    style: "currency",
    currency,
    minimumFractionDigits: minor % 100 === 0 ? 0 : 2,
  }).format(minor / 100);
}

/** The sign of a currency: "£". One without a sign stands by its letters. */
export function currencySign(currency: string): string {
  const parts = new Intl.NumberFormat(undefined, {
    style: "currency",
    currency,
    currencyDisplay: "narrowSymbol",
  }).formatToParts(0);
  return parts.find((part) => part.type === "currency")?.value ?? currency;
}

/** A day of the book, YYYY-MM-DD, by the reader's habits. Days have no time zone: they are read and told as UTC. */
export function day(iso: string): string {
  return new Intl.DateTimeFormat(undefined, { dateStyle: "medium", timeZone: "UTC" }).format(new Date(`${iso}T00:00Z`));
}

/** A sentence of the program, its days told by the reader's habits, and faces of rooms as people name them. */
export const told = (words: string): string =>
  words
    .replace(/\b(ceiling|floor|inside|wall-\d+|roof-\d+) of R\d+ \(([^()]+)\)/g, (_, face: string, room: string) =>
      text.jobs.faceOf(text.faces(face), room),
    )
    .replace(/\b\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])\b/g, (iso) => day(iso));

/** A moment, by the reader's habits and clock. */
export function moment(iso: string): string {
  return new Intl.DateTimeFormat(undefined, { dateStyle: "medium", timeStyle: "short" }).format(new Date(iso));
}

export const oneDecimal = (value: number): string =>
  new Intl.NumberFormat(undefined, { minimumFractionDigits: 1, maximumFractionDigits: 1 }).format(value);

export const sentence = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);
