// The order of work: each job, test and removal on one scale of days, with its earliest and latest.
import { useCallback, useMemo } from "react";
import { api } from "./api";
import type { Activity, Timeline as Answer } from "./api";
import { useAnswer } from "./book";
import { Chart as Drawn, LINE_HEIGHT, LINE_PX, widest, wrapped } from "./chart";
import type { Draw, Plot } from "./chart";
import { day } from "./format";
import { NotAnswered, Reasons } from "./parts";
import { href } from "./route";
import { Stretches } from "./stretches";
import type { Which } from "./stretches";
import { text } from "./text";
import "./timeline.css";

const t = text.timeline;
const DAY_MS = 86_400_000;
const at = (iso: string) => Date.parse(`${iso}T00:00Z`) / DAY_MS;

export function Timeline() {
  const { answer, refused } = useAnswer(api.timeline);
  return (
    <div className="view">
      <p className="back">
        <a href={href({ place: "jobs" })}>{text.jobs.back}</a>
      </p>
      <header className="heading">
        <h1>{t.heading}</h1>
        {answer ? (
          <p className="lead">
            {t.lead(day(answer.finish), day(answer.finish_range.low), day(answer.finish_range.high))}
          </p>
        ) : null}
      </header>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer ? (
        <>
          <Chart answer={answer} />
          <p className="quiet">{t.key}</p>
          <Rows answer={answer} />
          <div className="columns">
            <Stretches which="away" />
            <Stretches which="dry" />
          </div>
          <Reasons reasons={answer.reasons} title={t.reasons} />
        </>
      ) : null}
    </div>
  );
}

const dayOf = (number: number, options: Intl.DateTimeFormatOptions) =>
  new Intl.DateTimeFormat(undefined, { ...options, timeZone: "UTC" }).format(new Date(number * DAY_MS));

const DAY_WORDS: Intl.DateTimeFormatOptions = { day: "numeric", month: "short" };
const MONTH_WORDS: Intl.DateTimeFormatOptions = { month: "short", year: "numeric" };

/** Marks on the scale of days, few enough to be read: days, whole weeks, or the first days of months. */
export function dayMarks(first: number, last: number, most: number): { at: number; words: string }[] {
  const days = last - first;
  const mark = (options: Intl.DateTimeFormatOptions) => (at: number) => ({ at, words: dayOf(at, options) });
  const step = [1, 2, 7, 14].find((one) => Math.floor(days / one) <= most);
  if (step !== undefined) {
    const count = Math.floor(days / step) + 1;
    return Array.from({ length: count }, (_, i) => first + i * step).map(mark(DAY_WORDS));
  }
  const months =
    [1, 2, 3, 6].find((one) => Math.floor(days / (30.4 * one)) <= most) ?? 12 * Math.ceil(days / (365 * most));
  const out: number[] = [];
  const begin = new Date(first * DAY_MS);
  for (let i = 0; ; ++i) {
    const here = Date.UTC(begin.getUTCFullYear(), Math.ceil(begin.getUTCMonth() / months + i) * months, 1) / DAY_MS;
    if (here > last) return out.map(mark(MONTH_WORDS));
    if (here >= first) out.push(here);
  }
}

const AXIS_PX = 34;
const ROW_PX = 34;
const BAR_PX = 18;
/** From where on there is room for the names beside the bars. */
const BESIDE_PX = 700;

interface Lane {
  which: Which;
  list: Answer["away"];
}

function Chart({ answer }: { answer: Answer }) {
  const rows = useMemo(() => answer.activities.filter((row) => !row.skipped), [answer]);
  const draw = useCallback<Draw>((plot, width) => bars(plot, width, rows, answer), [rows, answer]);
  if (rows.length === 0) return <p className="empty">{t.empty}</p>;
  return <Drawn name="gantt" label={t.chart(rows.length)} draw={draw} />;
}

/** The rows of the order of work on a scale of days, each with its name beside its bar or, where it is narrow, above it. */
export function bars(plot: Plot, width: number, rows: Activity[], answer: Answer): ReturnType<Draw> {
  const first = Math.min(...rows.map((row) => at(row.start_range.low)));
  const last = Math.max(...rows.map((row) => at(row.finish_range.high)), first + 1);
  const lanes = (["away", "dry"] as const)
    .map((which): Lane => ({ which, list: answer[which].filter((one) => at(one.to) >= first && at(one.from) <= last) }))
    .filter((lane) => lane.list.length > 0);
  const beside = width >= BESIDE_PX;
  const names = beside
    ? Math.min(widest([...rows.map((row) => row.name), ...lanes.map(laneName)]), Math.round(0.34 * width))
    : width;
  const half = widest([dayOf(first, DAY_WORDS), dayOf(first, MONTH_WORDS)]) / 2 + 4;
  const left = beside ? names + 20 : half;
  const right = half;
  const most = Math.max(2, Math.floor((width - left - right) / (2 * half + 10)));
  const least = (5 * (last - first)) / (width - left - right); // days that a bar takes at least, to be seen

  let y = AXIS_PX;
  /** A row with its name in lines beside its bar, or above it. */
  const row = (name: string) => {
    const lines = wrapped(name, names);
    const high = lines.length * LINE_PX;
    const height = beside ? Math.max(high + 10, ROW_PX) : high + ROW_PX - 4;
    const middle = beside ? y + height / 2 : y + high + BAR_PX / 2 + 2;
    const here = {
      name: lines.join("\n"),
      name_y: beside ? middle - high / 2 : y,
      middle,
      top: middle - BAR_PX / 2,
      foot: middle + BAR_PX / 2,
    };
    y += height;
    return here;
  };
  const laneRows = lanes.map((lane) => ({ lane, ...row(laneName(lane)) }));
  const laid = rows.map((one) => ({
    ...row(one.name),
    activity: one,
    from: at(one.start),
    to: Math.max(at(one.finish), at(one.start) + least),
    low: at(one.start_range.low),
    high: at(one.finish_range.high),
    wanted: one.wanted_on === undefined ? -1 : at(one.wanted_on),
    title: `${one.name}: ${day(one.start)} – ${day(one.finish)}`,
  }));
  type Laid = (typeof laid)[number];
  const kind = ({ activity }: Laid) => (activity.happens_share < 1 ? "maybe" : activity.job ? "job" : "step");
  const stretch = (which: Which) =>
    laneRows
      .filter(({ lane }) => lane.which === which)
      .flatMap(({ lane, top, foot }) =>
        lane.list.map((one) => {
          const from = Math.max(at(one.from), first);
          const to = Math.max(Math.min(at(one.to) + 1, last), from + least);
          return { from, to, top, foot, title: `${one.why}: ${day(one.from)} – ${day(one.to)}` };
        }),
      );
  const span = { x1: "from", x2: "to", y1: "top", y2: "foot" } as const;
  const marks = dayMarks(first, last, most);
  const words = new Map(marks.map((one) => [one.at, one.words]));
  const days = marks.map((one) => one.at);
  return {
    width,
    height: y + 6,
    marginTop: AXIS_PX - 8,
    marginLeft: left,
    marginRight: right,
    marginBottom: 6,
    x: { type: "linear", domain: [first, last] },
    y: { type: "identity", axis: null },
    marks: [
      plot.rect(stretch("away"), { ...span, y2: y, className: "away-days" }),
      plot.gridX(days, { className: "grid" }),
      plot.axisX(days, {
        anchor: "top",
        tickSize: 0,
        tickFormat: (number: number) => words.get(number) ?? "",
        label: null,
      }),
      plot.rect(stretch("away"), { ...span, title: "title", className: "away" }),
      plot.rect(stretch("dry"), { ...span, title: "title", className: "dry" }),
      plot.ruleY(laid, { x1: "low", x2: "high", y: "middle", className: "span" }),
      (["step", "job", "maybe"] as const).map((which) =>
        plot.rect(
          laid.filter((one) => kind(one) === which),
          { ...span, rx: 2, title: "title", className: which },
        ),
      ),
      plot.dot(
        laid.filter((one) => one.wanted >= first && one.wanted <= last),
        { x: "wanted", y: "middle", symbol: "diamond", r: 6, className: "wanted" },
      ),
      plot.text([...laneRows, ...laid], {
        text: "name",
        y: "name_y",
        frameAnchor: "left",
        dx: -left,
        textAnchor: "start",
        lineAnchor: "top",
        lineHeight: LINE_HEIGHT,
        fill: "var(--ink)",
        stroke: "var(--paper)", // over the grid
        className: "ink",
      }),
    ],
  };
}

const laneName = ({ which }: Lane) => text.stretches.lane[which];

function Rows({ answer }: { answer: Answer }) {
  const names = new Map(answer.activities.map((row) => [row.id, row.name]));
  const jobs = answer.activities.filter((row): row is Activity & { job: string } => row.job !== undefined);
  return (
    <ol className="plain order">
      {jobs.map((row) => (
        <li key={row.id}>
          <h2>
            <a href={href({ place: "jobs", one: row.job })}>{row.name}</a> <small>{row.job}</small>
          </h2>
          <p>
            <strong>{t.earliest(day(row.start))}</strong>
            {row.start_range.low !== row.start_range.high
              ? ` ${t.range(day(row.start_range.low), day(row.start_range.high), day(row.start_range.p90))}`
              : ""}
            {row.wanted_on && row.wanted_on < row.start ? ` ${t.tooEarly(day(row.wanted_on))}` : ""}
          </p>
          <p className="quiet">
            {row.held_by_ids.length > 0
              ? t.waits(row.held_by_ids.map((id) => names.get(id) ?? id).join(", "))
              : t.nothingHolds}{" "}
            {row.critical ? t.critical : t.slack(Math.floor(row.slack_days))}
          </p>
        </li>
      ))}
    </ol>
  );
}
