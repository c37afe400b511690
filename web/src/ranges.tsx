// Several values with their ranges, a row each, on one logarithmic scale.
import { useCallback, useMemo } from "react";
import { Chart, LINE_HEIGHT, LINE_PX, widest, widthOf, wrapped } from "./chart";
import type { Draw, Plot } from "./chart";
import { Heads, Wide } from "./parts";
import { decades, figure, spaced } from "./scale";
import { text } from "./text";
import "./ranges.css";

/** `low` and `high` are absent of what is one value, for comparison. `words` say the same as the mark. */
export interface RangeRow {
  key: string;
  name: string;
  middle: number;
  low?: number;
  high?: number;
  words: string;
}

const GAP = 16;
const DOT = 7;
/** From where on there is room for the names beside the marks. */
const BESIDE_PX = 620;

interface Laid {
  row: RangeRow;
  /** The name in lines, where its first one lies, where the words lie, and the mark. */
  name: string[];
  name_y: number;
  words_y: number;
  mark_y: number;
}

/** Where each row lies, from the top down, and how high they are together. */
export function layRows(rows: readonly RangeRow[], width: number, beside: boolean): { laid: Laid[]; height: number } {
  const laid: Laid[] = [];
  let y = 4;
  for (const row of rows) {
    const name = wrapped(row.name, width);
    const high = name.length * LINE_PX;
    if (beside) {
      const tall = Math.max(high + 12, 42);
      laid.push({ row, name, name_y: y + (tall - high) / 2, words_y: y + (tall - LINE_PX) / 2, mark_y: y + tall / 2 });
      y += tall;
    } else {
      // The words stand at the end of the name's last line if they fit there, else on one of their own.
      const fits = widthOf(name.at(-1) ?? "") + GAP + widthOf(row.words) <= width;
      const lines = name.length + (fits ? 0 : 1);
      laid.push({ row, name, name_y: y, words_y: y + (lines - 1) * LINE_PX, mark_y: y + lines * LINE_PX + 12 });
      y += lines * LINE_PX + 34;
    }
  }
  return { laid, height: y };
}

/** `unit` stands under the scale and in the table; `name` heads the table's first column. */
export function Ranges({
  label,
  unit,
  name,
  rows,
}: {
  label: string;
  unit: string;
  name: string;
  rows: readonly RangeRow[];
}) {
  const draw = useCallback<Draw>((plot, width) => ranges(plot, width, rows, unit), [rows, unit]);
  return (
    <>
      <Chart name="ranges" label={label} draw={draw} />
      <RangeTable label={label} unit={unit} name={name} rows={rows} />
    </>
  );
}

export function ranges(plot: Plot, width: number, rows: readonly RangeRow[], unit: string): ReturnType<Draw> {
  const marks = decades(rows.flatMap((row) => [row.low ?? row.middle, row.middle, row.high ?? row.middle]));
  const foot = marks[0]!;
  const beside = width >= BESIDE_PX;
  const half = Math.max(DOT + 1, Math.ceil(widest(marks.map(figure)) / 2));
  const names = Math.min(widest(rows.map((row) => row.name)), Math.round(0.34 * width));
  const left = beside ? names + GAP + DOT : half;
  const right = beside ? Math.max(widest(rows.map((row) => row.words)) + GAP + DOT, half) : half;
  const { laid, height } = layRows(rows, beside ? names : width, beside);
  const apart = (width - left - right) / (marks.length - 1);
  const [own, others] = [laid.filter(isRange), laid.filter((one) => !isRange(one))];
  const reaching = own.filter((one) => (one.row.high ?? 0) > foot);
  const off = laid.filter((one) => one.row.middle < foot);
  const onScale = (one: Laid) => one.row.middle >= foot;
  const middle = (one: Laid) => one.row.middle;
  // Over the grid.
  const written = { lineAnchor: "top", lineHeight: LINE_HEIGHT, fill: "var(--ink)", stroke: "var(--paper)" } as const;
  return {
    width,
    height: height + 52,
    marginTop: 0,
    marginLeft: left,
    marginRight: right,
    marginBottom: 52,
    x: { type: "log", domain: [foot, marks[marks.length - 1]!], clamp: true },
    y: { type: "identity", axis: null },
    marks: [
      plot.gridX(marks, { className: "grid" }),
      plot.axisX(spaced(marks, apart, 2 * half), {
        tickFormat: figure,
        tickSize: 0,
        label: unit,
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 46,
      }),
      plot.ruleY(reaching, {
        x1: (one: Laid) => one.row.low,
        x2: (one: Laid) => one.row.high,
        y: "mark_y",
        className: "range",
      }),
      plot.dot(own.filter(onScale), { x: middle, y: "mark_y", r: DOT, className: "middle" }),
      plot.dot(others.filter(onScale), { x: middle, y: "mark_y", r: 5, className: "context" }),
      // Less than the scale reaches down to, or nothing: a point towards where it would lie.
      plot.dot(off, { x: foot, y: "mark_y", r: 6, symbol: "triangle", rotate: -90, className: "off" }),
      plot.text(laid, {
        text: (one: Laid) => one.name.join("\n"),
        y: "name_y",
        frameAnchor: "left",
        dx: -left,
        textAnchor: "start",
        ...written,
        className: "ink",
      }),
      plot.text(laid, {
        text: (one: Laid) => one.row.words,
        y: "words_y",
        frameAnchor: "right",
        dx: beside ? GAP + DOT : right,
        textAnchor: beside ? "start" : "end",
        ...written,
        className: "told",
      }),
    ],
  };
}

const isRange = (one: Laid) => one.row.low !== undefined && one.row.high !== undefined;

function RangeTable({
  label,
  unit,
  name,
  rows,
}: {
  label: string;
  unit: string;
  name: string;
  rows: readonly RangeRow[];
}) {
  const words = text.chart;
  const cells = useMemo(
    () => rows.map((row) => [row.low, row.middle, row.high].map((one) => (one === undefined ? "–" : figure(one)))),
    [rows],
  );
  return (
    <details>
      <summary>{words.asTable}</summary>
      <Wide label={label}>
        <table>
          <caption>{unit}</caption>
          <Heads columns={[name, words.low, words.middle, words.high]} />
          <tbody>
            {rows.map((row, i) => (
              <tr key={row.key}>
                <th scope="row">{row.name}</th>
                {cells[i]?.map((cell, k) => (
                  <td key={k}>{cell}</td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </details>
  );
}
