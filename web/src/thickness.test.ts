import { expect, it } from "vitest";
import { thicknessesOf } from "./thickness";

const families = [
  { id: "board", name: "board", thickness_mm: { low: 6, high: 12.7, source: "common-practice" } },
  { id: "tile", name: "tile", thickness_mm: { low: 2, high: 2, source: "judgement" } },
];

it("offers what the book has of the very material before what is usual of its kind", () => {
  const own = thicknessesOf({ family: "board", thickness_mm: 9 }, families);
  expect(own).toEqual({ mm: [9], family: "board", source: "book" });
});

it("offers both ends of the usual range, with where it is from", () => {
  expect(thicknessesOf({ family: "board" }, families)).toEqual({
    mm: [6, 12.7],
    family: "board",
    source: "common-practice",
  });
  expect(thicknessesOf({ family: "tile" }, families)?.mm).toEqual([2]);
});

it("offers nothing where nothing is known", () => {
  expect(thicknessesOf(undefined, families)).toBeUndefined();
  expect(thicknessesOf({ family: "unheard of" }, families)).toBeUndefined();
});
