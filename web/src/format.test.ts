import { expect, it } from "vitest";
import { currencySign, day, money, percent, percentWithRange, sentence, told } from "./format";
import { step } from "./text";

it("never calls certain what is not", () => {
  expect(percent(0.9995)).toBe("over 99\u00a0%");
  expect(percent(0.001)).toBe("under 1\u00a0%");
  expect(percent(0.366)).toBe("37\u00a0%");
});

it("tells a range only where it says more than the figure", () => {
  expect(percentWithRange(0.14, 0.06, 0.3)).toBe("14\u00a0% (6\u00a0% to 30\u00a0%)");
  expect(percentWithRange(0.999, 0.995, 0.9999)).toBe("over 99\u00a0%");
});

it("tells pence only when there are some", () => {
  expect(money(9900, "GBP")).toMatch(/99$/);
  expect(money(9950, "GBP")).toMatch(/99.50$/);
});

it("begins sentences with a capital", () => {
  expect(sentence("may start")).toBe("May start");
});

it("tells the days of the program's sentences as the rest of the page does", () => {
  expect(told("Under way since 2026-11-23, due 2026-12-04.")).toBe(
    `Under way since ${day("2026-11-23")}, due ${day("2026-12-04")}.`,
  );
  expect(told("SI 2012/632, 1234-56-78 and J3")).toBe("SI 2012/632, 1234-56-78 and J3");
});

it("names a face of a room as people do", () => {
  expect(told("It goes into wall-2 of R4 (Kitchen), and nothing is written down of what that is made of.")).toBe(
    "It goes into wall 2 of the Kitchen, and nothing is written down of what that is made of.",
  );
  expect(told("Look at ceiling of R10 (Bathroom).")).toBe("Look at the ceiling of the Bathroom.");
  expect(told("It meets M4 (Soft board)")).toBe("It meets M4 (Soft board)");
});

it("tells a step of the book without its codes", () => {
  expect(step("add A1")).toBe("add decision A1");
  expect(step("add J1/cuts/1")).toBe("add cut 1 of job J1");
  expect(step("change about, 14 Larch Row")).toBe("change what is said of the house");
  expect(step("add M2, Floor tiles, kitchen")).toBe("add M2, Floor tiles, kitchen");
  expect(step("draw a house: terraced house, 13 rooms")).toBe("draw a house: terraced house, 13 rooms");
});

it("knows the sign of a currency", () => {
  expect(currencySign("GBP")).toBe("£");
});
