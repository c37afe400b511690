// Dust: what did I breathe?
import { Fragment, useEffect, useMemo, useRef, useState } from "react";
import { Button } from "react-aria-components";
import { Refused, api } from "./api";
import type { Band, Event, EventAnswer, PersonAnswer, RoomAnswer } from "./api";
import { useBook, useWords } from "./book";
import { EventForm } from "./event_form";
import { day, percent, sentence } from "./format";
import { lines } from "./geometry";
import { onlyLatest } from "./latest";
import { Now } from "./now";
import { NotAnswered, Pick, Reasons, Section, SourceOf, Wide, named, sourceWords } from "./parts";
import { href } from "./route";
import { decades, figure, logScale, span } from "./scale";
import { text } from "./text";
import "./dust.css";

const t = text.dust;

export function Dust({ one }: { one?: string | undefined }) {
  const { book } = useBook();
  if (one === "now") return <Now />;
  if (one === "new") {
    return (
      <div className="view">
        <Back />
        <header className="heading">
          <h1>{t.newHeading}</h1>
          <p className="lead">{t.newLead}</p>
        </header>
        <EventForm />
      </div>
    );
  }
  const event = book.events?.find((each) => each.id === one);
  if (event) return <OneEvent key={event.id} event={event} />;
  return (
    <div className="view">
      <header className="heading">
        <h1>{t.heading}</h1>
      </header>
      <p>
        <a className="button strong at-once-button" href={href({ place: "dust", one: "now" })}>
          {t.disturbed}
        </a>
      </p>
      <Section top title={t.events}>
        {(book.events ?? []).length === 0 ? <p className="quiet">{t.none}</p> : null}
        <ul className="plain events">
          {(book.events ?? []).map((each) => (
            <li key={each.id}>
              <a href={href({ place: "dust", one: each.id })}>
                <strong>{each.title}</strong>
                <small>
                  {[each.id, day(each.started_at.slice(0, 10)), each.imagined ? t.imagined : null]
                    .filter(Boolean)
                    .join(" · ")}
                </small>
              </a>
            </li>
          ))}
        </ul>
        <div className="actions">
          <a className="button" href={href({ place: "dust", one: "new" })}>
            {t.write}
          </a>
        </div>
      </Section>
      <p className="cautions">{t.caution}</p>
    </div>
  );
}

function Back() {
  return (
    <p className="back">
      <a href={href({ place: "dust" })}>{t.back}</a>
    </p>
  );
}

const LOOK_EVERY_MS = 250;
const REST_BEFORE_DRAWING_ON_MS = 200;

/**
 * The answer for an event: rough at once, then drawn until it is good. `draft` is the event as tried, or its id as it
 * is written down.
 */
function useReckoning(draft: string | Partial<Event>) {
  const { revision } = useBook();
  const [answer, setAnswer] = useState<EventAnswer | null>(null);
  const [state, setState] = useState<{ share: number; running: boolean; rough: boolean }>({
    share: 0,
    running: true,
    rough: true,
  });
  const [refused, setRefused] = useState<Refused | null>(null);
  const run = useRef(0);
  const [roughly] = useState(onlyLatest);
  const asked = JSON.stringify(draft);
  useEffect(() => {
    let wanted = true;
    let timer = 0;
    const later = (what: () => Promise<void>, ms: number) => {
      timer = window.setTimeout(() => {
        what().catch(fail);
      }, ms);
    };
    const question = JSON.parse(asked) as string | Partial<Event>;
    const fail = (error: unknown) => wanted && setRefused(Refused.by(error));
    const look = async () => {
      const seen = await api.reckoned(run.current);
      if (!wanted) return;
      if (seen.state === "done" && seen.answer) {
        setAnswer(seen.answer);
        setState({ share: 1, running: false, rough: false });
      } else if (seen.state === "running") {
        setState((now) => ({ ...now, share: seen.share_done }));
        later(look, LOOK_EVERY_MS);
      } else {
        if (seen.answer) setAnswer(seen.answer);
        setState((now) => ({ ...now, running: false }));
      }
    };
    const drawOn = async () => {
      const { run: begun } = await api.reckon(question);
      if (!wanted) return void (await api.stop(begun));
      run.current = begun;
      await look();
    };
    setRefused(null);
    setState({ share: 0, running: true, rough: true });
    // What runs for the question before would only take the cores away from this one.
    if (run.current > 0) api.stop(run.current).catch(() => undefined);
    run.current = 0;
    roughly.want(async () => {
      try {
        // Shown even when the slider has moved on: the curve follows the hand.
        setAnswer(await api.rough(question));
        if (wanted) later(drawOn, REST_BEFORE_DRAWING_ON_MS);
      } catch (error) {
        fail(error);
      }
    });
    return () => {
      wanted = false;
      window.clearTimeout(timer);
    };
  }, [asked, revision, roughly]);
  useEffect(
    () => () => {
      roughly.stop();
      if (run.current > 0) api.stop(run.current).catch(() => undefined);
    },
    [roughly],
  );
  return {
    answer,
    refused,
    ...state,
    stop: () => void (run.current > 0 && api.stop(run.current).catch(() => undefined)),
  };
}

function OneEvent({ event }: { event: Event }) {
  const [tried, setTried] = useState<Event | null>(null);
  const { answer, refused, share, running, rough, stop } = useReckoning(tried ?? event.id);
  const caution = answer?.cautions ?? [];
  return (
    <div className="view">
      <Back />
      <header className="heading row">
        <div>
          <h1>{event.title}</h1>
          <p className="lead">
            {[day(event.started_at.slice(0, 10)), event.imagined ? t.imagined : null].filter(Boolean).join(" · ")}
          </p>
        </div>
        <a className="button" href={href({ place: "papers", one: "exposure" })}>
          {t.forDoctor}
        </a>
      </header>
      <div className="progress" role="status">
        {running ? (
          <>
            <progress value={share} max={1} aria-label={t.drawing} />
            <span>{rough ? t.rough : t.drawing}</span>
            <Button className="button quiet" onPress={stop}>
              {t.stop}
            </Button>
          </>
        ) : answer ? (
          <span className="quiet">{t.drawn(answer.draws, percent(answer.error))}</span>
        ) : null}
      </div>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer ? (
        <>
          {tried ? <p className="tried">{t.triedNow}</p> : null}
          <People answer={answer} />
          <WhatIf event={event} tried={tried} onTry={setTried} />
          <Section top title={t.air}>
            <Air answer={answer} />
            <RoomTable answer={answer} />
          </Section>
          <div className="columns">
            <Section top title={t.matters}>
              <Matters answer={answer} />
            </Section>
            <Section top title={t.changes}>
              <Changes answer={answer} />
            </Section>
          </div>
          <Section top title={t.risk}>
            <Risk answer={answer} />
          </Section>
          <Reasons reasons={answer.reasons} title={t.reasons} />
          <div className="cautions">
            {caution.map((one) => (
              <p key={one}>{one}</p>
            ))}
          </div>
        </>
      ) : null}
    </div>
  );
}

const band = (value: Band) => t.band(figure(value.middle), figure(value.low), figure(value.high));

const LINE = 17;

/** What a row of a chart is, beside its bar: in two lines where one is too short for it. */
function RowName({ name, y, letters }: { name: string; y: number; letters: number }) {
  const parts = lines(name, letters);
  return (
    <text className="what" y={y + 5 - ((parts.length - 1) * LINE) / 2}>
      {parts.map((part, i) => (
        <tspan key={i} x={0} dy={i === 0 ? 0 : LINE}>
          {part}
        </tspan>
      ))}
    </text>
  );
}

/** What each person breathed, as bars on one logarithmic scale, beside what other air amounts to. */
function People({ answer }: { answer: EventAnswer }) {
  const words = useWords();
  if (answer.people.length === 0) return <p className="quiet">{t.nobodyThere}</p>;
  const rows = [
    ...answer.people.map((person) => ({
      key: person.id,
      name: person.name,
      value: person.breathed_f_per_ml_h,
      source: "",
    })),
    ...answer.context.map((one) => ({
      key: one.what,
      name: sentence(one.what),
      value: { low: one.breathed_f_per_ml_h, middle: one.breathed_f_per_ml_h, high: one.breathed_f_per_ml_h },
      source: one.source,
    })),
  ];
  const positive = rows.flatMap((row) => [row.value.low, row.value.high]).filter((value) => value > 0);
  const marks = decades(Math.min(...positive, 0.1), Math.max(...positive, 1));
  const [left, right, rowHeight] = [270, 780, 44];
  const x = logScale(marks[0]!, marks[marks.length - 1]!, left, right);
  return (
    <Section top title={t.breathed}>
      <Wide label={t.breathed}>
        <svg
          className="bars"
          viewBox={`0 0 1000 ${rows.length * rowHeight + 44}`}
          role="img"
          aria-label={t.breathedLabel}
        >
          {marks.map((mark) => (
            <g key={mark}>
              <line className="grid" x1={x(mark)} x2={x(mark)} y1={4} y2={rows.length * rowHeight} />
              <text x={x(mark)} y={rows.length * rowHeight + 18} textAnchor="middle">
                {figure(mark)}
              </text>
            </g>
          ))}
          <text x={(left + right) / 2} y={rows.length * rowHeight + 38} textAnchor="middle">
            {t.unit}
          </text>
          {rows.map((row, i) => {
            const y = i * rowHeight + 22;
            const point = row.source !== "";
            return (
              <g key={row.key} className={point ? "context" : "person"}>
                <RowName name={row.name} y={y} letters={32} />
                {point ? null : <line className="range" x1={x(row.value.low)} x2={x(row.value.high)} y1={y} y2={y} />}
                <circle cx={x(row.value.middle)} cy={y} r={point ? 5 : 7} />
                <text x={right + 16} y={y + 5}>
                  {point ? figure(row.value.middle) : band(row.value)}
                </text>
              </g>
            );
          })}
        </svg>
      </Wide>
      <p className="quiet">
        {t.breathedKey} {answer.context.map((one) => sourceWords(one.source, words?.sources)).join("; ")}.
      </p>
    </Section>
  );
}

/** Level in the rooms over time: each room's middle line, the chosen one with its band, and the two limits. */
function Air({ answer }: { answer: EventAnswer }) {
  const rooms = useMemo(
    () => [...answer.rooms].sort((a, b) => b.mean_10min_max.middle - a.mean_10min_max.middle).slice(0, 8),
    [answer],
  );
  const [chosen, setChosen] = useState(rooms[0]?.id ?? "");
  const room = rooms.find((one) => one.id === chosen) ?? rooms[0];
  if (!room) return null;
  const times = answer.times_min;
  const last = times[times.length - 1] ?? 1;
  const top = Math.max(...rooms.flatMap((one) => one.f_per_ml.map((level) => level.high)), 1);
  const marks = decades(0.0003, top);
  const [left, right, high, foot] = [86, 980, 14, 330];
  const y = logScale(marks[0]!, marks[marks.length - 1]!, foot, high);
  // Time by its square root: the first hours need the room, a week has to fit.
  const x = (minutes: number) => left + (right - left) * Math.sqrt(minutes / last);
  const line = (pick: (level: Band) => number, one: RoomAnswer) =>
    one.f_per_ml
      .map((level, i) => `${i === 0 ? "M" : "L"}${x(times[i] ?? 0).toFixed(1)} ${y(pick(level)).toFixed(1)}`)
      .join("");
  const area = `${line((level) => level.high, room)}${[...room.f_per_ml]
    .map((level, i) => ({ level, at: times[i] ?? 0 }))
    .reverse()
    .map(({ level, at }) => `L${x(at).toFixed(1)} ${y(level.low).toFixed(1)}`)
    .join("")}Z`;
  const ticks = [0, 60, 180, 360, 720, 1440, 2880, 5760, 10080].filter(
    (tick, i, all) => tick <= last && (i === 0 || x(tick) - x(all[i - 1] ?? 0) > 44),
  );
  const limits = [
    ...answer.limits.map((one) => ({ level: one.f_per_ml, words: t.limit(one.f_per_ml, one.name) })),
    { level: 0.01, words: t.clearance },
  ];
  return (
    <>
      <Pick className="field pick" label={t.whichRoom} value={room.id} options={named(rooms)} onChange={setChosen} />
      <Wide label={t.air}>
        <svg
          className="air"
          viewBox="0 0 1000 384"
          role="img"
          aria-label={t.airLabel(room.name, band(room.mean_10min_max))}
        >
          {marks.map((mark) => (
            <g key={mark}>
              <line className="grid" x1={left} x2={right} y1={y(mark)} y2={y(mark)} />
              <text x={left - 8} y={y(mark) + 5} textAnchor="end">
                {figure(mark)}
              </text>
            </g>
          ))}
          <text x={4} y={high + 4} className="unit">
            {t.airUnit}
          </text>
          {ticks.map((tick) => (
            <g key={tick}>
              <line className="tick" x1={x(tick)} x2={x(tick)} y1={foot} y2={foot + 6} />
              <text x={x(tick)} y={foot + 24} textAnchor="middle">
                {tick === 0 ? "0" : span(tick)}
              </text>
            </g>
          ))}
          <text x={(left + right) / 2} y={foot + 48} textAnchor="middle">
            {t.airTime}
          </text>
          <path className="band" d={area} />
          {rooms
            .filter((one) => one !== room)
            .map((one) => (
              <path key={one.id} className="other" d={line((level) => level.middle, one)} />
            ))}
          <path className="middle" d={line((level) => level.middle, room)} />
          {limits.map((limit) => (
            <g key={limit.level}>
              <line className="limit" x1={left} x2={right} y1={y(limit.level)} y2={y(limit.level)} />
              <text className="limit-words" x={right - 4} y={y(limit.level) - 6} textAnchor="end">
                {limit.words}
              </text>
            </g>
          ))}
        </svg>
      </Wide>
      <p className="quiet">{t.airKey(answer.limits_of)}</p>
    </>
  );
}

/** The means over ten minutes, four hours and, where a limit is over it, eight. */
const MEANS: { minutes: number; of: (room: RoomAnswer) => Band }[] = [
  { minutes: 10, of: (room) => room.mean_10min_max },
  { minutes: 240, of: (room) => room.mean_4h_max },
  { minutes: 480, of: (room) => room.mean_8h_max ?? room.mean_4h_max },
];

function RoomTable({ answer }: { answer: EventAnswer }) {
  /** Each with the places of the limits it is held against. */
  const means = MEANS.map((mean) => ({
    ...mean,
    limits: answer.limits.flatMap((one, at) => (one.minutes === mean.minutes ? [at] : [])),
  })).filter((mean) => mean.minutes !== 480 || mean.limits.length > 0);
  const columns = [
    t.roomColumns.room,
    ...means.flatMap((mean) => [
      t.roomColumns.highest(mean.minutes),
      ...mean.limits.map((at) => t.roomColumns.over(answer.limits[at]?.f_per_ml ?? 0)),
    ]),
    ...t.roomColumns.rest,
  ];
  /** Times end where the reckoning did: `beyond` is the chance that it takes longer. */
  const below = (value: Band, beyond: number) => {
    if (beyond >= 0.5) return t.notInTime;
    return t.band(span(value.middle), span(value.low), beyond > 0.05 ? t.orLonger(span(value.high)) : span(value.high));
  };
  return (
    <details>
      <summary>{t.roomTable}</summary>
      <Wide label={t.roomTable}>
        <table>
          <thead>
            <tr>
              {columns.map((column) => (
                <th key={column} scope="col">
                  {column}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {answer.rooms.map((room) => (
              <tr key={room.id}>
                <th scope="row">{room.name}</th>
                {means.map((mean) => (
                  <Fragment key={mean.minutes}>
                    <td>{band(mean.of(room))}</td>
                    {mean.limits.map((at) => (
                      <td key={at}>{percent(room.chances_over[at] ?? 0)}</td>
                    ))}
                  </Fragment>
                ))}
                <td>{below(room["minutes_until_below_0.01"], room["chance_not_below_0.01"])}</td>
                <td>{below(room["minutes_until_below_0.0005"], room["chance_not_below_0.0005"])}</td>
                <td>{band(room.week_adds_f_per_ml_h)}</td>
              </tr>
            ))}
          </tbody>
        </table>
      </Wide>
    </details>
  );
}

function Matters({ answer }: { answer: EventAnswer }) {
  return (
    <ul className="plain matters">
      {answer.matters.slice(0, 7).map((one) => (
        <li key={one.id}>
          <span>
            {sentence(one.what)} <SourceOf id={one.source} />
          </span>
          <svg viewBox="0 0 200 14" role="img" aria-label={t.correlation(one.correlation.toFixed(2))}>
            <line x1="100" x2="100" y1="0" y2="14" />
            <rect
              x={one.correlation < 0 ? 100 + 100 * one.correlation : 100}
              y="3"
              width={Math.max(100 * Math.abs(one.correlation), 1)}
              height="8"
            />
          </svg>
        </li>
      ))}
      <li className="quiet">{t.mattersKey}</li>
    </ul>
  );
}

function Changes({ answer }: { answer: EventAnswer }) {
  return (
    <ul className="plain moves">
      {answer.changes.map((one) => (
        <li key={one.what}>
          <strong className="figures">{t.times(figure(one.ratio))}</strong> {one.what}
        </li>
      ))}
      {answer.changes.length === 0 ? <li className="quiet">{t.changesLater}</li> : null}
    </ul>
  );
}

/** The models apart, each its own range, on a logarithmic scale beside what a life holds anyway. */
function Risk({ answer }: { answer: EventAnswer }) {
  const [who, setWho] = useState(answer.people[0]?.id ?? "");
  const person: PersonAnswer | undefined = answer.people.find((one) => one.id === who) ?? answer.people[0];
  if (!person) return <p className="quiet">{t.nobodyThere}</p>;
  const rows = [
    ...person.risk.models.map((model) => ({
      key: model.model,
      name: t.models[model.model] ?? model.model,
      low: model.low_per_million,
      middle: model.middle_per_million,
      high: model.high_per_million,
      words: t.between(figure(model.low_per_million), figure(model.high_per_million)),
    })),
    ...answer.everyday.map((one) => ({
      key: one.what,
      name: sentence(one.what),
      low: one.per_million,
      middle: one.per_million,
      high: one.per_million,
      words: t.perMillion(figure(one.per_million)),
    })),
  ];
  const positive = rows.flatMap((row) => [row.low, row.high]).filter((value) => value > 0);
  const marks = decades(Math.min(...positive), Math.max(...positive));
  const [left, right, rowHeight] = [330, 740, 44];
  const x = logScale(marks[0]!, marks[marks.length - 1]!, left, right);
  return (
    <>
      {answer.people.length > 1 ? (
        <Pick
          className="field pick"
          label={t.whose}
          value={person.id}
          options={named(answer.people)}
          onChange={setWho}
        />
      ) : null}
      <p className="risk-words">{t.riskSentence(person.name, person.risk.in_words)}</p>
      <Wide label={t.risk}>
        <svg
          className="bars"
          viewBox={`0 0 1000 ${rows.length * rowHeight + 44}`}
          role="img"
          aria-label={t.riskLabel(person.name)}
        >
          {marks.map((mark, i) => (
            <g key={mark}>
              <line className="grid" x1={x(mark)} x2={x(mark)} y1={4} y2={rows.length * rowHeight} />
              {i % 2 === 0 ? (
                <text x={x(mark)} y={rows.length * rowHeight + 18} textAnchor="middle">
                  {figure(mark)}
                </text>
              ) : null}
            </g>
          ))}
          <text x={(left + right) / 2} y={rows.length * rowHeight + 38} textAnchor="middle">
            {t.riskUnit}
          </text>
          {rows.map((row, i) => {
            const y = i * rowHeight + 22;
            const context = row.low === row.high;
            return (
              <g key={row.key} className={context ? "context" : "person"}>
                <RowName name={row.name} y={y} letters={40} />
                {context ? null : <line className="range" x1={x(row.low)} x2={x(row.high)} y1={y} y2={y} />}
                <circle cx={x(row.middle)} cy={y} r={context ? 5 : 7} />
                <text x={right + 16} y={y + 5} className="told">
                  {row.words}
                </text>
              </g>
            );
          })}
        </svg>
      </Wide>
      <h3>{t.disagree}</h3>
      <ul className="steps">
        {answer.disagree.map((one) => (
          <li key={one.text}>
            {one.text} <SourceOf id={one.source} />
          </li>
        ))}
      </ul>
    </>
  );
}

/** What else could have been: nothing here is written down. */
function WhatIf({ event, tried, onTry }: { event: Event; tried: Event | null; onTry: (event: Event | null) => void }) {
  const words = useWords();
  const { book } = useBook();
  const now = tried ?? event;
  const end = Math.max(60, ...(event.stays ?? []).map((stay) => stay.to_min));
  const people = (book.people ?? []).filter((person) => event.stays?.some((stay) => stay.person === person.id));
  const maskOf = (person: string) => now.masks?.find((mask) => mask.person === person);
  const setMask = (person: string, change: { respirator?: string; share_worn?: number }) => {
    const others = (now.masks ?? []).filter((mask) => mask.person !== person);
    const before = maskOf(person) ?? { person, respirator: "ffp3", from_min: 0, to_min: end, share_worn: 1 };
    const mask = { ...before, ...change };
    onTry({ ...now, masks: mask.respirator === "none" ? others : [...others, mask] });
  };
  const minutes = now.cuts?.reduce((sum, cut) => sum + (cut.minutes ?? 0), 0) ?? 0;
  const wetted = now.cuts?.every((cut) => cut.controls?.includes("wetting")) ?? false;
  return (
    <Section top title={t.whatIf}>
      <p className="quiet">{t.whatIfLead}</p>
      <div className="what-if">
        {people.map((person) => {
          const mask = maskOf(person.id);
          const share = Math.round(100 * (mask?.share_worn ?? (mask ? 0.7 : 0)));
          return (
            <div key={person.id} className="lever" role="group" aria-label={t.maskOf(person.name)}>
              <Pick
                className=""
                label={t.maskOf(person.name)}
                value={mask?.respirator ?? "none"}
                options={(words?.respirators ?? []).map((one) => [one.id, sentence(one.name)] as const)}
                onChange={(respirator) => setMask(person.id, { respirator })}
              />
              {mask ? (
                <label className="range-label">
                  {mask.share_worn === undefined ? t.shareUnknown : t.share(String(share))}
                  <input
                    type="range"
                    min={0}
                    max={100}
                    step={5}
                    value={share}
                    onChange={(change) => setMask(person.id, { share_worn: Number(change.target.value) / 100 })}
                  />
                </label>
              ) : null}
            </div>
          );
        })}
        {now.cuts && now.cuts.length > 0 ? (
          <div className="lever">
            <label className="range-label">
              {t.workedFor(span(minutes))}
              <input
                type="range"
                min={1}
                max={Math.max(60, Math.ceil(minutes))}
                value={minutes}
                onChange={(change) => {
                  const factor = Number(change.target.value) / Math.max(minutes, 1);
                  onTry({
                    ...now,
                    cuts: now.cuts!.map((cut) => ({
                      ...cut,
                      minutes: Math.round((cut.minutes ?? 1) * factor * 100) / 100,
                    })),
                  });
                }}
              />
            </label>
            <label className="tick-label">
              <input
                type="checkbox"
                checked={wetted}
                onChange={(change) =>
                  onTry({
                    ...now,
                    cuts: now.cuts!.map((cut) => ({
                      ...cut,
                      controls: change.target.checked
                        ? [...new Set([...(cut.controls ?? []), "wetting"])]
                        : (cut.controls ?? []).filter((control) => control !== "wetting"),
                    })),
                  })
                }
              />
              {t.wetted}
            </label>
          </div>
        ) : null}
      </div>
      {tried ? (
        <Button className="button" onPress={() => onTry(null)}>
          {t.asItWas}
        </Button>
      ) : null}
    </Section>
  );
}
