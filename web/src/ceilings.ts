// Ceilings that are not flat: parts of a room's plan under a slope, and how high the ceiling is at a point.
//
// The book holds of each part its outline and its lowest and highest height; which way it slopes is taken from where it
// lies: lowest along the longest of its edges that runs along a wall (the eaves), rising evenly from there. A part that
// touches no wall is drawn flat, half way between.
import type { HeightZone, Point, Room, Storey } from "./api";
import { contains, distanceToEdge, roomHeight, signedArea } from "./geometry";
import type { Ring } from "./geometry";
import { anticlockwise } from "./shape";

const ON_WALL_M = 0.02;
const LEAST_M = 0.01;

export interface Slope {
  low: [Point, Point];
  /** Unit vector from the eaves inwards. */
  inwards: Point;
  depth: number;
}

const tidy = (metres: number): number => Math.round(metres * 1000) / 1000 + 0;
const lengthOf = ([a, b]: [Point, Point]): number => Math.hypot(b[0] - a[0], b[1] - a[1]);

/** How far a point lies inwards of an edge. */
const inFrom = (edge: [Point, Point], inwards: Point, [x, y]: Point): number =>
  (x - edge[0][0]) * inwards[0] + (y - edge[0][1]) * inwards[1];

export function slopeOf(zone: HeightZone, room: Pick<Room, "outline">): Slope | null {
  const ring = signedArea(zone.outline) < 0 ? [...zone.outline].reverse() : zone.outline;
  let best: [Point, Point] | null = null;
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    const middle: Point = [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
    if ([a, b, middle].some((at) => distanceToEdge(room.outline, at) > ON_WALL_M)) return;
    if (!best || lengthOf([a, b]) > lengthOf(best)) best = [a, b];
  });
  if (!best || lengthOf(best) < LEAST_M) return null;
  const [a, b] = best as [Point, Point];
  const length = lengthOf([a, b]);
  const inwards: Point = [-(b[1] - a[1]) / length, (b[0] - a[0]) / length];
  const depth = Math.max(...ring.map((at) => inFrom([a, b], inwards, at)));
  return depth < LEAST_M ? null : { low: [a, b], inwards, depth };
}

/** The ceiling's height above the room's floor. */
export function ceilingAt(room: Room, storeys: Storey[], at: Point): number {
  const zone = (room.heights ?? []).find((one) => contains(one.outline, at));
  if (!zone)
    return roomHeight(
      room,
      storeys.find((one) => one.id === room.storey),
    );
  const slope = slopeOf(zone, room);
  if (!slope) return (zone.low_m + zone.high_m) / 2;
  return zone.low_m + ((zone.high_m - zone.low_m) * inFrom(slope.low, slope.inwards, at)) / slope.depth;
}

/** The line of the ceiling over a straight run through a room, as (metres along, height); null when it is flat. */
export function ceilingLine(room: Room, storeys: Storey[], along: (u: number) => Point, length: number): Ring | null {
  const zones = room.heights ?? [];
  if (zones.length === 0 || length <= 0) return null;
  const [start, end] = [along(0), along(length)];
  const [dx, dy] = [(end[0] - start[0]) / length, (end[1] - start[1]) / length];
  const breaks = [0, length];
  for (const { outline } of zones) {
    outline.forEach((a, i) => {
      const b = outline[(i + 1) % outline.length]!;
      const cross = dx * (b[1] - a[1]) - dy * (b[0] - a[0]);
      if (Math.abs(cross) < 1e-12) return;
      const u = ((a[0] - start[0]) * (b[1] - a[1]) - (a[1] - start[1]) * (b[0] - a[0])) / cross;
      if (u > 0 && u < length) breaks.push(u);
    });
  }
  breaks.sort((a, b) => a - b);
  const line: Ring = [];
  const hair = 1e-6;
  breaks.forEach((u, i) => {
    const next = breaks[i + 1];
    if (next === undefined || next - u < 1e-4) return;
    // Between two edges of zones the ceiling is straight.
    line.push([u, ceilingAt(room, storeys, along(u + hair))], [next, ceilingAt(room, storeys, along(next - hair))]);
  });
  return line.filter(([u, h], i) => {
    const before = line[i - 1];
    return !before || Math.abs(before[0] - u) > 1e-4 || Math.abs(before[1] - h) > 1e-4;
  });
}

/** What of an outline lies at most `depth` inwards of its wall i (from 0, anticlockwise). */
export function stripAlong(outline: Ring, i: number, depth: number): Ring {
  const ring = anticlockwise(outline);
  const a = ring[i]!;
  const b = ring[(i + 1) % ring.length]!;
  const length = lengthOf([a, b]) || 1;
  const inwards: Point = [-(b[1] - a[1]) / length, (b[0] - a[0]) / length];
  const off = (at: Point) => inFrom([a, b], inwards, at) - depth;
  const out: Ring = [];
  ring.forEach((one, j) => {
    const next = ring[(j + 1) % ring.length]!;
    const [d0, d1] = [off(one), off(next)];
    if (d0 <= 0) out.push(one);
    if (d0 < 0 !== d1 < 0 && d0 !== d1 && d0 !== 0 && d1 !== 0) {
      const t = d0 / (d0 - d1);
      out.push([tidy(one[0] + t * (next[0] - one[0])), tidy(one[1] + t * (next[1] - one[1]))]);
    }
  });
  return out;
}

/** Which wall (from 0) of the room a slope's eaves lie on. */
export function wallOf(slope: Slope, outline: Ring): number {
  const ring = anticlockwise(outline);
  const [[ax, ay], [bx, by]] = slope.low;
  const middle: Point = [(ax + bx) / 2, (ay + by) / 2];
  let best = { i: 0, off: Infinity };
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    const off = distanceToEdge([a, b], middle);
    if (off < best.off) best = { i, off };
  });
  return best.i;
}

/** How far a room reaches inwards of its wall i. */
export function reachOf(outline: Ring, i: number): number {
  const ring = anticlockwise(outline);
  const [a, b] = [ring[i]!, ring[(i + 1) % ring.length]!];
  const length = lengthOf([a, b]) || 1;
  const inwards: Point = [-(b[1] - a[1]) / length, (b[0] - a[0]) / length];
  return Math.max(...ring.map((at) => inFrom([a, b], inwards, at)));
}

const EAVES_LOFT_M = 0.2;
const EAVES_ROOM_M = 1.2;

/** A slope along wall i as one begins with: up to the middle of the room, from the eaves to its full height. */
export function usualSlope(room: Room, i: number, height: number): HeightZone {
  const depth = Math.round((reachOf(room.outline, i) / 2) * 20) / 20;
  const low = Math.min(room.kind === "loft" ? EAVES_LOFT_M : EAVES_ROOM_M, height);
  return { outline: stripAlong(room.outline, i, depth), low_m: low, high_m: height };
}
