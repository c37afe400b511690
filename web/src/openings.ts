// Doors, windows, vents and hatches: where they sit in a wall, how they are moved and sized along it, and how the trade
// draws them on a plan.
import type { Backs, Opening, OpeningOn, Point, Wall, WholeBook } from "./api";
import { contains } from "./geometry";
import type { Ring } from "./geometry";
import { onGrid } from "./outlines";

/** Its place on one wall, in metres along it and above the floor of that room. */
export interface Seat {
  room: string;
  face: string;
  left: number;
  right: number;
  low: number;
  high: number;
}
export const LEAST_M = 0.1;
const PAIR_M = 1.3;

/** What is usual of each kind, where nobody has measured yet: common practice. */
export const USUAL: Record<string, { width_m: number; height_m: number }> = {
  door: { width_m: 0.76, height_m: 1.98 },
  window: { width_m: 1.2, height_m: 1.2 },
  vent: { width_m: 0.25, height_m: 0.15 },
  hatch: { width_m: 0.6, height_m: 0.6 },
  stair: { width_m: 0.85, height_m: 2.4 },
};

export const inWall = (kind: string): boolean => kind !== "hatch" && kind !== "stair";

const isWall = (on: OpeningOn) => on.face.startsWith("wall-");

/** Where the program has it: in the wall of the room it leads from, or of the other one. */
export function seatOf(whole: Pick<WholeBook, "openings">, opening: Opening): Seat | null {
  const on = (whole.openings[opening.id] ?? []).filter(isWall);
  const one = on.find((it) => it.room === opening.from) ?? on[0];
  if (!one) return null;
  const [first, second, third] = one.outline;
  return { room: one.room, face: one.face, left: first![0], right: second![0], low: first![1], high: third![1] };
}

const tidy = (metres: number): number => Math.round(metres * 1000) / 1000 + 0;
const within = (value: number, least: number, most: number) => Math.min(Math.max(value, least), Math.max(least, most));

/** Moved along its wall, to rest on the 5 cm grid or against the end of the wall. */
export function slid(seat: Seat, by: number, length: number): Seat {
  const wide = seat.right - seat.left;
  const left = within(onGrid(seat.left + by), 0, length - wide);
  return { ...seat, left: tidy(left), right: tidy(left + wide) };
}

/** One end moved along the wall. */
export function stretched(seat: Seat, end: "left" | "right", by: number, length: number): Seat {
  return end === "left"
    ? { ...seat, left: tidy(within(onGrid(seat.left + by), 0, seat.right - LEAST_M)) }
    : { ...seat, right: tidy(within(onGrid(seat.right + by), seat.left + LEAST_M, length)) };
}

/** Its lower or upper edge moved up. */
export function raised(seat: Seat, edge: "low" | "high", by: number, height: number): Seat {
  return edge === "low"
    ? { ...seat, low: tidy(within(onGrid(seat.low + by), 0, seat.high - LEAST_M)) }
    : { ...seat, high: tidy(within(onGrid(seat.high + by), seat.low + LEAST_M, height)) };
}

/** What of the opening has to be written for it to sit there. */
export function changes(opening: Opening, was: Seat, now: Seat, wall: Wall): Record<string, unknown> {
  const by = (now.left + now.right - was.left - was.right) / 2;
  const out: Record<string, unknown> = {};
  if (Math.abs(by) > 1e-6)
    out.at = [tidy(opening.at![0] + wall.along[0] * by), tidy(opening.at![1] + wall.along[1] * by)];
  if (Math.abs(now.right - now.left - was.right + was.left) > 1e-6) out.width_m = tidy(now.right - now.left);
  if (Math.abs(now.high - now.low - was.high + was.low) > 1e-6) out.height_m = tidy(now.high - now.low);
  if (Math.abs(now.low - was.low) > 1e-6) out.sill_m = tidy(now.low);
  return out;
}

/** The room behind a spot of a face; undefined when nothing is drawn there. */
export function roomBehind(backs: Backs | null, face: string, at: Point): string | undefined {
  const there = backs?.faces.find((one) => one.face === face)?.backs ?? [];
  return there.find((one) => one.where.some((ring) => contains(ring, at)))?.room;
}

/** The middle of the longest stretch of a wall where nothing sits yet, and how long it is. */
export function freest(length: number, taken: [number, number][]): { middle: number; length: number } {
  let at = 0;
  let best = { middle: length / 2, length: 0 };
  for (const [left, right] of [...taken].sort((a, b) => a[0] - b[0]).concat([[length, length]])) {
    if (left - at > best.length) best = { middle: (at + left) / 2, length: left - at };
    at = Math.max(at, right);
  }
  return best;
}

export interface Leaf {
  hinge: Point;
  /** Where its free edge is when it stands open. */
  open: Point;
  /** And when it is shut. */
  shut: Point;
}

const FRAME_M = 0.06;
/** How deep a window is drawn. */
export const DEEP_M = 0.14;

/** A point of the plan: `u` along the wall from its left end, `v` into the room. */
export function pointOn(wall: Wall, u: number, v: number): Point {
  const [ax, ay] = wall.along;
  return [wall.left[0] + ax * u + ay * v, wall.left[1] + ay * u - ax * v];
}

/**
 * The leaves of a door, standing open. Where nobody has said how it hangs: a pair when it is wide, else at the end
 * nearest a corner; into the room it leads to.
 */
export function leavesOf(opening: Opening, seat: Seat, wall: Wall): Leaf[] {
  const seen = seat.room === opening.from;
  const wide = seat.right - seat.left;
  const said = opening.hung ?? (wide > PAIR_M ? "both" : undefined);
  const nearest = seat.left < wall.length_m - seat.right ? "left" : "right";
  const hung = said === undefined ? nearest : said === "both" || seen ? said : said === "left" ? "right" : "left";
  const opens = opening.opens ?? (opening.to ? "out" : "in");
  const inwards = (opens === "in") === seen ? 1 : -1;
  const leaf = (at: number, towards: number, length: number): Leaf => ({
    hinge: pointOn(wall, at, 0),
    open: pointOn(wall, at, inwards * length),
    shut: pointOn(wall, at + towards * length, 0),
  });
  if (hung === "both") return [leaf(seat.left, 1, wide / 2), leaf(seat.right, -1, wide / 2)];
  return [hung === "left" ? leaf(seat.left, 1, wide) : leaf(seat.right, -1, wide)];
}

/** The gap in the wall's line, a little deeper than the line is drawn. */
export function gapOf(seat: Seat, wall: Wall): Ring {
  const at = (u: number, v: number) => pointOn(wall, Math.min(Math.max(u, 0), wall.length_m), v);
  return [at(seat.left, -FRAME_M), at(seat.right, -FRAME_M), at(seat.right, FRAME_M), at(seat.left, FRAME_M)];
}

/** The panes of a window: lines along it, the outer two as far apart as it is drawn deep. */
export function panesOf(seat: Seat, wall: Wall): [Point, Point][] {
  return [-DEEP_M / 2, DEEP_M / 2].map((v) => [pointOn(wall, seat.left, v), pointOn(wall, seat.right, v)]);
}
