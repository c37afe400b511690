// The order of work: each job, test and removal on one scale of days, with its earliest and latest.
import { api } from "./api";
import type { Activity, Timeline as Answer } from "./api";
import { useAnswer } from "./book";
import { day } from "./format";
import { NotAnswered, Reasons, Wide } from "./parts";
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

/** Whole weeks on the scale, few enough to be read. */
function marks(first: number, last: number): number[] {
  const step = Math.max(7, Math.ceil((last - first) / 8 / 7) * 7);
  const out: number[] = [];
  for (let here = first; here <= last; here += step) out.push(here);
  return out;
}

const shortDay = (number: number) =>
  new Intl.DateTimeFormat(undefined, { day: "numeric", month: "short", timeZone: "UTC" }).format(
    new Date(number * DAY_MS),
  );

function Chart({ answer }: { answer: Answer }) {
  const rows = answer.activities.filter((row) => !row.skipped);
  if (rows.length === 0) return <p className="empty">{t.empty}</p>;
  const first = Math.min(...rows.map((row) => at(row.start_range.low)));
  const last = Math.max(...rows.map((row) => at(row.finish_range.high)));
  const lanes = (["away", "dry"] as Which[])
    .map((which) => ({ which, list: answer[which].filter((one) => at(one.to) >= first && at(one.from) <= last) }))
    .filter((lane) => lane.list.length > 0);
  const [left, right, rowHeight, axis, laneHeight] = [360, 1180, 34, 34, 26];
  const top = axis + lanes.length * laneHeight;
  const x = (number: number) => left + ((right - left) * (number - first)) / Math.max(last - first, 1);
  const bottom = top + rows.length * rowHeight;
  return (
    <Wide label={t.heading}>
      <svg className="gantt" viewBox={`0 0 1200 ${bottom + 8}`} role="img" aria-label={t.chart(rows.length)}>
        {marks(first, last).map((number) => (
          <g key={number}>
            <line className="grid" x1={x(number)} x2={x(number)} y1={axis - 8} y2={bottom} />
            <text x={x(number)} y={16} textAnchor="middle">
              {shortDay(number)}
            </text>
          </g>
        ))}
        {lanes.map(({ which, list }, i) => {
          const y = axis + i * laneHeight;
          return (
            <g key={which} className={`lane ${which}`}>
              <text className="what" x={0} y={y + 15}>
                {text.stretches.lane[which]}
              </text>
              {list.map((one, k) => {
                const [from, to] = [Math.max(at(one.from), first), Math.min(at(one.to) + 1, last)];
                const width = Math.max(x(to) - x(from), 3);
                return (
                  <g key={k}>
                    <rect
                      className="band"
                      x={x(from)}
                      y={y}
                      width={width}
                      height={which === "away" ? bottom - y : 20}
                    />
                    <rect className="cap" x={x(from)} y={y + 2} width={width} height={18}>
                      <title>{`${one.why}: ${day(one.from)} – ${day(one.to)}`}</title>
                    </rect>
                  </g>
                );
              })}
            </g>
          );
        })}
        {rows.map((row, i) => {
          const y = top + i * rowHeight;
          const [start, finish] = [at(row.start), at(row.finish)];
          return (
            <g key={row.id} className={row.happens_share < 1 ? "bar maybe" : row.job ? "bar job" : "bar"}>
              <text className="what" x={0} y={y + 20}>
                {row.name.length > 50 ? `${row.name.slice(0, 49)}…` : row.name}
                <title>{row.name}</title>
              </text>
              <line
                className="span"
                x1={x(at(row.start_range.low))}
                x2={x(at(row.finish_range.high))}
                y1={y + 16}
                y2={y + 16}
              />
              <rect x={x(start)} y={y + 7} width={Math.max(x(finish) - x(start), 5)} height={18} rx={2}>
                <title>{`${row.name}: ${day(row.start)} – ${day(row.finish)}`}</title>
              </rect>
              {row.wanted_on && at(row.wanted_on) >= first && at(row.wanted_on) <= last ? (
                <path className="wanted" d={`M${x(at(row.wanted_on))} ${y + 9}l5 7-5 7-5-7z`} />
              ) : null}
            </g>
          );
        })}
      </svg>
    </Wide>
  );
}

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
