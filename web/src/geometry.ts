// Where things lie on the plan. Plan coordinates are metres, x to the right and y up; nothing here knows pixels.
import type { Material, Point, Room, Wall } from "./api";

/** Where something is: of a material, of a cut. */
export type Placed = Pick<Material, "room" | "face" | "shape">;

export type Ring = Point[];
export interface Box {
  x0: number;
  y0: number;
  x1: number;
  y1: number;
}

/** Twice the signed area is positive for an anticlockwise ring. */
export function signedArea(ring: Ring): number {
  let twice = 0;
  ring.forEach(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    twice += x * ny - nx * y;
  });
  return twice / 2;
}

const USUAL_HEIGHT_M = 2.4;

/** How high a room is: its own height, else its storey's, else as rooms usually are. */
export function roomHeight(room: { height_m?: number }, storey: { height_m?: number } | undefined): number {
  return room.height_m ?? storey?.height_m ?? USUAL_HEIGHT_M;
}

export const area = (ring: Ring): number => Math.abs(signedArea(ring));

export function boxOf(rings: Ring[]): Box {
  const box = { x0: Infinity, y0: Infinity, x1: -Infinity, y1: -Infinity };
  for (const [x, y] of rings.flat()) {
    box.x0 = Math.min(box.x0, x);
    box.y0 = Math.min(box.y0, y);
    box.x1 = Math.max(box.x1, x);
    box.y1 = Math.max(box.y1, y);
  }
  return box;
}

export function contains(ring: Ring, [px, py]: Point): boolean {
  let inside = false;
  ring.forEach(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    if (y > py !== ny > py && px < ((nx - x) * (py - y)) / (ny - y) + x) inside = !inside;
  });
  return inside;
}

export function distanceToEdge(ring: Ring, [px, py]: Point): number {
  let nearest = Infinity;
  ring.forEach(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    const length2 = (nx - x) ** 2 + (ny - y) ** 2;
    const t = length2 === 0 ? 0 : Math.max(0, Math.min(1, ((px - x) * (nx - x) + (py - y) * (ny - y)) / length2));
    nearest = Math.min(nearest, Math.hypot(px - x - t * (nx - x), py - y - t * (ny - y)));
  });
  return nearest;
}

/**
 * The ring moved inwards by `by` metres: every edge is shifted along its normal and neighbours are met again. The ring
 * itself where that would turn it inside out.
 */
export function inset(ring: Ring, by: number): Ring {
  const way = Math.sign(signedArea(ring));
  const edges = ring.map(([x, y], i) => {
    const [nx, ny] = ring[(i + 1) % ring.length]!;
    const length = Math.hypot(nx - x, ny - y) || 1;
    const dx = (nx - x) / length;
    const dy = (ny - y) / length;
    return { x: x - dy * by * way, y: y + dx * by * way, dx, dy };
  });
  const moved = edges.map((edge, i): Point => {
    const before = edges[(i + edges.length - 1) % edges.length]!;
    const cross = before.dx * edge.dy - before.dy * edge.dx;
    if (Math.abs(cross) < 1e-9) return [edge.x, edge.y];
    const t = ((edge.x - before.x) * edge.dy - (edge.y - before.y) * edge.dx) / cross;
    return [before.x + before.dx * t, before.y + before.dy * t];
  });
  const sound =
    Math.sign(signedArea(moved)) === way &&
    moved.every((point) => contains(ring, point) && distanceToEdge(ring, point) > by * 0.99);
  return sound ? moved : ring;
}

/** A line as an area: each stretch widened by half its width, caps square. One ring a stretch. */
export function widened(line: Point[], width: number): Ring[] {
  const half = width / 2;
  return line.slice(1).map(([x1, y1], i) => {
    const [x0, y0] = line[i]!;
    const length = Math.hypot(x1 - x0, y1 - y0) || 1;
    const nx = (-(y1 - y0) / length) * half;
    const ny = ((x1 - x0) / length) * half;
    return [
      [x0 + nx, y0 + ny],
      [x1 + nx, y1 + ny],
      [x1 - nx, y1 - ny],
      [x0 - nx, y0 - ny],
    ];
  });
}

/** How thick something on a wall is drawn on the plan. */
const WALL_STRIP_M = 0.16;
/** And how far off the wall's line, so that the wall stays to be seen. */
const WALL_GAP_M = 0.05;

/** The strip on the plan of what lies from `left` to `right` along a wall; inwards is to the right of its run. */
export function wallStrip(wall: Wall, left: number, right: number, thick = WALL_STRIP_M): Ring {
  const [lx, ly] = wall.left;
  const [ax, ay] = wall.along;
  const inwards: Point = [ay, -ax];
  const at = (u: number, v: number): Point => [lx + ax * u + inwards[0] * v, ly + ay * u + inwards[1] * v];
  return [at(left, WALL_GAP_M), at(right, WALL_GAP_M), at(right, WALL_GAP_M + thick), at(left, WALL_GAP_M + thick)];
}

/** On which side of its room a wall stands, as the plan is drawn. */
export function sideOf({ along: [ax, ay] }: Pick<Wall, "along">): "right" | "left" | "far" | "near" {
  const [outX, outY] = [-ay, ax];
  if (Math.abs(outX) > Math.abs(outY)) return outX > 0 ? "right" : "left";
  return outY > 0 ? "far" : "near";
}

const WALL_POINT_M = 0.24;
const POINT_M = 0.14;

function square([x, y]: Point, half: number): Ring {
  return [
    [x - half, y - half],
    [x + half, y - half],
    [x + half, y + half],
    [x - half, y + half],
  ];
}

/** What a placed thing covers on the plan of its storey; a point is drawn as a small square. */
export function footprint(place: Placed, room: Room, wall: Wall | undefined): Ring[] {
  const { shape } = place;
  if (place.face.startsWith("wall-")) {
    if (!wall) return [];
    if (shape?.left_m !== undefined) return [wallStrip(wall, shape.left_m, shape.right_m)];
    const along = (shape?.point ? [shape.point] : (shape?.line ?? shape?.outline ?? [])).map(([u]) => u);
    if (along.length === 0) return [wallStrip(wall, 0, wall.length_m)];
    const from = Math.min(...along);
    const to = Math.max(...along);
    const spread = Math.max(0, (WALL_POINT_M - (to - from)) / 2);
    return [wallStrip(wall, from - spread, to + spread)];
  }
  if (shape?.point) return [square(shape.point, POINT_M)];
  if (shape?.line) return widened(shape.line, Math.max(shape.width_m ?? 0, 0.08));
  if (shape?.outline) return [shape.outline];
  return [room.outline];
}

/** The point of a ring furthest from its edges, to some centimetres: where a name has most room. */
export function labelPoint(ring: Ring): { at: Point; clear: number } {
  const box = boxOf([ring]);
  let best = { at: [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2] as Point, clear: -1 };
  const steps = 24;
  for (let i = 1; i < steps; ++i) {
    for (let j = 1; j < steps; ++j) {
      const at: Point = [box.x0 + ((box.x1 - box.x0) * i) / steps, box.y0 + ((box.y1 - box.y0) * j) / steps];
      if (!contains(ring, at)) continue;
      const clear = distanceToEdge(ring, at);
      // Of places as good as each other, the one nearest the middle.
      const middle = Math.hypot(at[0] - (box.x0 + box.x1) / 2, at[1] - (box.y0 + box.y1) / 2) * 1e-3;
      if (clear - middle > best.clear) best = { at, clear: clear - middle };
    }
  }
  return best;
}

/** Breaks a name into lines of at most `most` letters where that can be done between words. */
export function lines(name: string, most: number): string[] {
  const out: string[] = [];
  for (const word of name.split(" ")) {
    const last = out.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= most) out[out.length - 1] = `${last} ${word}`;
    else out.push(word);
  }
  return out;
}
