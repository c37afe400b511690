import { describe, expect, it } from "vitest";
import type { Room, Storey } from "./api";
import { ceilingAt, ceilingLine, reachOf, slopeOf, stripAlong, usualSlope, wallOf } from "./ceilings";
import { area } from "./geometry";
import { rectangle } from "./outlines";

const storeys: Storey[] = [{ id: "L4", name: "Loft", floor_m: 5, height_m: 2.4 }];
const loft: Room = {
  id: "R1",
  name: "Loft",
  storey: "L4",
  kind: "loft",
  outline: rectangle(0, 0, 6, 8),
  heights: [
    { outline: rectangle(0, 0, 2, 8), low_m: 0.4, high_m: 2.4 },
    { outline: rectangle(4, 0, 6, 8), low_m: 0.4, high_m: 2.4 },
  ],
};

describe("a slope", () => {
  it("is lowest along the wall it follows and rises evenly", () => {
    const slope = slopeOf(loft.heights![0]!, loft)!;
    expect(slope.depth).toBeCloseTo(2);
    expect(slope.inwards[0]).toBeCloseTo(1);
    expect(wallOf(slope, loft.outline)).toBe(3);
    for (const [x, height] of [
      [0.001, 0.401],
      [1, 1.4],
      [1.999, 2.399],
      [3, 2.4],
      [5, 1.4],
    ])
      expect(ceilingAt(loft, storeys, [x!, 4])).toBeCloseTo(height!, 2);
  });
  it("that touches no wall is flat, half way between", () => {
    const bay = { ...loft, heights: [{ outline: rectangle(2, 2, 3, 3), low_m: 2, high_m: 3 }] };
    expect(slopeOf(bay.heights[0]!, bay)).toBeNull();
    expect(ceilingAt(bay, storeys, [2.5, 2.5])).toBe(2.5);
  });
  it("does not hang on which way the outline runs", () => {
    const turned = { outline: [...loft.heights![0]!.outline].reverse(), low_m: 0.4, high_m: 2.4 };
    expect(slopeOf(turned, loft)!.depth).toBeCloseTo(2);
  });
});

describe("the ceiling over a run", () => {
  it("breaks where the slopes end, across and along", () => {
    const across = ceilingLine(loft, storeys, (u) => [u, 4], 6)!;
    expect(across.map(([u, h]) => [Math.round(u * 100) / 100, Math.round(h * 100) / 100])).toEqual([
      [0, 0.4],
      [2, 2.4],
      [4, 2.4],
      [6, 0.4],
    ]);
    const along = ceilingLine(loft, storeys, (u) => [1, u], 8)!;
    expect(along.map(([, h]) => Math.round(h * 100) / 100)).toEqual([1.4, 1.4]);
  });
  it("is none of a room without slopes", () => {
    expect(ceilingLine({ ...loft, heights: [] }, storeys, (u) => [u, 4], 6)).toBeNull();
  });
  it("steps where a lower part begins", () => {
    const bay = { ...loft, heights: [{ outline: rectangle(2, 2, 3, 6), low_m: 2, high_m: 2 }] };
    expect(ceilingLine(bay, storeys, (u) => [u, 4], 6)!.map(([, h]) => h)).toEqual([2.4, 2.4, 2, 2, 2.4, 2.4]);
  });
});

describe("a strip along a wall", () => {
  it("is what lies near it, whatever the room's shape", () => {
    expect(area(stripAlong(loft.outline, 3, 2))).toBeCloseTo(16);
    expect(area(stripAlong(loft.outline, 0, 3))).toBeCloseTo(18);
    const l: Room["outline"] = [
      [0, 0],
      [6, 0],
      [6, 3],
      [3, 3],
      [3, 8],
      [0, 8],
    ];
    expect(area(stripAlong(l, 0, 2))).toBeCloseTo(12);
    expect(area(stripAlong(l, 0, 5))).toBeCloseTo(24);
    expect(reachOf(l, 0)).toBe(8);
  });
  it("begins half way across and keeps its eaves", () => {
    const zone = usualSlope(loft, 3, 2.4);
    expect(slopeOf(zone, loft)!.depth).toBeCloseTo(3);
    expect(wallOf(slopeOf(zone, loft)!, loft.outline)).toBe(3);
    expect([zone.low_m, zone.high_m]).toEqual([0.2, 2.4]);
  });
});
