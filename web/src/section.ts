// A cut through the house: which rooms it meets, and how high each is where it is cut.
import type { Book, Room, Storey } from "./api";
import { ceilingLine } from "./ceilings";
import { roomHeight } from "./geometry";
import type { Ring } from "./geometry";

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

interface CutRoom extends Levels {
  room: Room;
  from: number;
  to: number;
  /** The line of its ceiling: along the cut, and the level. */
  top: Ring;
}

/** The rooms a cut meets, each stretch with its levels. */
export function cutThrough(book: Book, axis: 0 | 1, at: number): CutRoom[] {
  const storeys = book.storeys ?? [];
  return (book.rooms ?? []).flatMap((room) =>
    stretches(room.outline, axis, at).map(([from, to]) => {
      const levels = levelsOf(room, storeys);
      const line = ceilingLine(room, storeys, (u) => (axis === 0 ? [at, from + u] : [from + u, at]), to - from);
      const top: Ring = line
        ? line.map(([u, height]) => [from + u, levels.floor + height])
        : [
            [from, levels.ceiling],
            [to, levels.ceiling],
          ];
      return { room, from, to, top, ...levels };
    }),
  );
}
