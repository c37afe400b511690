import { describe, expect, it } from "vitest";
import type { Book, Opening, Point } from "./api";
import { area } from "./geometry";
import type { Ring } from "./geometry";
import { rectangle } from "./outlines";
import {
  afterCorner,
  afterNoCorner,
  anticlockwise,
  carried,
  moved,
  openingsCarried,
  renumbered,
  snap,
  wallLength,
  withCorner,
  withCornerAt,
  withWallLength,
  withWallMoved,
  withoutCorner,
} from "./shape";

const square = rectangle(0, 0, 4, 3);
const next = rectangle(4, 0, 7, 5);

describe("snap", () => {
  const own: Point[] = [[0, 3]];
  it("prefers another room's corner", () => expect(snap([6.93, 4.94], [next], own, 0.15)).toEqual([7, 5]));
  it("else lines up with corners, x and y each for itself", () => {
    expect(snap([2.02, 2.9], [next], own, 0.15)).toEqual([2, 3]);
    expect(snap([4.1, 2.93], [next], own, 0.15)).toEqual([4, 3]);
  });
  it("else rests on another room's wall", () => {
    const slanted: Ring = [
      [10, 0],
      [14, 4],
      [10, 4],
    ];
    const [x, y] = snap([12.03, 1.98], [slanted], [], 0.1);
    expect(x - y).toBeCloseTo(10, 3);
  });
  it("else rests on the grid", () => expect(snap([2.03, 1.28], [next], own, 0.01)).toEqual([2.05, 1.3]));
});

describe("an outline", () => {
  it("runs anticlockwise from the same first corner", () => {
    const ring = anticlockwise([
      [0, 0],
      [0, 3],
      [4, 3],
      [4, 0],
    ]);
    expect(ring).toEqual(square);
    expect(anticlockwise(ring)).toBe(ring);
  });
  it("keeps its corners square when a wall is made longer", () => {
    for (let i = 0; i < 4; ++i) {
      const longer = withWallLength(square, i, 5);
      expect(wallLength(longer, i)).toBeCloseTo(5);
      expect(area(longer)).toBeCloseTo(i % 2 === 0 ? 15 : 20);
    }
  });
  it("grows by a wall's length times its move", () => {
    for (let i = 0; i < 4; ++i)
      expect(area(withWallMoved(square, i, 0.5))).toBeCloseTo(12 + 0.5 * wallLength(square, i));
  });
  it("has the same area with a corner more in a straight wall, and less without one", () => {
    for (let i = 0; i < 4; ++i) {
      expect(area(withCorner(square, i))).toBeCloseTo(12);
      expect(withoutCorner(withCorner(square, i), i + 1)).toEqual(square);
      expect(area(withoutCorner(square, i))).toBeCloseTo(6);
    }
  });
  it("moves as it is", () => {
    expect(area(moved(square, 1.1, -2))).toBeCloseTo(12);
    expect(withCornerAt(square, 2, [5, 5])[2]).toEqual([5, 5]);
  });
});

describe("wall numbers", () => {
  const length = (ring: Ring, wall: number) => wallLength(ring, wall - 1);
  const five: Ring = [
    [0, 0],
    [4, 0],
    [6, 1],
    [5, 4],
    [0, 3],
  ];
  it("follow the walls they stood for", () => {
    for (let i = 0; i < five.length; ++i) {
      const more = withCorner(five, i);
      const fewer = withoutCorner(five, i);
      let parted = 0;
      let joined = 0;
      for (let wall = 1; wall <= five.length; ++wall) {
        const there = afterCorner(i)(wall);
        if (there === null) ++parted;
        else expect(length(more, there)).toBeCloseTo(length(five, wall));
        const left = afterNoCorner(i, five.length)(wall);
        if (left === null) ++joined;
        else expect(length(fewer, left)).toBeCloseTo(length(five, wall));
      }
      expect([parted, joined]).toEqual([1, 2]);
    }
  });
  it("carry along what is on them, and tell what stands in the way", () => {
    const book: Book = {
      format: "lathbook-book",
      version: 1,
      about: { title: "", currency: "GBP", rules: "gb" },
      materials: [
        { id: "M1", name: "Duct", family: "x", room: "R1", face: "wall-4" },
        { id: "M2", name: "Tiles", family: "x", room: "R1", face: "floor" },
        { id: "M3", name: "Panel", family: "x", room: "R1", face: "wall-2" },
        { id: "M4", name: "Other", family: "x", room: "R2", face: "wall-4" },
      ],
      jobs: [
        {
          id: "J1",
          title: "",
          cuts: [
            { task: "drill", room: "R1", face: "wall-3" },
            { task: "drill", room: "R2", face: "wall-3" },
          ],
        },
      ],
    };
    const { parts, stuck } = renumbered(book, "R1", afterCorner(1));
    expect(stuck).toEqual(["Panel"]);
    expect(parts).toEqual([
      { set: "M1", fields: { face: "wall-5" } },
      {
        set: "J1",
        fields: {
          cuts: [
            { task: "drill", room: "R1", face: "wall-4" },
            { task: "drill", room: "R2", face: "wall-3" },
          ],
        },
      },
    ]);
  });
});

describe("a room moved as a whole", () => {
  it("takes along what is drawn on its floor and its doors to the outside", () => {
    const book: Book = {
      format: "lathbook-book",
      version: 1,
      about: { title: "", currency: "GBP", rules: "gb" },
      materials: [
        { id: "M1", name: "", family: "x", room: "R1", face: "floor", shape: { outline: rectangle(0, 0, 1, 1) } },
        { id: "M2", name: "", family: "x", room: "R1", face: "wall-1", shape: { point: [1, 1] } },
        { id: "M3", name: "", family: "x", room: "R1", face: "ceiling" },
      ],
      openings: [
        { id: "O1", kind: "door", from: "R1", at: [0, 1] },
        { id: "O2", kind: "door", from: "R1", to: "R2", at: [4, 1] },
      ],
    };
    expect(carried(book, { id: "R1", name: "", storey: "L1", outline: square }, 2, -1)).toEqual([
      { set: "M1", fields: { shape: { outline: rectangle(2, -1, 3, 0) } } },
      { set: "O1", fields: { at: [2, 0] } },
    ]);
  });
});

describe("the doors and windows of a wall that is moved", () => {
  const before = rectangle(0, 0, 4, 3);
  const opening = (at: Point): Opening => ({ id: "O1", kind: "door", from: "R1", at });
  const follow = (at: Point, after: Point[]) =>
    openingsCarried(
      { format: "lathbook-book", version: 1, about: { title: "" }, openings: [opening(at)] },
      "R1",
      before,
      after,
    );
  it("go with it", () => {
    expect(follow([4, 1], rectangle(0, 0, 5, 3))).toEqual([{ set: "O1", fields: { at: [5, 1] } }]);
    expect(follow([1, 0], rectangle(0, 0, 5, 3))).toEqual([]); // as far from the end that stays
    expect(follow([3, 3], rectangle(0, 0, 5, 3))).toEqual([]);
    expect(follow([3, 3], rectangle(1, 0, 4, 3))).toEqual([]);
    expect(follow([4.1, 1], rectangle(0, 0, 5, 3))).toEqual([{ set: "O1", fields: { at: [5.1, 1] } }]);
  });
  it("stay where they are when nothing of theirs moves, or when they are in no wall", () => {
    expect(follow([2, 1.5], rectangle(0, 0, 5, 3))).toEqual([]);
    expect(follow([0, 1], rectangle(0, 0, 5, 3))).toEqual([]);
  });
});
