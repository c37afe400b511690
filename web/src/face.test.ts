import { expect, it } from "vitest";
import { faceRing, shapeOf } from "./face";

it("makes a shape of what was tapped", () => {
  expect(shapeOf("hole", [])).toBeUndefined();
  expect(shapeOf("hole", [[1, 2]])).toEqual({ point: [1, 2] });
  expect(shapeOf("line", [[1, 2]])).toBeUndefined();
  expect(
    shapeOf("line", [
      [1, 2],
      [3, 2],
    ]),
  ).toEqual({
    line: [
      [1, 2],
      [3, 2],
    ],
  });
  expect(
    shapeOf("line", [
      [1, 2],
      [1, 2],
    ]),
  ).toBeUndefined();
  // Whichever corners were tapped, the outline runs anticlockwise.
  expect(
    shapeOf("area", [
      [3, 2],
      [1, 5],
    ]),
  ).toEqual({
    outline: [
      [1, 2],
      [3, 2],
      [3, 5],
      [1, 5],
    ],
  });
  expect(
    shapeOf("area", [
      [3, 2],
      [1, 2],
    ]),
  ).toBeUndefined();
});

it("shows a wall along its foot and up, a ceiling as on the plan", () => {
  const room = {
    id: "R1",
    name: "Hall",
    storey: "L1",
    outline: [
      [1, 1],
      [4, 1],
      [4, 3],
      [1, 3],
    ] as [number, number][],
  };
  const whole = {
    walls: { R1: { "wall-2": { left: [4, 1] as [number, number], along: [0, 1] as [number, number], length_m: 2 } } },
    book: {
      format: "lathbook-book" as const,
      version: 1 as const,
      about: { title: "", currency: "GBP", rules: "gb" },
      storeys: [{ id: "L1", name: "", floor_m: 0, height_m: 2.5 }],
    },
  };
  expect(faceRing(room, "wall-2", whole)).toEqual([
    [0, 0],
    [2, 0],
    [2, 2.5],
    [0, 2.5],
  ]);
  expect(faceRing(room, "ceiling", whole)).toEqual(room.outline);
});
