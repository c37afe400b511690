import { expect, it } from "vitest";
import { day, money, percent, sentence, told } from "./format";

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

it("tells the days of the program's sentences as the rest of the page does", () => {
  expect(told("Under way since 2026-11-23, due 2026-12-04.")).toBe(
    `Under way since ${day("2026-11-23")}, due ${day("2026-12-04")}.`,
  );
  expect(told("SI 2012/632, 1234-56-78 and J3")).toBe("SI 2012/632, 1234-56-78 and J3");
});
