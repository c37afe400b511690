// @vitest-environment jsdom
import { act } from "react";
import { createRoot } from "react-dom/client";
import type { Root } from "react-dom/client";
import { afterEach, beforeEach, expect, it, vi } from "vitest";
import { Chart, drawing, widthOf, wrapped } from "./chart";
import type { Draw } from "./chart";
import * as plot from "./marks";

let root: Root;
let place: HTMLElement;
let resized: (() => void)[] = [];

beforeEach(() => {
  vi.stubGlobal("IS_REACT_ACT_ENVIRONMENT", true);
  vi.spyOn(HTMLCanvasElement.prototype, "getContext").mockReturnValue(null); // jsdom measures no text
  resized = [];
  vi.stubGlobal(
    "ResizeObserver",
    class {
      constructor(private readonly look: () => void) {
        resized.push(look);
      }
      observe() {}
      disconnect() {
        resized = resized.filter((one) => one !== this.look);
      }
    },
  );
  place = document.body.appendChild(document.createElement("div"));
  root = createRoot(place);
});

afterEach(() => {
  act(() => root.unmount());
  place.remove();
  vi.restoreAllMocks();
  vi.unstubAllGlobals();
});

const wide = (px: number) => vi.spyOn(HTMLElement.prototype, "clientWidth", "get").mockReturnValue(px);
const line: Draw = ({ lineY }, width) => ({ width, marks: [lineY([1, 2, 3])] });
/** Until what was asked for has come and is drawn. */
const settled = () => act(async () => void (await vi.dynamicImportSettled()));

it("lets no style element of the library's into the page, nor its words into what is read out", () => {
  const svg = drawing(plot, line(plot, 400), "levels");
  expect(svg.tagName).toBe("svg");
  expect(svg.querySelectorAll("path").length).toBeGreaterThan(0);
  expect(svg.querySelector("style")).toBeNull();
  expect(svg.outerHTML).not.toMatch(/ style=/);
  expect(svg.getAttribute("class")).toBe("levels");
  expect(svg.getAttribute("aria-hidden")).toBe("true");
});

it("is as wide as its place, also when that changes, and watches it no longer once it is gone", async () => {
  wide(640);
  act(() => root.render(<Chart name="levels" label="Levels" draw={line} />));
  await settled();
  const widths = () => [...place.querySelectorAll("svg")].map((svg) => svg.getAttribute("width"));
  expect(widths()).toEqual(["640"]);
  expect(place.querySelector("[role=img]")?.getAttribute("aria-label")).toBe("Levels");
  wide(358);
  act(() => resized.forEach((look) => look()));
  expect(widths()).toEqual(["358"]);
  expect(resized).toHaveLength(1);
  act(() => root.render(null));
  expect(resized).toHaveLength(0);
  expect(place.innerHTML).toBe("");
});

it("is no wider than a sheet of paper while it is printed", async () => {
  wide(1250);
  act(() => root.render(<Chart name="levels" label="Levels" draw={line} />));
  await settled();
  const width = () => Number(place.querySelector("svg")?.getAttribute("width"));
  act(() => void window.dispatchEvent(new Event("beforeprint")));
  expect(width()).toBeLessThan(750);
  act(() => void window.dispatchEvent(new Event("afterprint")));
  expect(width()).toBe(1250);
});

it("is drawn again for other data only", async () => {
  wide(640);
  const draw = vi.fn(line);
  act(() => root.render(<Chart name="levels" label="Levels" draw={draw} />));
  await settled();
  expect(draw).toHaveBeenCalledTimes(1);
  act(() => root.render(<Chart name="levels" label="Levels" draw={draw} />));
  expect(draw).toHaveBeenCalledTimes(1);
  act(() => root.render(<Chart name="levels" label="Levels" draw={(...given) => draw(...given)} />));
  expect(draw).toHaveBeenCalledTimes(2);
});

it("breaks words into lines that fit, and loses none", () => {
  const words = "Air test and clearance: Boiler cupboard lining, kitchen extension";
  const lines = wrapped(words, 200);
  expect(lines.length).toBeGreaterThan(1);
  expect(lines.join(" ")).toBe(words);
  for (const one of lines) expect(widthOf(one)).toBeLessThanOrEqual(200);
  const long = "Laboratorium-Sachverständigen-Bescheinigung";
  const parts = wrapped(`the ${long}`, 120);
  expect(parts.join("").replace("the", "")).toBe(long);
  for (const one of parts) expect(widthOf(one)).toBeLessThanOrEqual(120);
  expect(wrapped("", 100)).toEqual([]);
  expect(wrapped("ab", 1)).toEqual(["a", "b"]); // narrower than a letter: still ends
});

it("says so where the library does not come, and asks again for the next chart", async () => {
  vi.resetModules();
  vi.doMock("./marks", () => {
    throw new Error("no link");
  });
  wide(640);
  const { Chart: Alone } = await import("./chart");
  act(() => root.render(<Alone name="levels" label="Levels" draw={line} />));
  await settled();
  expect(place.textContent).toContain("could not be fetched");
  expect(place.querySelector("svg")).toBeNull();
  vi.doUnmock("./marks");
  act(() => root.render(<Alone key="another" name="levels" label="Levels" draw={line} />));
  await settled();
  expect(place.textContent).not.toContain("could not be fetched");
  expect(place.querySelector("svg")).not.toBeNull();
});
