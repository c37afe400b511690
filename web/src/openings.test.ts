import { describe, expect, it } from "vitest";
import type { Opening, Wall } from "./api";
import { changes, freest, gapOf, leavesOf, pointOn, raised, roomBehind, seatOf, slid, stretched } from "./openings";
import type { Seat } from "./openings";

// Seen from inside, left to right; the room lies below the line on the plan.
const wall: Wall = { left: [0, 4], along: [1, 0], length_m: 5 };
const seat: Seat = { room: "R1", face: "wall-3", left: 1, right: 1.8, low: 0, high: 2 };
const door: Opening = { id: "O1", kind: "door", from: "R1", to: "R2", at: [1.4, 4], width_m: 0.8, height_m: 2 };

describe("an opening in its wall", () => {
  it("is where the program has it, of the room it leads from first", () => {
    const outline: [number, number][] = [
      [1, 0],
      [1.8, 0],
      [1.8, 2],
      [1, 2],
    ];
    const openings = {
      O1: [
        { room: "R2", face: "wall-1", outline },
        { room: "R1", face: "wall-3", outline },
      ],
    };
    expect(seatOf({ openings }, door)).toEqual(seat);
    expect(seatOf({ openings: { O1: [{ room: "R1", face: "ceiling", outline }] } }, door)).toBeNull();
    expect(seatOf({ openings: {} }, door)).toBeNull();
  });
  it("slides on the grid and not past the ends of the wall", () => {
    expect(slid(seat, 0.52, 5).left).toBe(1.5);
    expect(slid(seat, -9, 5).left).toBe(0);
    expect(slid(seat, 9, 5)).toMatchObject({ left: 4.2, right: 5 });
  });
  it("is sized at either end and at its lower and upper edge", () => {
    expect(stretched(seat, "left", -0.33, 5)).toMatchObject({ left: 0.65, right: 1.8 });
    expect(stretched(seat, "left", 3, 5).left).toBe(1.7); // never turned inside out
    expect(stretched(seat, "right", 9, 5).right).toBe(5);
    expect(raised(seat, "high", 9, 2.4).high).toBe(2.4);
    expect(raised(seat, "low", 0.9, 2.4)).toMatchObject({ low: 0.9, high: 2 });
  });
  it("writes only what has changed", () => {
    expect(changes(door, seat, seat, wall)).toEqual({});
    expect(changes(door, seat, slid(seat, 0.5, 5), wall)).toEqual({ at: [1.9, 4] });
    expect(changes(door, seat, stretched(seat, "right", 0.2, 5), wall)).toEqual({ at: [1.5, 4], width_m: 1 });
    expect(changes(door, seat, raised(seat, "low", 0.9, 2.4), wall)).toEqual({ height_m: 1.1, sill_m: 0.9 });
  });
  it("finds the longest free stretch", () => {
    expect(freest(5, [])).toEqual({ middle: 2.5, length: 5 });
    expect(freest(5, [[1, 1.8]])).toEqual({ middle: 3.4, length: 3.2 });
    expect(
      freest(5, [
        [3, 5],
        [0, 1],
      ]),
    ).toEqual({ middle: 2, length: 2 });
  });
  it("leads to the room behind that spot", () => {
    const where: [number, number][] = [
      [0, 0],
      [2, 0],
      [2, 2.4],
      [0, 2.4],
    ];
    const backs = {
      room: "R1",
      faces: [
        {
          face: "wall-3",
          area_m2: 12,
          bare_m2: 7.2,
          backs: [{ room: "R2", face: "wall-1", thickness_m: 0, area_m2: 4.8, where: [where] }],
        },
      ],
    };
    expect(roomBehind(backs, "wall-3", [1, 1])).toBe("R2");
    expect(roomBehind(backs, "wall-3", [3, 1])).toBeUndefined();
    expect(roomBehind(null, "wall-3", [1, 1])).toBeUndefined();
  });
});

describe("a door on the plan", () => {
  it("hangs nearest the corner and opens into the room it leads to, unless it is said otherwise", () => {
    const [leaf] = leavesOf(door, seat, wall);
    expect(leaf!.hinge).toEqual([1, 4]);
    expect(leaf!.shut).toEqual([1.8, 4]);
    expect(leaf!.open[1]).toBeCloseTo(4.8); // out of R1, which lies below
    const [other] = leavesOf({ ...door, hung: "right", opens: "in" }, seat, wall);
    expect(other!.hinge).toEqual([1.8, 4]);
    expect(other!.open[1]).toBeCloseTo(3.2);
  });
  it("is the same door from the other side of the wall", () => {
    // R2 sees the wall from above: its left end is the other one.
    const back: Wall = { left: [5, 4], along: [-1, 0], length_m: 5 };
    const there: Seat = { room: "R2", face: "wall-1", left: 3.2, right: 4, low: 0, high: 2 };
    for (const hung of ["left", "right"] as const)
      for (const opens of ["in", "out"] as const) {
        const said = { ...door, hung, opens };
        const [a] = leavesOf(said, seat, wall);
        const [b] = leavesOf(said, there, back);
        for (const part of ["hinge", "open", "shut"] as const) {
          expect(a![part][0]).toBeCloseTo(b![part][0]);
          expect(a![part][1]).toBeCloseTo(b![part][1]);
        }
      }
  });
  it("is a pair when it is wide", () => {
    const pair = leavesOf({ ...door, width_m: 2 }, { ...seat, right: 3 }, wall);
    expect(pair.map((leaf) => leaf.hinge)).toEqual([
      [1, 4],
      [3, 4],
    ]);
    expect(pair[0]!.shut).toEqual([2, 4]);
  });
  it("keeps its gap within the wall", () => {
    expect(gapOf({ ...seat, left: -0.3 }, wall)[0]![0]).toBe(0);
    expect(pointOn(wall, 2, 1)).toEqual([2, 3]);
  });
});
