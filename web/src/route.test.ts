import { expect, it } from "vitest";
import { href, read } from "./route";
import type { Route } from "./route";

it("reads back every address it writes", () => {
  const routes: Route[] = [
    { place: "house" },
    { place: "house", storey: "L1" },
    { place: "house", storey: "L1", chosen: "M 7/b" },
    { place: "jobs" },
    { place: "jobs", one: "J3" },
    { place: "dust", one: "E1" },
    { place: "papers" },
  ];
  for (const route of routes) expect(read(href(route))).toEqual(route);
});

it("opens the house on anything else", () => {
  expect(read("")).toEqual({ place: "house" });
  expect(read("#/sofa")).toEqual({ place: "house" });
});
