// What Dust draws of its own: levels over time, and what matters most.
import { useCallback } from "react";
import type { Band, EventAnswer, RoomAnswer } from "./api";
import { Chart, LINE_HEIGHT, LINE_PX, widest, wrapped } from "./chart";
import type { Draw, Plot } from "./chart";
import { decades, figure, span } from "./scale";
import { text } from "./text";

const t = text.dust;

const CLEARANCE_F_PER_ML = 0.01;
/** How low the scale of levels goes at most: under any limit, and under what outdoor air is apt to hold. */
const LEAST_SHOWN_F_PER_ML = 0.0003;
const TICKS_MIN = [0, 60, 180, 360, 720, 1440, 2880, 5760, 10080];

interface Level extends Band {
  min: number;
}

/** The room's levels at their times. Nothing has no place on a logarithmic scale: it goes out at the foot of it. */
export function levels(room: Pick<RoomAnswer, "f_per_ml">, times_min: readonly number[], least: number): Level[] {
  return room.f_per_ml.map(({ low, middle, high }, i) => ({
    min: times_min[i] ?? 0,
    low: Math.max(low, least),
    middle: Math.max(middle, least),
    high: Math.max(high, least),
  }));
}

/** Of the marks up to `last` those that are `apart` pixels from the one before, of those kept. */
export function timeMarks(last: number, x: (min: number) => number, apart: number): number[] {
  const kept: number[] = [];
  for (const mark of TICKS_MIN) {
    const before = kept.at(-1);
    if (mark <= last && (before === undefined || x(mark) - x(before) >= apart)) kept.push(mark);
  }
  return kept;
}

/** A level to hold the rooms against, and what it is called. */
interface Line {
  level: number;
  words: string;
}

/** One line a level, from the lowest up: what has the same level shares it. */
export function linesOf(limits: readonly Line[]): Line[] {
  const words = new Map<number, string[]>();
  for (const one of limits) words.set(one.level, [...(words.get(one.level) ?? []), one.words]);
  return [...words].map(([level, all]) => ({ level, words: all.join("; ") })).sort((a, b) => a.level - b.level);
}

/** Level in rooms over time: each room's middle line, the chosen one with its band, and the limits. */
export function Levels({
  label,
  times_min,
  rooms,
  chosen,
  limits,
}: {
  label: string;
  times_min: readonly number[];
  rooms: readonly RoomAnswer[];
  chosen: RoomAnswer;
  limits: EventAnswer["limits"];
}) {
  const draw = useCallback<Draw>(
    (plot, width) =>
      levelsOverTime(plot, width, times_min, rooms, chosen, [
        ...limits.map((one) => ({ level: one.f_per_ml, words: t.limit(one.f_per_ml, one.name) })),
        { level: CLEARANCE_F_PER_ML, words: t.clearance },
      ]),
    [times_min, rooms, chosen, limits],
  );
  return <Chart name="air" label={label} draw={draw} />;
}

type Course = Pick<RoomAnswer, "id" | "f_per_ml">;

export function levelsOverTime(
  plot: Plot,
  width: number,
  times_min: readonly number[],
  rooms: readonly Course[],
  chosen: Course,
  limits: readonly Line[],
): ReturnType<Draw> {
  const highest = Math.max(...rooms.flatMap((one) => one.f_per_ml.map(({ high }) => high)));
  const marks = decades([LEAST_SHOWN_F_PER_ML, Math.max(highest, 1)]);
  const [foot, top] = [marks[0]!, marks[marks.length - 1]!];
  const of = (room: Course) => levels(room, times_min, foot / 10);
  const own = of(chosen);
  const others = rooms
    .filter((one) => one !== chosen)
    .flatMap((room) => of(room).map((level) => ({ ...level, room: room.id })));
  const last = Math.max(times_min[times_min.length - 1] ?? 0, 1);
  const left = widest(marks.map(figure)) + 12;
  const right = 14;
  // Time by its square root: the first hours need the room, a week has to fit.
  const x = (min: number) => (width - left - right) * Math.sqrt(min / last);
  const ticks = timeMarks(last, x, widest(TICKS_MIN.map(span)) + 10);
  const narrow = width < 620;
  const above = narrow ? 2 * LINE_PX + 12 : LINE_PX + 16;
  const tall = narrow ? 266 : 296;
  const decade = tall / (marks.length - 1);
  const lines = linesOf(limits);
  // Words stand on their line, or hang from it where the next one up is too near.
  const hangs = (i: number) => decade * Math.log10((lines[i + 1]?.level ?? Infinity) / lines[i]!.level) < LINE_PX;
  const told = (some: Line[], dy: number) =>
    plot.text(some, {
      y: "level",
      text: "words",
      frameAnchor: "right",
      textAnchor: "end",
      dy,
      fill: "var(--rust)",
      stroke: "var(--paper)", // over the lines
      strokeWidth: 5,
      className: "limit-words",
    });
  const pointed = { maxRadius: 80, py: "middle" } as const;
  const reading = ({ min }: Level, i: number) => {
    const { low, middle, high } = chosen.f_per_ml[i] ?? { low: 0, middle: 0, high: 0 };
    const level = t.band(figure(middle), figure(low), figure(high));
    return [t.airAt(span(min)), t.airLevel(level)].join(narrow ? "\n" : " ");
  };
  return {
    width,
    height: above + tall + 54,
    marginTop: above,
    marginLeft: left,
    marginRight: right,
    marginBottom: 54,
    x: { type: "sqrt", domain: [0, last] },
    y: { type: "log", domain: [foot, top] },
    marks: [
      plot.gridY(marks, { className: "grid" }),
      plot.axisY(marks, {
        tickFormat: figure,
        tickSize: 0,
        label: t.airUnit,
        labelAnchor: "top",
        labelArrow: "none",
        labelOffset: left,
      }),
      plot.axisX(ticks, {
        tickFormat: (min: number) => (min === 0 ? "0" : span(min)),
        color: "var(--line-strong)",
        label: t.airTime,
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 48,
      }),
      plot.areaY(own, { x: "min", y1: "low", y2: "high", clip: true, className: "band" }),
      plot.lineY(others, { x: "min", y: "middle", z: "room", clip: true, className: "other" }),
      plot.lineY(own, { x: "min", y: "middle", clip: true, className: "middle" }),
      plot.ruleY(lines, { y: "level", className: "limit" }),
      told(
        lines.filter((_, i) => !hangs(i)),
        -10,
      ),
      told(
        lines.filter((_, i) => hangs(i)),
        11,
      ),
      // What the pointer or a finger is at, read above the chart, where it covers nothing.
      plot.ruleX(own, plot.pointerX({ ...pointed, x: "min", className: "moment" })),
      plot.dot(own, plot.pointerX({ ...pointed, x: "min", y: "middle", r: 5, clip: true, className: "reading" })),
      plot.text(
        own,
        plot.pointerX({
          ...pointed,
          px: "min",
          text: reading,
          frameAnchor: "top-right",
          dy: -above,
          lineHeight: LINE_HEIGHT,
          className: "ink",
        }),
      ),
    ],
  };
}

/** How far something that is not known moves what was breathed: from -1, less of it the more, to 1. */
interface Pull {
  what: string;
  correlation: number;
}

export function Pulls({ label, rows }: { label: string; rows: readonly Pull[] }) {
  const draw = useCallback<Draw>((plot, width) => pulls(plot, width, rows), [rows]);
  return <Chart name="pulls" label={label} draw={draw} />;
}

/** A bar each, to either side of nothing, its name beside it or above. */
export function pulls(plot: Plot, width: number, rows: readonly Pull[]): ReturnType<Draw> {
  const beside = width >= 460;
  const names = beside ? Math.min(widest(rows.map((row) => row.what)), Math.round(0.6 * width)) : width;
  let y = 4;
  const laid = rows.map((row) => {
    const name = wrapped(row.what, names);
    const high = name.length * LINE_PX;
    const tall = beside ? Math.max(high + 14, 34) : high + 26;
    const bar = beside ? y + tall / 2 : y + high + 9;
    const name_y = beside ? y + (tall - high) / 2 : y;
    y += tall;
    return { ...row, name: name.join("\n"), name_y, top: bar - 6, foot: bar + 6 };
  });
  const left = beside ? names + 16 : 0;
  return {
    width,
    height: y,
    margin: 0,
    marginLeft: left,
    x: { domain: [-1, 1], axis: null },
    y: { type: "identity", axis: null },
    marks: [
      // By rows: one line from top to foot would run through names that stand above their bars.
      plot.ruleX(laid, { x: 0, y1: "top", y2: "foot", insetTop: -4, insetBottom: -4, className: "none" }),
      plot.rect(laid, { x1: 0, x2: "correlation", y1: "top", y2: "foot", className: "pull" }),
      plot.text(laid, {
        text: "name",
        y: "name_y",
        frameAnchor: "left",
        dx: -left,
        textAnchor: "start",
        lineAnchor: "top",
        lineHeight: LINE_HEIGHT,
        className: "ink",
      }),
    ],
  };
}
