// What backs on to what: a cut through the house, and the neighbours of one room over, under and beside it.
import type { Book, Point, Room, Storey } from "./api";
import { boxOf, contains, roomHeight } from "./geometry";
import type { Ring } from "./geometry";
import { anticlockwise } from "./shape";

/** Rooms further apart than this, floor and structure between them, do not back on to each other. */
const MOST_BETWEEN_M = 0.6;
const MOST_WALL_M = 0.4;

export interface Levels {
  floor: number;
  ceiling: number;
}

export function levelsOf(room: Room, storeys: Storey[]): Levels {
  const storey = storeys.find((one) => one.id === room.storey);
  const floor = storey?.floor_m ?? 0;
  return { floor, ceiling: floor + roomHeight(room, storey) };
}

/** Where a line x = at (axis 0) or y = at (axis 1) runs inside a ring: stretches of the other coordinate. */
export function stretches(ring: Ring, axis: 0 | 1, at: number): [number, number][] {
  const other = axis === 0 ? 1 : 0;
  const met: number[] = [];
  ring.forEach((a, i) => {
    const b = ring[(i + 1) % ring.length]!;
    if (a[axis] > at === b[axis] > at) return;
    met.push(a[other] + ((at - a[axis]) / (b[axis] - a[axis])) * (b[other] - a[other]));
  });
  met.sort((p, q) => p - q);
  const out: [number, number][] = [];
  for (let i = 0; i + 1 < met.length; i += 2) out.push([met[i]!, met[i + 1]!]);
  return out;
}

export interface CutRoom extends Levels {
  room: Room;
  from: number;
  to: number;
}

/** The rooms a cut meets, each stretch with its levels. */
export function cutThrough(book: Book, axis: 0 | 1, at: number): CutRoom[] {
  const storeys = book.storeys ?? [];
  return (book.rooms ?? []).flatMap((room) =>
    stretches(room.outline, axis, at).map(([from, to]) => ({ room, from, to, ...levelsOf(room, storeys) })),
  );
}

const STEPS = 16;

/** Points spread over a ring. */
function spread(ring: Ring): Point[] {
  const box = boxOf([ring]);
  const out: Point[] = [];
  for (let i = 0; i < STEPS; ++i) {
    for (let j = 0; j < STEPS; ++j) {
      const at: Point = [
        box.x0 + ((i + 0.5) / STEPS) * (box.x1 - box.x0),
        box.y0 + ((j + 0.5) / STEPS) * (box.y1 - box.y0),
      ];
      if (contains(ring, at)) out.push(at);
    }
  }
  return out;
}

/** The first rooms over and under a room, and those behind its walls; null stands for outdoors or the ground. */
export function neighbours(
  book: Book,
  room: Room,
): { above: (string | null)[]; below: (string | null)[]; beside: (string | null)[] } {
  const storeys = book.storeys ?? [];
  const own = levelsOf(room, storeys);
  const others = (book.rooms ?? [])
    .filter((one) => one.id !== room.id)
    .map((one) => ({ one, ...levelsOf(one, storeys) }));
  const above = new Set<string | null>();
  const below = new Set<string | null>();
  for (const at of spread(room.outline)) {
    const here = others.filter(({ one }) => contains(one.outline, at));
    const over = here
      .filter((it) => it.floor >= own.ceiling - 0.1 && it.floor - own.ceiling < MOST_BETWEEN_M)
      .sort((a, b) => a.floor - b.floor)[0];
    const under = here
      .filter((it) => it.ceiling <= own.floor + 0.1 && own.floor - it.ceiling < MOST_BETWEEN_M)
      .sort((a, b) => b.ceiling - a.ceiling)[0];
    above.add(over?.one.id ?? null);
    below.add(under?.one.id ?? null);
  }
  const beside = new Set<string | null>();
  const level = others.filter((it) => Math.min(it.ceiling, own.ceiling) - Math.max(it.floor, own.floor) > 0.1);
  const ring = anticlockwise(room.outline);
  ring.forEach(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    const length = Math.hypot(nx - x, ny - y) || 1;
    for (let k = 0; k < STEPS; ++k) {
      const t = (k + 0.5) / STEPS;
      const behind = [0.03, MOST_WALL_M / 2, MOST_WALL_M]
        .map((out): Point => [
          x + t * (nx - x) + (out * (ny - y)) / length,
          y + t * (ny - y) - (out * (nx - x)) / length,
        ])
        .map((at) => level.find(({ one }) => contains(one.outline, at))?.one.id)
        .find((id) => id !== undefined);
      beside.add(behind ?? null);
    }
  });
  return { above: [...above], below: [...below], beside: [...beside] };
}
