// @vitest-environment jsdom
// What the charts make of the data, at the sizes of a phone and of a desk.
import { beforeEach, expect, it, vi } from "vitest";
import type { Activity, TestPlan, Timeline } from "./api";
import { drawing } from "./chart";
import type { Draw } from "./chart";
import { levels, levelsOverTime, linesOf, pulls, timeMarks } from "./dust_charts";
import * as plot from "./marks";
import { layRows, ranges } from "./ranges";
import type { RangeRow } from "./ranges";
import { stair } from "./testing";
import { bars, dayMarks } from "./timeline";

beforeEach(() => {
  vi.spyOn(HTMLCanvasElement.prototype, "getContext").mockReturnValue(null); // jsdom measures no text
});

const WIDTHS = [320, 358, 619, 620, 1250];

/** The chart at a width: sound numbers only, and nothing of the library's warned of. */
function drawn(options: ReturnType<Draw>): Element {
  const warned = vi.spyOn(console, "warn");
  const svg = drawing(plot, options, "chart");
  expect(warned).not.toHaveBeenCalled();
  expect(svg.outerHTML).not.toMatch(/NaN|Infinity|undefined/);
  return svg;
}
const words = (svg: Element) => [...svg.querySelectorAll("text")].map((one) => one.textContent);
const marks = (svg: Element, name: string, what: string) => [...svg.querySelectorAll(`.${name} ${what}`)];
const number = (element: Element | undefined, name: string) => Number(element?.getAttribute(name));

const person = (key: string, low: number, middle: number, high: number): RangeRow => ({
  key,
  name: key,
  low,
  middle,
  high,
  words: `${middle} (${low} to ${high})`,
});
const context: RangeRow = { key: "air", name: "Outdoor air, all year", middle: 2.6, words: "2.6" };

it.each(WIDTHS)("draws each row's range, its middle and its words, %i px wide", (width) => {
  const svg = drawn(ranges(plot, width, [person("Robin", 0.5, 3, 14), context], "f/ml h"));
  const [range] = marks(svg, "range", "line");
  const [middle] = marks(svg, "middle", "circle");
  expect(marks(svg, "range", "line")).toHaveLength(1);
  expect(number(range, "x1")).toBeLessThan(number(middle, "cx"));
  expect(number(middle, "cx")).toBeLessThan(number(range, "x2"));
  expect(number(range, "x2")).toBeLessThan(width);
  expect(marks(svg, "context", "circle")).toHaveLength(1);
  for (const one of ["Robin", "3 (0.5 to 14)", "2.6", "f/ml h"]) expect(words(svg)).toContain(one);
});

it.each(WIDTHS)("has a place for nothing, for next to nothing and for a great deal, %i px wide", (width) => {
  const rows = [
    person("Nothing", 0, 0, 0),
    person("From nothing", 0, 0, 5),
    person("Hardly", 1e-30, 1e-25, 1e-20),
    person("Much", 1e3, 1e5, 1e6),
    context,
  ];
  const svg = drawn(ranges(plot, width, rows, "f/ml h"));
  expect(marks(svg, "off", "path")).toHaveLength(3);
  expect(marks(svg, "middle", "circle")).toHaveLength(1);
  expect(marks(svg, "range", "line")).toHaveLength(2); // of what reaches onto the scale
  const left = Math.min(...marks(svg, "grid", "line").map((one) => number(one, "x1")));
  for (const range of marks(svg, "range", "line")) expect(number(range, "x1")).toBeGreaterThanOrEqual(left);
});

it("draws where nobody breathed anything", () => {
  const svg = drawn(ranges(plot, 358, [person("Nobody", 0, 0, 0)], "f/ml h"));
  expect(marks(svg, "off", "path")).toHaveLength(1);
  drawn(ranges(plot, 358, [], "f/ml h"));
});

it("lays rows below one another, a long name's words under it", () => {
  const long = { ...person("a", 1, 2, 3), name: "The lean-to behind the kitchen, once a wash house, then a larder" };
  const { laid, height } = layRows([long, context, long], 340, false);
  laid.forEach((one, i) => {
    expect(one.words_y).toBeGreaterThanOrEqual(one.name_y);
    expect(one.mark_y).toBeGreaterThan(one.words_y);
    expect(one.name_y).toBeGreaterThan(i === 0 ? 0 : (laid[i - 1]?.mark_y ?? 0));
  });
  expect(height).toBeGreaterThan(laid.at(-1)?.mark_y ?? 0);
  expect(laid[0]?.name.length).toBeGreaterThan(1);
});

const room = (id: string, middle: number[]) => ({
  id,
  f_per_ml: middle.map((one) => ({ low: one / 3, middle: one, high: one * 3 })),
});

it("takes nothing as what lies under the scale", () => {
  expect(levels(room("R1", [0, 2]), [0, 10], 1e-5)).toEqual([
    { min: 0, low: 1e-5, middle: 1e-5, high: 1e-5 },
    { min: 10, low: 2 / 3, middle: 2, high: 6 },
  ]);
});

it.each(WIDTHS)("draws the levels of rooms, and each limit with its words, %i px wide", (width) => {
  const rooms = [room("R1", [0, 5, 0.4, 0.001, 0]), room("R2", [0, 0, 0, 0, 0])];
  const limits = [{ level: 0.1, words: "0.1 f/ml, four hours" }];
  const svg = drawn(levelsOverTime(plot, width, [0, 12, 60, 1440, 11700], rooms, rooms[0]!, limits));
  expect(marks(svg, "middle", "path")).toHaveLength(1);
  expect(marks(svg, "other", "path")).toHaveLength(1);
  expect(marks(svg, "band", "path")).toHaveLength(1);
  expect(marks(svg, "limit", "line")).toHaveLength(1);
  expect(words(svg)).toContain("0.1 f/ml, four hours");
  expect(words(svg)).toContain("0.0001");
});

it("gives limits of one level one line", () => {
  const limits = [
    { level: 0.6, words: "a" },
    { level: 0.1, words: "b" },
    { level: 0.1, words: "c" },
  ];
  expect(linesOf(limits)).toEqual([
    { level: 0.1, words: "b; c" },
    { level: 0.6, words: "a" },
  ]);
});

it("draws levels that never rose above nothing", () => {
  const still = room("R1", [0, 0]);
  drawn(levelsOverTime(plot, 358, [0, 60], [still], still, []));
});

it("marks times as far apart as their words need", () => {
  const x = (min: number) => min / 10;
  expect(timeMarks(1440, x, 40)).toEqual([0, 720, 1440]);
  expect(timeMarks(30, x, 40)).toEqual([0]);
});

it.each(WIDTHS)("draws what pulls up to the right and what pulls down to the left, %i px wide", (width) => {
  const svg = drawn(
    pulls(plot, width, [
      { what: "how much dust it lets go", correlation: 0.9 },
      { what: "how fast the air changes", correlation: -0.2 },
    ]),
  );
  const [up, down] = marks(svg, "pull", "rect");
  const [none] = marks(svg, "none", "line");
  expect(number(up, "x")).toBeCloseTo(number(none, "x1"), 6);
  expect(number(down, "x") + number(down, "width")).toBeCloseTo(number(none, "x1"), 6);
  expect(number(up, "width") / number(down, "width")).toBeCloseTo(4.5, 6);
});

const plan = (costs: number[]) =>
  ({
    currency: "GBP",
    cost_with_perfect_information: 90,
    curve: costs.map((expected_cost, i) => ({ samples: 2 * i, tests: [], expected_cost })),
  }) as unknown as TestPlan;

it.each(WIDTHS)("draws the cost of more tests, least at the plan, %i px wide", (width) => {
  const svg = drawn(stair(plot, width, plan([400, 250, 300])));
  const dots = marks(svg, "dot", "circle");
  const [best] = marks(svg, "best", "circle");
  expect(dots).toHaveLength(3);
  expect(number(best, "cx")).toBe(number(dots[1], "cx"));
  expect(number(best, "cy")).toBe(Math.max(...dots.map((one) => number(one, "cy"))));
  expect(number(marks(svg, "known", "line")[0], "y1")).toBeGreaterThan(number(best, "cy"));
  expect(svg.querySelector(".best title")?.textContent).toContain("250");
});

it("draws the cost where no test moves it", () => {
  drawn(stair(plot, 358, plan([90, 90])));
});

const range = (low: string, high: string) => ({ low, high, p10: low, median: low, p90: high });
const activity = (more: Partial<Activity>) =>
  ({
    id: "A",
    name: "Air test and clearance: Boiler cupboard lining, kitchen extension, and all that hangs on it",
    start: "2026-12-01",
    finish: "2026-12-04",
    start_range: range("2026-12-01", "2026-12-02"),
    finish_range: range("2026-12-03", "2027-01-06"),
    happens_share: 1,
    skipped: false,
    ...more,
  }) as unknown as Activity;
const order = (activities: Activity[], more: Partial<Timeline> = {}) =>
  ({ activities, away: [], dry: [], ...more }) as unknown as Timeline;

it.each(WIDTHS)("draws each step with its whole name, its range and the day it is wanted, %i px wide", (width) => {
  const rows = [
    activity({ id: "J1", job: "J1", wanted_on: "2026-12-10" }),
    activity({ id: "S1" }),
    activity({ id: "M1", happens_share: 0.4, wanted_on: "2030-01-01" }),
  ];
  const away = [{ from: "2026-11-01", to: "2026-12-05", why: "family" }];
  const svg = drawn(bars(plot, width, rows, order(rows, { away })));
  for (const kind of ["job", "step", "maybe"]) expect(marks(svg, kind, "rect")).toHaveLength(1);
  expect(marks(svg, "span", "line")).toHaveLength(3);
  expect(marks(svg, "wanted", "path")).toHaveLength(1); // of the day that lies on the scale
  expect(marks(svg, "away", "rect")).toHaveLength(1);
  expect(svg.outerHTML).not.toContain("…");
  const told = [...svg.querySelectorAll(".ink text")].at(-1);
  expect([...(told?.querySelectorAll("tspan") ?? [])].map((one) => one.textContent).join(" ")).toBe(rows[0]?.name);
});

it("draws one step that is done within its day", () => {
  const short = activity({
    finish: "2026-12-01",
    start_range: range("2026-12-01", "2026-12-01"),
    finish_range: range("2026-12-01", "2026-12-01"),
  });
  const svg = drawn(bars(plot, 358, [short], order([short])));
  expect(number(marks(svg, "step", "rect")[0], "width")).toBeGreaterThanOrEqual(5);
});

it("marks days, weeks or months, never more than there is room for", () => {
  const first = Date.UTC(2026, 11, 1) / 86_400_000;
  for (const days of [1, 5, 40, 200, 900, 9000]) {
    for (const most of [2, 4, 9]) {
      const found = dayMarks(first, first + days, most);
      expect(found.length).toBeGreaterThan(0);
      expect(found.length).toBeLessThanOrEqual(most + 1);
      expect(found.every(({ at }) => at >= first && at <= first + days)).toBe(true);
    }
  }
  expect(dayMarks(first, first + 2, 4).map(({ at }) => at - first)).toEqual([0, 1, 2]);
  expect(dayMarks(first, first + 150, 6).map(({ at }) => new Date(at * 86_400_000).getUTCDate())).toEqual([
    1, 1, 1, 1, 1,
  ]);
});
