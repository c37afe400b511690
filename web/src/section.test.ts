import { describe, expect, it } from "vitest";
import type { Book, Room } from "./api";
import { rectangle } from "./outlines";
import { cutThrough, stretches } from "./section";

const room = (id: string, storey: string, x0: number, y0: number, x1: number, y1: number): Room => ({
  id,
  name: id,
  storey,
  outline: rectangle(x0, y0, x1, y1),
});
const book: Book = {
  format: "lathbook-book",
  version: 1,
  about: { title: "", currency: "GBP", rules: "gb" },
  storeys: [
    { id: "L1", name: "Ground", floor_m: 0, height_m: 2.4 },
    { id: "L2", name: "Void", floor_m: 2.4, height_m: 0.25 },
    { id: "L3", name: "First", floor_m: 2.65, height_m: 2.4 },
  ],
  rooms: [
    room("hall", "L1", 0, 0, 2, 4),
    room("kitchen", "L1", 2.1, 0, 6, 4), // behind a 10 cm wall
    room("void", "L2", 2.1, 0, 4, 4),
    room("bath", "L3", 2.1, 0, 6, 4),
    room("shed", "L1", 9, 0, 11, 4),
  ],
};
describe("a cut", () => {
  it("meets an L twice where it is open", () => {
    const u = [
      [0, 0],
      [6, 0],
      [6, 4],
      [4, 4],
      [4, 1],
      [2, 1],
      [2, 4],
      [0, 4],
    ] as [number, number][];
    expect(stretches(u, 1, 2)).toEqual([
      [0, 2],
      [4, 6],
    ]);
    expect(stretches(u, 1, 0.5)).toEqual([[0, 6]]);
    expect(stretches(u, 0, 3)).toEqual([[0, 1]]);
    expect(stretches(u, 0, 9)).toEqual([]);
  });
  it("meets every storey it runs through", () => {
    expect(cutThrough(book, 1, 2).map((one) => one.room.id)).toEqual(["hall", "kitchen", "void", "bath", "shed"]);
    expect(
      cutThrough(book, 0, 5).map(({ room: { id }, floor, ceiling }) => [id, floor, Math.round(ceiling * 100) / 100]),
    ).toEqual([
      ["kitchen", 0, 2.4],
      ["bath", 2.65, 5.05],
    ]);
  });
  it("follows a sloping ceiling", () => {
    const [loft] = cutThrough(
      {
        ...book,
        rooms: [
          {
            ...room("loft", "L3", 0, 0, 6, 4),
            heights: [{ outline: rectangle(0, 0, 3, 4), low_m: 0.4, high_m: 2.4 }],
          },
        ],
      },
      1,
      2,
    );
    expect(loft!.top.map((at) => at.map((metres) => Math.round(metres * 100) / 100))).toEqual([
      [0, 3.05],
      [3, 5.05],
      [6, 5.05],
    ]);
  });
});
