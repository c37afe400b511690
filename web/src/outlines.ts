// Typical houses as outlines to begin from, stretched to the size the person types, and where a new room finds a place.
// Plan coordinates are metres, x to the right and y away from the street.
import type { Point, Room } from "./api";
import { boxOf } from "./geometry";
import type { Box, Ring } from "./geometry";

export type HouseKind = "terrace" | "semi" | "bungalow" | "flat";
type RoomName =
  | "hall"
  | "landing"
  | "front room"
  | "back room"
  | "living room"
  | "dining room"
  | "kitchen"
  | "bathroom"
  | "front bedroom"
  | "back bedroom"
  | "small bedroom"
  | "loft"
  | "loft room"
  | "front eaves"
  | "back eaves"
  | "cellar"
  | "garage"
  | "extension";

/** A room as shares of the width and depth: left, near, right, far. */
type Share = [RoomName, number, number, number, number];
interface Typical {
  width_m: number;
  depth_m: number;
  ground: Share[];
  /** A storey above, repeated for each one; none when the house has a single floor. */
  upper?: Share[];
}

// Common layouts of the trade, no source: a beginning to change, not a claim about the house.
export const TYPICAL: Record<HouseKind, Typical> = {
  terrace: {
    width_m: 5,
    depth_m: 9,
    ground: [
      ["hall", 0, 0, 0.26, 0.7],
      ["front room", 0.26, 0, 1, 0.38],
      ["back room", 0.26, 0.38, 1, 0.7],
      ["kitchen", 0, 0.7, 1, 1],
    ],
    upper: [
      ["front bedroom", 0, 0, 1, 0.38],
      ["landing", 0, 0.38, 0.26, 0.7],
      ["back bedroom", 0.26, 0.38, 1, 0.7],
      ["bathroom", 0, 0.7, 0.5, 1],
      ["small bedroom", 0.5, 0.7, 1, 1],
    ],
  },
  semi: {
    width_m: 6.2,
    depth_m: 8,
    ground: [
      ["hall", 0.66, 0, 1, 0.55],
      ["living room", 0, 0, 0.66, 0.5],
      ["dining room", 0, 0.5, 0.66, 1],
      ["kitchen", 0.66, 0.55, 1, 1],
    ],
    upper: [
      ["small bedroom", 0.66, 0, 1, 0.28],
      ["landing", 0.66, 0.28, 1, 0.68],
      ["bathroom", 0.66, 0.68, 1, 1],
      ["front bedroom", 0, 0, 0.66, 0.5],
      ["back bedroom", 0, 0.5, 0.66, 1],
    ],
  },
  bungalow: {
    width_m: 10,
    depth_m: 8,
    ground: [
      ["living room", 0, 0, 0.42, 0.55],
      ["kitchen", 0, 0.55, 0.42, 1],
      ["hall", 0.42, 0, 0.58, 0.68],
      ["bathroom", 0.42, 0.68, 0.58, 1],
      ["front bedroom", 0.58, 0, 1, 0.5],
      ["back bedroom", 0.58, 0.5, 1, 1],
    ],
  },
  flat: {
    width_m: 8,
    depth_m: 7,
    ground: [
      ["living room", 0, 0, 0.44, 0.6],
      ["kitchen", 0, 0.6, 0.44, 1],
      ["hall", 0.44, 0, 0.6, 0.64],
      ["bathroom", 0.44, 0.64, 0.6, 1],
      ["front bedroom", 0.6, 0, 1, 0.5],
      ["small bedroom", 0.6, 0.5, 1, 1],
    ],
  },
};

export type Part =
  { add: string; as?: string; fields: Record<string, unknown> } | { set: string; fields: Record<string, unknown> };

export interface Choice {
  kind: HouseKind;
  width_m: number;
  depth_m: number;
  /** Storeys above the ground floor. */
  upper: number;
  loft: boolean;
  /** The loft was made into a room; what is left of it are the eaves on both sides. */
  conversion: boolean;
  cellar: boolean;
  extension: { width_m: number; depth_m: number } | null;
  garage: { width_m: number; depth_m: number } | null;
}

interface DrawnRoom {
  name: RoomName;
  kind?: string;
  height_m?: number;
  outline: Ring;
}
export interface DrawnStorey {
  level: number;
  floor_m: number;
  height_m: number;
  rooms: DrawnRoom[];
}

export const GRID_M = 0.05;
export const onGrid = (metres: number): number => Math.round(Math.round(metres / GRID_M) * GRID_M * 1000) / 1000;

export const rectangle = (x0: number, y0: number, x1: number, y1: number): Ring => [
  [x0, y0],
  [x1, y0],
  [x1, y1],
  [x0, y1],
];

const HEIGHT_M = 2.4;
const FLOOR_THICKNESS_M = 0.25;
const LOFT_HEIGHT_M = 2.1;
const LOFT_ROOM_HEIGHT_M = 2.2;
/** Height of the low walls a room under the roof ends at, and of the eaves behind them. */
const EAVES_HEIGHT_M = 1.2;
const EAVES_SHARE = 0.18;
const CELLAR_HEIGHT_M = 2;

function stretched(shares: Share[], width: number, depth: number): DrawnRoom[] {
  return shares.map(([name, x0, y0, x1, y1]) => ({
    name,
    outline: rectangle(onGrid(x0 * width), onGrid(y0 * depth), onGrid(x1 * width), onGrid(y1 * depth)),
  }));
}

/** A loft made into a room: the room in the middle, and towards the street and the garden what is still loft. */
function converted(width: number, depth: number): DrawnRoom[] {
  const across = (name: RoomName, from: number, to: number, more: Partial<DrawnRoom> = {}): DrawnRoom => ({
    name,
    ...more,
    outline: rectangle(0, onGrid(from * depth), onGrid(width), onGrid(to * depth)),
  });
  const eaves = { kind: "loft", height_m: EAVES_HEIGHT_M };
  return [
    across("front eaves", 0, EAVES_SHARE, eaves),
    across("loft room", EAVES_SHARE, 1 - EAVES_SHARE),
    across("back eaves", 1 - EAVES_SHARE, 1, eaves),
  ];
}

/** The storeys of a choice, from the lowest up. */
export function draw(choice: Choice): DrawnStorey[] {
  const typical = TYPICAL[choice.kind];
  const { width_m: width, depth_m: depth } = choice;
  const out: DrawnStorey[] = [];
  const whole = rectangle(0, 0, onGrid(width), onGrid(depth));
  if (choice.cellar)
    out.push({
      level: -1,
      floor_m: -(CELLAR_HEIGHT_M + FLOOR_THICKNESS_M),
      height_m: CELLAR_HEIGHT_M,
      rooms: [{ name: "cellar", kind: "cellar", outline: whole }],
    });
  const ground = stretched(typical.ground, width, depth);
  if (choice.extension) {
    // Behind the kitchen, where they nearly always are.
    const kitchen = typical.ground.find(([name]) => name === "kitchen")!;
    const left = Math.max(0, Math.min(kitchen[1] * width, width - choice.extension.width_m));
    ground.push({
      name: "extension",
      outline: rectangle(
        onGrid(left),
        onGrid(depth),
        onGrid(left + choice.extension.width_m),
        onGrid(depth + choice.extension.depth_m),
      ),
    });
  }
  if (choice.garage) {
    const left = onGrid(width);
    const near = onGrid(Math.max(0, depth - choice.garage.depth_m) / 2);
    ground.push({
      name: "garage",
      kind: "garage",
      outline: rectangle(left, near, onGrid(width + choice.garage.width_m), onGrid(near + choice.garage.depth_m)),
    });
  }
  out.push({ level: 0, floor_m: 0, height_m: HEIGHT_M, rooms: ground });
  let floor = HEIGHT_M + FLOOR_THICKNESS_M;
  for (let level = 1; typical.upper && level <= choice.upper; ++level, floor += HEIGHT_M + FLOOR_THICKNESS_M)
    out.push({
      level,
      floor_m: Math.round(floor * 100) / 100,
      height_m: HEIGHT_M,
      rooms: stretched(typical.upper, width, depth),
    });
  if (choice.loft)
    out.push({
      level: 99,
      floor_m: Math.round(floor * 100) / 100,
      height_m: choice.conversion ? LOFT_ROOM_HEIGHT_M : LOFT_HEIGHT_M,
      rooms: choice.conversion ? converted(width, depth) : [{ name: "loft", kind: "loft", outline: whole }],
    });
  return out;
}

/** The middle of the longest stretch two outlines share; null when that is shorter than a door. */
export function doorway(one: Ring, other: Ring, least = 0.8): Point | null {
  let best: { length: number; at: Point } | null = null;
  one.forEach(([ax, ay], i) => {
    const [bx, by] = one[(i + 1) % one.length]!;
    const length = Math.hypot(bx - ax, by - ay);
    if (length === 0) return;
    const ux = (bx - ax) / length;
    const uy = (by - ay) / length;
    other.forEach(([cx, cy], j) => {
      const [dx, dy] = other[(j + 1) % other.length]!;
      const off = (x: number, y: number) => Math.abs((x - ax) * -uy + (y - ay) * ux);
      if (off(cx, cy) > 0.01 || off(dx, dy) > 0.01) return;
      const c = (cx - ax) * ux + (cy - ay) * uy;
      const d = (dx - ax) * ux + (dy - ay) * uy;
      const from = Math.max(0, Math.min(c, d));
      const to = Math.min(length, Math.max(c, d));
      if (to - from < least || (best && to - from <= best.length)) return;
      const middle = (from + to) / 2;
      best = { length: to - from, at: [ax + ux * middle, ay + uy * middle] };
    });
  });
  return best ? (best as { at: Point }).at : null;
}

const HEARTS: RoomName[] = ["hall", "landing"];
/** Where a stair comes up. */
const UPSTAIRS: RoomName[] = ["landing", "loft room"];
/** Rooms usually reached from another when neither hall nor landing meets them. */
const WAYS: [RoomName, RoomName][] = [
  ["back room", "kitchen"],
  ["living room", "kitchen"],
  ["living room", "dining room"],
  ["back bedroom", "small bedroom"],
  ["kitchen", "extension"],
  ["dining room", "extension"],
];

const rounded = (point: Point): Point => [Math.round(point[0] * 100) / 100, Math.round(point[1] * 100) / 100];

/** Doors a house of this kind is sure to have: hall to every room it meets, kitchen to extension. */
export function doors(rooms: DrawnRoom[]): { from: number; to: number; at: Point }[] {
  const out: { from: number; to: number; at: Point }[] = [];
  const reached = new Set<number>();
  const join = (from: number, to: number) => {
    const at = doorway(rooms[from]!.outline, rooms[to]!.outline);
    if (!at) return;
    out.push({ from, to, at: rounded(at) });
    reached.add(to);
  };
  rooms.forEach((heart, i) => {
    if (!HEARTS.includes(heart.name)) return;
    reached.add(i);
    rooms.forEach((room, j) => i !== j && room.kind === undefined && room.name !== "extension" && join(i, j));
  });
  for (const [from, to] of WAYS) {
    const i = rooms.findIndex((room) => room.name === from);
    const j = rooms.findIndex((room) => room.name === to);
    if (i >= 0 && j >= 0 && !reached.has(j)) join(i, j);
  }
  return out;
}

export interface Years {
  from: number;
  to: number;
}

/** Parts of a house that may each have years of their own. */
const PHASES = ["house", "extension", "garage", "conversion"] as const;
export type PhaseName = (typeof PHASES)[number];

function phaseOf(name: RoomName): PhaseName {
  if (name === "extension" || name === "garage") return name;
  return name === "loft room" ? "conversion" : "house";
}

/** The edits that write a drawn house down, in one step. `words` names what the book will show. */
export function partsOf(
  storeys: DrawnStorey[],
  years: Record<PhaseName, Years | null>,
  words: {
    phases: Record<PhaseName, string>;
    storey: (level: number) => string;
    rooms: Record<RoomName, string>;
    uses: Partial<Record<RoomName, string>>;
  },
): Part[] {
  const parts: Part[] = [];
  const stairs: Part[] = []; // name rooms of a storey that comes later
  for (const phase of PHASES) {
    const range = years[phase];
    if (range) parts.push({ add: "phase", as: `@${phase}`, fields: { name: words.phases[phase], years: range } });
  }
  storeys.forEach((storey, s) => {
    parts.push({
      add: "storey",
      as: `@s${s}`,
      fields: { name: words.storey(storey.level), floor_m: storey.floor_m, height_m: storey.height_m },
    });
    storey.rooms.forEach((room, r) => {
      const use = words.uses[room.name];
      const phase = years[phaseOf(room.name)] ? `@${phaseOf(room.name)}` : undefined;
      parts.push({
        add: "room",
        as: `@s${s}r${r}`,
        fields: {
          name: words.rooms[room.name],
          storey: `@s${s}`,
          ...(room.kind ? { kind: room.kind } : {}),
          ...(room.height_m ? { height_m: room.height_m } : {}),
          ...(use ? { use } : {}),
          ...(phase ? { phase } : {}),
          outline: room.outline,
        },
      });
    });
    for (const door of doors(storey.rooms))
      parts.push({
        add: "opening",
        fields: { kind: "door", from: `@s${s}r${door.from}`, to: `@s${s}r${door.to}`, at: door.at },
      });
    const heart = storey.rooms.findIndex((room) => HEARTS.includes(room.name));
    if (heart < 0) return;
    const box = boxOf([storey.rooms[heart]!.outline]);
    if (storey.level === 0) {
      const at = rounded([(box.x0 + box.x1) / 2, box.y0]);
      parts.push({ add: "opening", fields: { kind: "door", from: `@s${s}r${heart}`, at, width_m: 0.85 } });
    }
    const above = storeys[s + 1]?.rooms.findIndex((room) => UPSTAIRS.includes(room.name)) ?? -1;
    if (above >= 0) {
      const over = boxOf([storeys[s + 1]!.rooms[above]!.outline]);
      const at = rounded([
        (Math.max(box.x0, over.x0) + Math.min(box.x1, over.x1)) / 2,
        (Math.max(box.y0, over.y0) + Math.min(box.y1, over.y1)) / 2,
      ]);
      stairs.push({
        add: "opening",
        fields: { kind: "stair", from: `@s${s}r${heart}`, to: `@s${s + 1}r${above}`, at },
      });
    }
  });
  return [...parts, ...stairs];
}

type Side = "right" | "left" | "far" | "near";
export const SIDES: Side[] = ["right", "left", "far", "near"];

/** A rectangle against one side of a room's box, flush with its near or left edge. */
export function beside(box: Box, side: Side, width: number, depth: number): Ring {
  const at: Record<Side, Point> = {
    right: [box.x1, box.y0],
    left: [box.x0 - width, box.y0],
    far: [box.x0, box.y1],
    near: [box.x0, box.y0 - depth],
  };
  const [x, y] = at[side];
  return rectangle(onGrid(x), onGrid(y), onGrid(x + width), onGrid(y + depth));
}

/** Whether two boxes share more than a wall's thickness. */
export function boxesOverlap(a: Box, b: Box, slack = 0.01): boolean {
  return Math.min(a.x1, b.x1) - Math.max(a.x0, b.x0) > slack && Math.min(a.y1, b.y1) - Math.max(a.y0, b.y0) > slack;
}

/** The first place beside a room where nothing is yet, beginning with the room wanted. */
export function firstFree(
  rooms: Room[],
  wanted: string | undefined,
  width: number,
  depth: number,
): { room: string; side: Side } | null {
  const order = [...rooms].sort((a, b) => Number(b.id === wanted) - Number(a.id === wanted));
  // Nobody builds into the street while there is room elsewhere.
  for (const sides of [SIDES.filter((side) => side !== "near"), ["near" as const]]) {
    for (const room of order) {
      for (const side of sides) {
        const box = boxOf([beside(boxOf([room.outline]), side, width, depth)]);
        if (!rooms.some((other) => boxesOverlap(box, boxOf([other.outline])))) return { room: room.id, side };
      }
    }
  }
  return order[0] ? { room: order[0].id, side: "right" } : null;
}
