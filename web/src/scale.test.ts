import { expect, it } from "vitest";
import { decades, figure, logScale, span } from "./scale";

it("spans whole decades round what it shows", () => {
  expect(decades(0.002, 30)).toEqual([0.001, 0.01, 0.1, 1, 10, 100]);
  expect(decades(1, 1)).toEqual([1, 10]);
});

it("lays equal ratios equally far apart, and keeps what is outside on the edge", () => {
  const x = logScale(0.01, 100, 0, 400);
  expect(x(0.1) - x(0.01)).toBeCloseTo(x(100) - x(10), 9);
  expect(x(0)).toBe(0);
  expect(x(1e6)).toBe(400);
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
