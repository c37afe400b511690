// Changing the outline of a room: where a dragged corner comes to rest, and what has to move with the walls.
import type { Book, Cut, Point, Room, Shape } from "./api";
import { distanceToEdge, signedArea } from "./geometry";
import type { Placed, Ring } from "./geometry";
import { inWall } from "./openings";
import { onGrid } from "./outlines";
import type { Part } from "./outlines";

/** As the program numbers walls: anticlockwise from the same first corner. */
export function anticlockwise(ring: Ring): Ring {
  return signedArea(ring) < 0 ? [ring[0]!, ...ring.slice(1).reverse()] : ring;
}

const distance = ([ax, ay]: Point, [bx, by]: Point): number => Math.hypot(ax - bx, ay - by);
const tidy = (value: number): number => Math.round(value * 1000) / 1000 + 0;

/**
 * Where a dragged corner rests: on another room's corner within `reach`; else in line with other corners, x and y each
 * for itself; else on another room's wall; else on the 5 cm grid.
 */
export function snap(at: Point, others: Ring[], own: Point[], reach: number): Point {
  const corners = others.flat();
  const nearest = corners.reduce<Point | null>(
    (best, one) => (best && distance(best, at) <= distance(one, at) ? best : one),
    null,
  );
  if (nearest && distance(nearest, at) <= reach) return nearest;
  const line = (axis: 0 | 1): number | null => {
    let best: number | null = null;
    for (const one of [...own, ...corners]) {
      const off = Math.abs(one[axis] - at[axis]);
      if (off <= reach && (best === null || off < Math.abs(best - at[axis]))) best = one[axis];
    }
    return best;
  };
  const x = line(0);
  const y = line(1);
  if (x === null && y === null) {
    for (const ring of others) {
      for (let i = 0; i < ring.length; ++i) {
        const a = ring[i]!;
        const b = ring[(i + 1) % ring.length]!;
        const length2 = distance(a, b) ** 2;
        if (length2 === 0) continue;
        const t = ((at[0] - a[0]) * (b[0] - a[0]) + (at[1] - a[1]) * (b[1] - a[1])) / length2;
        const foot: Point = [tidy(a[0] + t * (b[0] - a[0])), tidy(a[1] + t * (b[1] - a[1]))];
        if (t > 0 && t < 1 && distance(foot, at) <= reach) return foot;
      }
    }
  }
  return [x ?? onGrid(at[0]), y ?? onGrid(at[1])];
}

export const withCornerAt = (ring: Ring, i: number, at: Point): Ring => ring.map((one, j) => (j === i ? at : one));

export const moved = (ring: Ring, dx: number, dy: number): Ring => ring.map(([x, y]) => [tidy(x + dx), tidy(y + dy)]);

/** Wall i (from corner i to the next) shifted along its normal by `by`, outwards of an anticlockwise ring. */
export function withWallMoved(ring: Ring, i: number, by: number): Ring {
  const a = ring[i]!;
  const b = ring[(i + 1) % ring.length]!;
  const length = distance(a, b) || 1;
  const out: Point = [(b[1] - a[1]) / length, -(b[0] - a[0]) / length];
  return ring.map(([x, y], j) =>
    j === i || j === (i + 1) % ring.length ? [tidy(x + out[0] * by), tidy(y + out[1] * by)] : [x, y],
  );
}

export function wallLength(ring: Ring, i: number): number {
  return distance(ring[i]!, ring[(i + 1) % ring.length]!);
}

/** Wall i made `length` long: the wall after it is shifted along wall i, so that a square room stays square. */
export function withWallLength(ring: Ring, i: number, length: number): Ring {
  const n = ring.length;
  const a = ring[i]!;
  const b = ring[(i + 1) % n]!;
  const now = distance(a, b);
  if (now === 0) return ring;
  const dx = ((b[0] - a[0]) / now) * (length - now);
  const dy = ((b[1] - a[1]) / now) * (length - now);
  const shifted = new Set([(i + 1) % n, (i + 2) % n]);
  if (n === 3) shifted.delete((i + 2) % n); // the wall after would meet the first corner again
  return ring.map(([x, y], j) => (shifted.has(j) ? [tidy(x + dx), tidy(y + dy)] : [x, y]));
}

/** A new corner in the middle of wall i. */
export function withCorner(ring: Ring, i: number): Ring {
  const [ax, ay] = ring[i]!;
  const [bx, by] = ring[(i + 1) % ring.length]!;
  return [...ring.slice(0, i + 1), [onGrid((ax + bx) / 2), onGrid((ay + by) / 2)], ...ring.slice(i + 1)];
}

export const withoutCorner = (ring: Ring, i: number): Ring => ring.filter((_, j) => j !== i);

/** What becomes of wall numbers (from 1): the new number, or null for a wall that is parted or joined. */
export type Renumber = (wall: number) => number | null;

/** After a corner in the middle of wall i (from 0) of any ring. */
export const afterCorner =
  (i: number): Renumber =>
  (wall) =>
    wall === i + 1 ? null : wall > i + 1 ? wall + 1 : wall;

/** After corner i (from 0) of a ring of n has gone: the walls on both sides of it are one now. */
export function afterNoCorner(i: number, n: number): Renumber {
  const before = i === 0 ? n : i;
  return (wall) => (wall === i + 1 || wall === before ? null : wall > i + 1 ? wall - 1 : wall);
}

export function shifted(shape: Shape, dx: number, dy: number): Shape {
  const out: Shape = { ...shape };
  if (out.point) out.point = moved([out.point], dx, dy)[0]!;
  if (out.line) out.line = moved(out.line, dx, dy);
  if (out.outline) out.outline = moved(out.outline, dx, dy);
  return out;
}

/** How a placed thing changes with its room: null = not at all, "stuck" = it lies on a wall that is parted or joined. */
type Follow = (place: Placed) => Partial<Placed> | null | "stuck";

/** The edits of everything placed in a room, by `follow`; `stuck` names what stands in the way. */
function following(book: Book, room: string, follow: Follow): { parts: Part[]; stuck: string[] } {
  const parts: Part[] = [];
  const stuck: string[] = [];
  for (const material of book.materials ?? []) {
    const change = material.room === room ? follow(material) : null;
    if (change === "stuck") stuck.push(material.name);
    else if (change) parts.push({ set: material.id, fields: change });
  }
  for (const owner of [...(book.jobs ?? []), ...(book.events ?? [])]) {
    let any = false;
    const cuts = (owner.cuts ?? []).map((cut: Cut) => {
      const change = cut.room === room ? follow(cut) : null;
      if (change === "stuck") stuck.push(owner.id);
      if (change === null || change === "stuck") return cut;
      any = true;
      return { ...cut, ...change };
    });
    if (any) parts.push({ set: owner.id, fields: { cuts } });
  }
  return { parts, stuck: [...new Set(stuck)] };
}

/** What goes with a room whose walls get new numbers. */
export function renumbered(book: Book, room: string, renumber: Renumber): { parts: Part[]; stuck: string[] } {
  return following(book, room, ({ face }) => {
    const wall = /^wall-(\d+)$/.exec(face);
    if (!wall) return null;
    const next = renumber(Number(wall[1]));
    if (next === null) return "stuck";
    return next === Number(wall[1]) ? null : { face: `wall-${next}` };
  });
}

/** What goes with a room that is moved as a whole: what lies on its floor and ceiling, and its doors to the outside. */
export function carried(book: Book, room: Room, dx: number, dy: number): Part[] {
  const { parts } = following(book, room.id, (place) =>
    place.face.startsWith("wall-") || !place.shape ? null : { shape: shifted(place.shape, dx, dy) },
  );
  for (const opening of book.openings ?? []) {
    if (opening.from === room.id && !opening.to && opening.at)
      parts.push({ set: opening.id, fields: { at: moved([opening.at], dx, dy)[0] } });
  }
  const zones = room.heights as { outline: Ring }[] | undefined;
  if (zones)
    parts.push({
      set: room.id,
      fields: { heights: zones.map((zone) => ({ ...zone, outline: moved(zone.outline, dx, dy) })) },
    });
  return parts;
}

/** An opening this far off a wall is still in it: as far as two rooms' walls may be apart. */
const IN_WALL_M = 0.3;

/**
 * Doors and windows of walls that are moved go with them: as far from the end that stays as before, or in the same
 * share of the wall when both ends move. Both rings anticlockwise, with the same corners in the same order.
 */
export function openingsCarried(book: Book, room: string, before: Ring, after: Ring): Part[] {
  return (book.openings ?? []).flatMap((opening): Part[] => {
    const at = opening.at;
    if (!at || !inWall(opening.kind) || ![opening.from, opening.to].includes(room)) return [];
    const off = before.map((a, i) => distanceToEdge([a, before[(i + 1) % before.length]!], at));
    const i = off.indexOf(Math.min(...off));
    if (off[i]! > IN_WALL_M) return [];
    const j = (i + 1) % before.length;
    const [a, b, c, d] = [before[i]!, before[j]!, after[i]!, after[j]!];
    const [was, is] = [distance(a, b), distance(c, d)];
    if (was === 0 || is === 0) return [];
    const [ux, uy] = [(b[0] - a[0]) / was, (b[1] - a[1]) / was];
    const along = (at[0] - a[0]) * ux + (at[1] - a[1]) * uy;
    const aside = (at[1] - a[1]) * ux - (at[0] - a[0]) * uy;
    const same = (p: Point, q: Point) => distance(p, q) < 1e-6;
    if (same(a, c) && same(b, d)) return [];
    const to = same(a, c) ? along : same(b, d) ? is - (was - along) : (along * is) / was;
    const held = Math.min(Math.max(to, 0), is);
    const [vx, vy] = [(d[0] - c[0]) / is, (d[1] - c[1]) / is];
    const next: Point = [tidy(c[0] + vx * held - vy * aside), tidy(c[1] + vy * held + vx * aside)];
    return same(next, at) ? [] : [{ set: opening.id, fields: { at: next } }];
  });
}
