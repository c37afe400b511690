import { describe, expect, it } from "vitest";
import type { Room, Wall } from "./api";
import {
  area,
  boxOf,
  contains,
  distanceToEdge,
  footprint,
  inset,
  labelPoint,
  lines,
  wallStrip,
  widened,
} from "./geometry";
import type { Ring } from "./geometry";

const square: Ring = [
  [0, 0],
  [4, 0],
  [4, 3],
  [0, 3],
];
const ell: Ring = [
  [0, 0],
  [6, 0],
  [6, 1],
  [1, 1],
  [1, 5],
  [0, 5],
];
const room: Room = { id: "R1", name: "Room", storey: "L1", outline: square };

describe("inset", () => {
  it("takes a strip off every side, whichever way the ring runs", () => {
    expect(area(inset(square, 0.5))).toBeCloseTo(3 * 2);
    expect(area(inset([...square].reverse(), 0.5))).toBeCloseTo(3 * 2);
  });
  it("keeps the shape of an L", () => {
    // Each arm becomes 0.6 wide: 5.6 * 0.6 + 0.6 * 4.
    expect(area(inset(ell, 0.2))).toBeCloseTo(5.6 * 0.6 + 0.6 * 4);
    for (const point of inset(ell, 0.2)) expect(distanceToEdge(ell, point)).toBeGreaterThan(0.199);
  });
  it("leaves a ring alone that is too narrow", () => {
    expect(inset(ell, 0.6)).toBe(ell);
    expect(inset(square, 1.6)).toBe(square);
  });
});

describe("contains and labelPoint", () => {
  it("finds the outside of an L's corner outside", () => {
    expect(contains(ell, [3, 3])).toBe(false);
    expect(contains(ell, [0.5, 3])).toBe(true);
  });
  it("puts a name inside, with most room", () => {
    expect(labelPoint(square).clear).toBeCloseTo(1.5, 1);
    expect(contains(ell, labelPoint(ell).at)).toBe(true);
  });
});

describe("widened", () => {
  it("covers length times width", () => {
    const [ring] = widened(
      [
        [0, 0],
        [3, 4],
      ],
      0.1,
    );
    expect(area(ring!)).toBeCloseTo(0.5);
  });
});

describe("walls", () => {
  // The south wall of the square, seen from inside: it starts at its east end.
  const south: Wall = { left: [4, 0], along: [-1, 0], length_m: 4 };
  it("lie inside the room", () => {
    const strip = wallStrip(south, 0.5, 1.5);
    expect(boxOf([strip]).x0).toBeCloseTo(2.5);
    expect(boxOf([strip]).x1).toBeCloseTo(3.5);
    expect(boxOf([strip]).y0).toBeCloseTo(0.05);
    expect(boxOf([strip]).y1).toBeGreaterThan(0);
  });
  it("are covered whole when no shape is given", () => {
    const [strip] = footprint({ room: "R1", face: "wall-1" }, room, south);
    expect(boxOf([strip!]).x1 - boxOf([strip!]).x0).toBeCloseTo(4);
  });
  it("show a point large enough to be seen", () => {
    const [strip] = footprint({ room: "R1", face: "wall-1", shape: { point: [1, 0.4] } }, room, south);
    expect(boxOf([strip!]).x1 - boxOf([strip!]).x0).toBeCloseTo(0.24);
  });
});

describe("lines", () => {
  it("breaks between words only", () => {
    expect(lines("Cupboard under the stairs", 10)).toEqual(["Cupboard", "under the", "stairs"]);
    expect(lines("Hall", 2)).toEqual(["Hall"]);
  });
});
