import { expect, it } from "vitest";
import type { PlannedTest } from "./api";
import { sampleAt, spotOf, stillToPlan, waitingOf } from "./samples";

const test = (material: string, ...labels: string[]) =>
  ({
    material,
    samples: labels.length,
    spots: labels.map((label) => ({ label, words: `at ${label}`, lines: [] })),
  }) as unknown as PlannedTest;
const sample = (id: string, material: string, label: string) => ({ id, material, label });

it("plans every spot of every test where nothing is planned", () => {
  expect(stillToPlan([test("M1", "M1-1", "M1-2"), test("M2", "M2-1")], {})).toEqual([
    { material: "M1", label: "M1-1", spot: "at M1-1" },
    { material: "M1", label: "M1-2", spot: "at M1-2" },
    { material: "M2", label: "M2-1", spot: "at M2-1" },
  ]);
});

it("plans nothing a second time, whatever is written on the bag", () => {
  const asked = [test("M1", "M1-1", "M1-2")];
  const labels = (...samples: ReturnType<typeof sample>[]) => stillToPlan(asked, { samples }).map((one) => one.label);
  expect(labels(sample("S1", "M1", "M1-1"))).toEqual(["M1-2"]);
  expect(labels(sample("S1", "M1", "of my own"))).toEqual(["M1-1"]);
  expect(labels(sample("S1", "M1", "M1-1"), sample("S2", "M1", "of my own"))).toEqual([]);
  expect(labels(sample("S1", "M2", "M1-1"))).toEqual(["M1-1", "M1-2"]); // of another material
});

it("counts a sample with a result as back: the plan asks for what is left", () => {
  const book = { samples: [sample("S1", "M1", "M1-1")], results: [{ id: "LR1", sample: "S1", found: false }] };
  expect(waitingOf(book, "M1")).toEqual([]);
  expect(sampleAt(book, "M1", "M1-1")).toBeUndefined();
  expect(stillToPlan([test("M1", "M1-2")], book).map((one) => one.label)).toEqual(["M1-2"]);
});

it("finds the sample of a spot by its label", () => {
  const book = { samples: [sample("S7", "M1", "M1-2")] };
  expect(sampleAt(book, "M1", "M1-2")?.id).toBe("S7");
  expect(sampleAt(book, "M2", "M1-2")).toBeUndefined();
});

it("keeps of a spot's words what a sample can hold", () => {
  const far = `0.4 m from the ${"window ".repeat(20)}wall`;
  expect(spotOf(`${far}; at the edge`)).toBe(`${far}; at the edge`);
  expect(spotOf(`${far}; at the edge; ${far}`)).toBe(`${far}; at the edge`);
  expect(spotOf("x".repeat(300))).toHaveLength(200);
});
