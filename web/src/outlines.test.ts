import { describe, expect, it } from "vitest";
import type { Room } from "./api";
import { area, boxOf, distanceToEdge } from "./geometry";
import { TYPICAL, beside, boxesOverlap, doors, doorway, draw, firstFree, onGrid, partsOf, rectangle } from "./outlines";
import type { Choice, HouseKind } from "./outlines";
import { text } from "./text";

const choice = (kind: HouseKind, more: Partial<Choice> = {}): Choice => ({
  kind,
  width_m: TYPICAL[kind].width_m,
  depth_m: TYPICAL[kind].depth_m,
  upper: TYPICAL[kind].upper ? 1 : 0,
  loft: true,
  conversion: false,
  cellar: true,
  extension: null,
  garage: null,
  ...more,
});
const KINDS = Object.keys(TYPICAL) as HouseKind[];

describe("a typical house", () => {
  it("fills its outside size on every storey, at any size, with no overlap", () => {
    for (const kind of KINDS) {
      for (const [width, depth] of [
        [TYPICAL[kind].width_m, TYPICAL[kind].depth_m],
        [3.35, 11.2],
        [14.05, 6.6],
      ] as const) {
        for (const storey of draw(
          choice(kind, { width_m: width, depth_m: depth, upper: TYPICAL[kind].upper ? 2 : 0 }),
        )) {
          const sum = storey.rooms.reduce((total, room) => total + area(room.outline), 0);
          expect(sum).toBeCloseTo(width * depth, 6);
          storey.rooms.forEach((one, i) =>
            storey.rooms
              .slice(i + 1)
              .forEach((other) => expect(boxesOverlap(boxOf([one.outline]), boxOf([other.outline]))).toBe(false)),
          );
          for (const [x, y] of storey.rooms.flatMap((room) => room.outline)) {
            expect(onGrid(x)).toBeCloseTo(x, 9);
            expect(onGrid(y)).toBeCloseTo(y, 9);
          }
        }
      }
    }
  });
  it("has storeys that do not reach into each other", () => {
    const storeys = draw(choice("terrace", { upper: 2 }));
    expect(storeys.map((storey) => storey.level)).toEqual([-1, 0, 1, 2, 99]);
    storeys
      .slice(1)
      .forEach((storey, i) => expect(storey.floor_m).toBeGreaterThan(storeys[i]!.floor_m + storeys[i]!.height_m));
  });
  it("has doors on both rooms' walls, and a way into every room of a storey that has several", () => {
    const storeys = KINDS.flatMap((kind) =>
      draw(choice(kind, { cellar: false, extension: { width_m: 3, depth_m: 3 } })),
    );
    const several = storeys.filter((storey) => storey.rooms.length > 1);
    expect(several.length).toBeGreaterThan(KINDS.length);
    for (const { rooms } of several) {
      const joined = doors(rooms);
      for (const door of joined) {
        expect(distanceToEdge(rooms[door.from]!.outline, door.at)).toBeLessThan(0.011);
        expect(distanceToEdge(rooms[door.to]!.outline, door.at)).toBeLessThan(0.011);
      }
      const reached = new Set(joined.flatMap((door) => [door.from, door.to]));
      expect(rooms.filter((_, i) => !reached.has(i)).map((room) => room.name)).toEqual([]);
    }
  });
  it("is written down storey by storey, each room by the years of its part", () => {
    const parts = partsOf(
      draw(choice("semi", { garage: { width_m: 2.6, depth_m: 5 } })),
      { house: { from: 1931, to: 1933 }, extension: null, garage: { from: 1966, to: 1966 }, conversion: null },
      text.begin,
    );
    const rooms = parts.filter((part) => "add" in part && part.add === "room");
    const garage = rooms.find((part) => part.fields.name === "Garage");
    expect(garage?.fields).toMatchObject({ kind: "garage", phase: "@garage", storey: "@s1" });
    expect(rooms.find((part) => part.fields.name === "Kitchen")?.fields.phase).toBe("@house");
    // A name stands for something added before it.
    const known = new Set<string>();
    for (const part of parts) {
      for (const value of Object.values(part.fields))
        if (typeof value === "string" && value.startsWith("@")) expect(known).toContain(value);
      if ("as" in part && part.as) known.add(part.as);
    }
    expect(parts.filter((part) => part.fields.kind === "stair")).toHaveLength(1);
  });
});

describe("a loft made into a room", () => {
  const house = choice("terrace", { cellar: false, conversion: true });
  const parts = partsOf(
    draw(house),
    { house: { from: 1934, to: 1936 }, extension: null, garage: null, conversion: { from: 1978, to: 1978 } },
    text.begin,
  );
  const room = (name: string) =>
    parts.find((part) => "add" in part && part.add === "room" && part.fields.name === name)?.fields;

  it("has years of its own, while the eaves beside it stay loft of the house", () => {
    expect(parts.some((part) => part.fields.name === "Loft conversion")).toBe(true);
    expect(room("Loft room")).toMatchObject({ use: "bedroom", phase: "@conversion", storey: "@s2" });
    expect(room("Loft room")).not.toHaveProperty("kind");
    for (const name of ["Eaves, front", "Eaves, back"])
      expect(room(name)).toMatchObject({ kind: "loft", phase: "@house", height_m: 1.2 });
  });
  it("fills the loft, and is reached by a stair from the landing under it", () => {
    const loft = draw(house).at(-1)!;
    expect(loft.rooms.reduce((sum, one) => sum + area(one.outline), 0)).toBeCloseTo(5 * 9, 6);
    const stairs = parts.filter((part) => part.fields.kind === "stair");
    expect(stairs.map((part) => part.fields.to)).toContain("@s2r1");
    const [x, y] = stairs.at(-1)!.fields.at as [number, number];
    const landing = draw(house)[1]!.rooms.find((one) => one.name === "landing")!;
    for (const { x0, y0, x1, y1 } of [boxOf([loft.rooms[1]!.outline]), boxOf([landing.outline])]) {
      expect(x > x0 && x < x1).toBe(true);
      expect(y > y0 && y < y1).toBe(true);
    }
  });
});

describe("doorway", () => {
  it("is the middle of the shared stretch, when a door fits", () => {
    expect(doorway(rectangle(0, 0, 2, 2), rectangle(2, 1, 4, 5))).toEqual([2, 1.5]);
    expect(doorway(rectangle(0, 0, 2, 2), rectangle(2, 1.5, 4, 5))).toBeNull();
    expect(doorway(rectangle(0, 0, 2, 2), rectangle(3, 0, 4, 5))).toBeNull();
  });
});

describe("a new room", () => {
  const rooms: Room[] = [
    { id: "R1", name: "", storey: "L1", outline: rectangle(0, 0, 4, 4) },
    { id: "R2", name: "", storey: "L1", outline: rectangle(4, 0, 8, 4) },
  ];
  it("is put where nothing is yet", () => {
    expect(firstFree(rooms, "R1", 3, 3)).toEqual({ room: "R1", side: "left" });
    expect(firstFree(rooms, "R2", 3, 3)).toEqual({ room: "R2", side: "right" });
    expect(firstFree([], undefined, 3, 3)).toBeNull();
    for (const room of rooms) {
      const free = firstFree(rooms, room.id, 3, 3)!;
      const box = boxOf([beside(boxOf([room.outline]), free.side, 3, 3)]);
      expect(rooms.some((other) => boxesOverlap(box, boxOf([other.outline])))).toBe(false);
    }
  });
});
