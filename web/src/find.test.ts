import { describe, expect, it } from "vitest";
import type { Book } from "./api";
import { hits } from "./find";

const book: Book = {
  format: "lathbook-book",
  version: 1,
  about: { title: "", currency: "GBP", rules: "gb" },
  storeys: [{ id: "L1", name: "Ground floor", floor_m: 0, height_m: 2.4 }],
  rooms: [
    { id: "R1", name: "Hall", storey: "L1", outline: [] },
    { id: "R4", name: "Kitchen", storey: "L1", outline: [] },
    { id: "R5", name: "Kitchen extension", storey: "L1", outline: [] },
  ],
  materials: [
    { id: "M1", name: "Stippled ceiling, hall", family: "", room: "R1", face: "ceiling" },
    { id: "M14", name: "Ceiling boards, kitchen extension", family: "", room: "R5", face: "ceiling" },
  ],
  jobs: [{ id: "J4", title: "New kitchen lights" }],
};
const ids = (search: string) => hits({ book }, search).map((hit) => hit.id);

describe("search", () => {
  it("finds by the beginnings of words, names that begin so first", () => {
    expect(ids("kit")).toEqual(["R4", "R5", "M14", "J4"]);
    expect(ids("kit ext")).toEqual(["R5", "M14"]);
    expect(ids("itchen")).toEqual([]);
    expect(ids("  ")).toEqual([]);
  });
  it("finds by id, the very one first", () => {
    expect(ids("m1")).toEqual(["M1", "M14"]);
    expect(ids("J4")).toEqual(["J4"]);
    expect(hits({ book }, "m14")[0]!.to).toEqual({ place: "house", storey: "L1", chosen: "M14" });
  });
});
