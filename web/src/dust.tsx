// Dust: what did I breathe?
import { Fragment, memo, useDeferredValue, useEffect, useMemo, useRef, useState } from "react";
import { Button } from "react-aria-components";
import { Refused, api } from "./api";
import type { Band, Event, EventAnswer, PersonAnswer, RoomAnswer } from "./api";
import { useBook, useWords } from "./book";
import { Levels, Pulls } from "./dust_charts";
import { EventForm, answersOf } from "./event_form";
import { day, oneDecimal, percent, sentence } from "./format";
import { onlyLatest } from "./latest";
import { Now } from "./now";
import { Heads, NotAnswered, Pick, Reasons, Section, SourceOf, Wide, named, sourceWords } from "./parts";
import { Ranges } from "./ranges";
import { href } from "./route";
import { figure, span } from "./scale";
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

/** The figures take for granted that it held asbestos; where no test has said so, that is the first thing to know. */
function Untested({ event }: { event: Event }) {
  const { materials } = useBook();
  const open = (event.materials ?? [])
    .map((id) => materials[id])
    .filter((known) => known?.suspect && !known.released && known.standing !== "identified");
  return open.map((known) => (
    <p key={known!.id}>
      {t.untested(known!.name, known!.probability === undefined ? "" : percent(known!.probability))}
    </p>
  ));
}

function OneEvent({ event }: { event: Event }) {
  const [tried, setTried] = useState<Event | null>(null);
  const [changing, setChanging] = useState(false);
  const { answer, refused, share, running, rough, stop } = useReckoning(tried ?? event.id);
  // Doses and curve follow the hand; what is further down follows them.
  const rest = useDeferredValue(answer);
  const caution = answer?.cautions ?? [];
  if (changing)
    return (
      <div className="view">
        <header className="heading">
          <h1>{text.form.changeTitle(event.title)}</h1>
          <p className="lead">{t.newLead}</p>
        </header>
        <EventForm event={event} onClose={() => setChanging(false)} />
      </div>
    );
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
        <div className="actions">
          {answersOf(event) ? (
            <Button className="button" onPress={() => setChanging(true)}>
              {text.material.edit}
            </Button>
          ) : null}
          <a className="button" href={href({ place: "papers", one: "exposure" })}>
            {t.forDoctor}
          </a>
        </div>
      </header>
      <Untested event={event} />
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
          <span className="quiet">{t.drawn(answer.draws, `${oneDecimal(100 * answer.error)} %`)}</span>
        ) : null}
      </div>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer && rest ? (
        <>
          {tried ? <p className="tried">{t.triedNow}</p> : null}
          <People answer={answer} />
          <WhatIf event={event} tried={tried} onTry={setTried} />
          <Section top title={t.air}>
            <Air answer={answer} />
            <RoomTable answer={rest} />
          </Section>
          <div className="columns">
            <Section top title={t.matters}>
              <Matters answer={rest} />
            </Section>
            <Section top title={t.changes}>
              <Changes answer={rest} />
            </Section>
          </div>
          <Section top title={t.risk}>
            <Risk answer={rest} />
          </Section>
          <Reasons reasons={rest.reasons} title={t.reasons} />
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

/** What each person breathed, each with its range, beside what other air amounts to. */
function People({ answer }: { answer: EventAnswer }) {
  const words = useWords();
  const rows = useMemo(
    () => [
      ...answer.people.map(({ id, name, breathed_f_per_ml_h: breathed }) => ({
        key: id,
        name,
        ...breathed,
        words: band(breathed),
      })),
      ...answer.context.map((one) => ({
        key: one.what,
        name: sentence(one.what),
        middle: one.breathed_f_per_ml_h,
        words: figure(one.breathed_f_per_ml_h),
      })),
    ],
    [answer],
  );
  if (answer.people.length === 0) return <p className="quiet">{t.nobodyThere}</p>;
  return (
    <Section top title={t.breathed}>
      <Ranges label={t.breathedLabel} unit={t.unit} name={t.who} rows={rows} />
      <p className="quiet">
        {t.breathedKey} {answer.context.map((one) => sourceWords(one.source, words?.sources)).join("; ")}.
      </p>
    </Section>
  );
}

/** Level in the rooms over time, of the eight that rose highest; one of them is chosen. */
function Air({ answer }: { answer: EventAnswer }) {
  const rooms = useMemo(
    () => [...answer.rooms].sort((a, b) => b.mean_10min_max.middle - a.mean_10min_max.middle).slice(0, 8),
    [answer],
  );
  const [chosen, setChosen] = useState(rooms[0]?.id ?? "");
  const room = rooms.find((one) => one.id === chosen) ?? rooms[0];
  if (!room) return null;
  return (
    <>
      <Pick className="field pick" label={t.whichRoom} value={room.id} options={named(rooms)} onChange={setChosen} />
      <Levels
        label={t.airLabel(room.name, band(room.mean_10min_max))}
        times_min={answer.times_min}
        rooms={rooms}
        chosen={room}
        limits={answer.limits}
      />
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

const RoomTable = memo(function RoomTable({ answer }: { answer: EventAnswer }) {
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
          <Heads columns={columns} />
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
});

/** What is shown of what matters; less than the least is as good as nothing. */
const MOST_MATTERS = 7;
const LEAST_MATTERS = 0.01;

const Matters = memo(function Matters({ answer }: { answer: EventAnswer }) {
  const rows = useMemo(
    () =>
      answer.matters
        .filter((one) => Math.abs(one.correlation) >= LEAST_MATTERS)
        .slice(0, MOST_MATTERS)
        .map((one) => ({ ...one, what: sentence(one.what) })),
    [answer],
  );
  if (rows.length === 0) return <p className="quiet">{t.nothingMatters}</p>;
  return (
    <>
      <Pulls label={t.mattersLabel} rows={rows} />
      <p className="quiet">{t.mattersKey}</p>
      <details>
        <summary>{text.chart.asTable}</summary>
        <Wide label={t.mattersLabel}>
          <table>
            <Heads columns={t.mattersColumns} />
            <tbody>
              {rows.map((one) => (
                <tr key={one.id}>
                  <th scope="row">{one.what}</th>
                  <td>{one.correlation.toFixed(2)}</td>
                  <td>
                    <SourceOf id={one.source} />
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
    </>
  );
});

const Changes = memo(function Changes({ answer }: { answer: EventAnswer }) {
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
});

/** The models apart, each its own range, on a logarithmic scale beside what a life holds anyway. */
const Risk = memo(function Risk({ answer }: { answer: EventAnswer }) {
  const [who, setWho] = useState(answer.people[0]?.id ?? "");
  const person: PersonAnswer | undefined = answer.people.find((one) => one.id === who) ?? answer.people[0];
  const rows = useMemo(
    () => [
      ...(person?.risk.models ?? []).map((model) => ({
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
        middle: one.per_million,
        words: t.perMillion(figure(one.per_million)),
      })),
    ],
    [answer, person],
  );
  if (!person) return <p className="quiet">{t.nobodyThere}</p>;
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
      <Ranges label={t.riskLabel(person.name)} unit={t.riskUnit} name={t.riskWhat} rows={rows} />
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
});

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
