import { expect, it } from "vitest";
import { decades, figure, spaced, span } from "./scale";

it("spans whole decades round what it shows", () => {
  expect(decades([0.002, 30])).toEqual([0.001, 0.01, 0.1, 1, 10, 100]);
  expect(decades([1, 1])).toEqual([0.1, 1]);
  expect(decades([0.001, 1000])).toEqual([0.001, 0.01, 0.1, 1, 10, 100, 1000]);
});

it("has a scale where nothing is above nothing, and an end where the values have none", () => {
  expect(decades([])).toEqual([0.1, 1]);
  expect(decades([0, 0])).toEqual([0.1, 1]);
  expect(decades([0, 5])).toEqual([1, 10]);
  const far = decades([1e-300, 5]);
  expect(far[far.length - 1]).toBe(10);
  expect(far).toHaveLength(11);
});

it("leaves out marks whose words would touch", () => {
  expect(spaced([1, 2, 3, 4], 100, 40)).toEqual([1, 2, 3, 4]);
  expect(spaced([1, 2, 3, 4, 5], 30, 40)).toEqual([1, 3, 5]);
});

it("never rounds a small figure to none", () => {
  expect(figure(0.000043)).toBe("0.000043");
  expect(figure(5512)).toBe("5,500");
  expect(figure(0)).toBe("0");
});

it("says minutes as people do", () => {
  expect(span(45)).toMatch(/45/);
  expect(span(180)).toMatch(/^3/);
  expect(span(2880)).toMatch(/^2/);
});
