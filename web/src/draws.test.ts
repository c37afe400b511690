import { expect, it } from "vitest";
import { text } from "./text";

it("never passes the error of drawing off as how far a figure may be from the truth", () => {
  const said = text.dust.drawn(1024, "1.9 %");
  expect(said).toContain("draws of what is unknown");
  expect(said).toMatch(/as many again would move the figures by about 1\.9 %/);
  expect(said).toMatch(/the ranges say how far off/i);
  expect(said).not.toMatch(/good to|accurate/);
});
