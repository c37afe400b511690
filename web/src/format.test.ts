import { expect, it } from "vitest";
import { money, percent, sentence } from "./format";

it("never calls certain what is not", () => {
  expect(percent(0.9995)).toBe("over 99 %");
  expect(percent(0.001)).toBe("under 1 %");
  expect(percent(0.366)).toBe("37 %");
});

it("tells pence only when there are some", () => {
  expect(money(9900, "GBP")).toMatch(/99$/);
  expect(money(9950, "GBP")).toMatch(/99.50$/);
});

it("begins sentences with a capital", () => {
  expect(sentence("may start")).toBe("May start");
});
