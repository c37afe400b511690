import { describe, expect, it } from "vitest";
import type { Book } from "./api";
import { answersOf } from "./keep";

describe("what a phone keeps", () => {
  it("is every answer of the house, the slow ones last", () => {
    const about = { title: "A house", currency: "GBP", rules: "gb" };
    const document = { id: "D1", title: "Photo", kind: "photo", media_type: "image/jpeg", sha256: "", bytes: 1 };
    const book: Book = {
      format: "lathbook-book",
      version: 1,
      about,
      rooms: [{ id: "R1", name: "Hall", storey: "L1", outline: [] }],
      jobs: [{ id: "J1", title: "Shelf", by: "householder" }],
      documents: [document, { ...document, id: "D2", media_type: "application/pdf" }],
    };
    expect(answersOf({ book })).toEqual(["check/J1", "walk/R1", "photo/D1", "now", "timeline", "waste", "testing"]);
  });
});
