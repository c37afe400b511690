// Jobs: what may I start?
import { useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Edits, Fault, Job, JobAnswer, WayOn } from "./api";
import { useAnswer, useBook } from "./book";
import { DrawCut } from "./draw_cut";
import { EditDialog } from "./form";
import { MATERIAL_FIELDS, MATERIAL_MORE } from "./materialfields";
import { day, money, percent, percentWithRange, sentence, told } from "./format";
import { Empty, FaultList, Reasons, Section, faultsOf, sourceWords, verdictWords } from "./parts";
import { useWords } from "./book";
import { Plan, Swatch, standingWords } from "./plan";
import { go, href } from "./route";
import { waitingOf } from "./samples";
import { text } from "./text";
import { tellLength, useUnits } from "./units";

const JOB_FIELDS = ["title", "by", "wanted_on", "cost_plain"];
/** A test is weighed by both costs, so a job that is changed for that shows them together. */
const CHANGED_FIELDS = [...JOB_FIELDS, "cost_as_asbestos"];
/** What weighs a test or a way round, and when the job can be done. */
const JOB_MORE = ["cost_as_asbestos", "cost_elsewhere", "days", "people", "after", "notes"];

function nextStep(answer: JobAnswer): string {
  const first = answer.ways_on[0];
  if (answer.exit_status === 0) return text.jobs.nothing;
  if (answer.exit_status === 10) return text.jobs.start;
  return told(first?.text ?? answer.sentence);
}

export function Jobs() {
  const { jobs, book } = useBook();
  const [adding, setAdding] = useState(false);
  return (
    <div className="view">
      <header className="heading row">
        <div>
          <h1>{text.jobs.heading}</h1>
          {jobs.length > 0 ? <p className="lead">{text.jobs.lead}</p> : null}
        </div>
        <div className="actions">
          {jobs.length > 0 ? (
            <a className="button" href={href({ place: "jobs", one: "timeline" })}>
              {text.timeline.open}
            </a>
          ) : null}
          <a className="button" href={href({ place: "jobs", one: "brought-in" })}>
            {text.broughtIn.open}
          </a>
          {jobs.length > 0 ? (
            <Button className="button" onPress={() => setAdding(true)}>
              {text.jobs.add}
            </Button>
          ) : null}
        </div>
      </header>
      {jobs.length === 0 ? (
        <Empty title={text.jobs.emptyTitle} words={text.jobs.empty}>
          <Button className="button strong" onPress={() => setAdding(true)}>
            {text.jobs.add}
          </Button>
        </Empty>
      ) : (
        <ol className="jobs">
          {jobs.map((answer) => {
            const job = book.jobs?.find((one) => one.id === answer.job);
            return (
              <li key={answer.job}>
                <a href={href({ place: "jobs", one: answer.job })}>
                  <span className="job-title">
                    {answer.title}
                    <small>
                      {[
                        answer.job,
                        text.jobs.by[answer.by] ?? answer.by,
                        job?.wanted_on ? text.jobs.wanted(day(job.wanted_on)) : null,
                      ]
                        .filter(Boolean)
                        .join(" · ")}
                    </small>
                  </span>
                  <span className="job-verdict">{verdictWords(answer, job?.cuts?.length ?? 0)}</span>
                  <span className="job-next">{nextStep(answer)}</span>
                </a>
              </li>
            );
          })}
        </ol>
      )}
      {adding ? (
        <EditDialog
          kind="job"
          verb="add"
          what="job"
          title={text.jobs.addTitle}
          fields={JOB_FIELDS}
          more={JOB_MORE}
          labels={text.form.fields}
          item={{ by: "householder" }}
          onClose={() => setAdding(false)}
          onDone={(changed) => {
            setAdding(false);
            if (changed[0]) go({ place: "jobs", one: changed[0] });
          }}
        />
      ) : null}
    </div>
  );
}

/** A way on, taken: it becomes a sample to take, a decision or a note, through an edit that can be undone. */
function TakeWay({ way, job }: { way: WayOn; job: Job }) {
  const { edit, book, materials } = useBook();
  const [failed, setFailed] = useState("");
  const t = text.jobs.take;
  const samplesOf = (material: string) => (book.samples ?? []).filter((sample) => sample.material === material);
  /** How many samples are still to be planned: what settles it, less what was clear or is on its way. */
  const wantedOf = (material: string) => {
    const { samples_needed = 1, clear_samples = 0 } = materials[material] ?? {};
    return Math.max(0, Math.max(1, samples_needed - clear_samples) - waitingOf(book, material).length);
  };
  const toGo = (material: string) =>
    (book.actions ?? []).some((one) => one.material === material && one.kind === "remove" && !one.done_on);
  // All that a way asks for is one step, taken back by one undo.
  const steps: Partial<
    Record<WayOn["kind"], { words: string; label: string; parts: () => Edits["several"]["parts"] }>
  > = {
    test: {
      words: t.test,
      label: t.planSamples(way.materials.reduce((sum, one) => sum + wantedOf(one), 0)),
      parts: () =>
        way.materials.flatMap((material) =>
          Array.from({ length: wantedOf(material) }, (_, i) => ({
            add: "sample",
            fields: { material, label: `${material}-${samplesOf(material).length + i + 1}` },
          })),
        ),
    },
    remove: {
      words: t.remove,
      label: t.decideRemoval,
      parts: () =>
        way.materials
          .filter((material) => !toGo(material))
          .map((material) => ({ add: "action", fields: { material, kind: "remove" } })),
    },
    "go round": {
      words: t.round,
      label: t.noteRound(job.title),
      parts: () => [{ set: job.id, fields: { notes: [job.notes, way.text].filter(Boolean).join("\n") } }],
    },
    "bring in": {
      words: t.trade,
      label: t.giveToTrade(job.title),
      parts: () => [{ set: job.id, fields: { by: "trade" } }],
    },
  };
  const step = steps[way.kind];
  if (!step) return null;
  // Taken once is taken: pressed again it would plan the same samples, or the same removal, a second time.
  const waiting = way.materials.flatMap((material) => waitingOf(book, material));
  if (way.kind === "test" && way.materials.every((id) => wantedOf(id) === 0))
    return (
      <div className="take taken">
        <p>{t.planned(waiting.map((sample) => sample.label ?? sample.id).join(", "))}</p>
        <a className="button" href={href({ place: "testing" })}>
          {t.toTesting}
        </a>
      </div>
    );
  if (way.kind === "remove" && way.materials.every(toGo))
    return (
      <div className="take taken">
        <p>{t.decided}</p>
        <a className="button" href={href({ place: "jobs", one: "brought-in" })}>
          {text.broughtIn.open}
        </a>
      </div>
    );
  const take = async () => {
    setFailed("");
    try {
      await edit("several", { label: step.label.slice(0, 120), parts: step.parts() });
    } catch (error) {
      setFailed(error instanceof Error ? error.message : String(error));
    }
  };
  return (
    <div className="take">
      <Button className="button" onPress={() => void take()} aria-label={`${step.words}: ${way.text}`}>
        {step.words}
      </Button>
      {failed ? <p className="fault">{failed}</p> : null}
    </div>
  );
}

/** Beside what is to be looked at first: the look, done, is written down as what is there. */
function LookedAt({ of, onPress }: { of: string; onPress: () => void }) {
  return (
    <Button className="button" aria-label={`${text.look.done}: ${of}`} onPress={onPress}>
      {text.look.done}
    </Button>
  );
}

export function JobPage({ id }: { id: string }) {
  const whole = useBook();
  const { book, roomOf, materials } = whole;
  const { answer, gone } = useAnswer(api.job, id);
  const words = useWords();
  const [editing, setEditing] = useState<"job" | "cut" | null>(null);
  /** A face of which nothing is written down, and now is. */
  const [finding, setFinding] = useState<WayOn["at"] | null>(null);
  /** The way on whose route is drawn: the first that has one until another is chosen; -1 = none. */
  const [drawn, setDrawn] = useState<number | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const units = useUnits();
  const removeCut = (i: number) =>
    whole.edit("remove", { what: `${id}/cuts/${i + 1}` }).then(
      () => setFaults([]),
      (error: unknown) => setFaults(faultsOf(error)),
    );
  const job = book.jobs?.find((one) => one.id === id);

  if (gone || !job) return <p className="view">{text.notFound}</p>;
  if (!answer) return <p className="view waiting">{text.loading}</p>;

  const numbers = new Map(answer.touches.map((touch, i) => [touch.material, i + 1]));
  const shown = drawn ?? answer.ways_on.findIndex((way) => way.route);
  const route = answer.ways_on[shown]?.route;
  const rooms = new Set([
    ...(job.cuts ?? []).map((cut) => cut.room),
    ...answer.touches.map((touch) => touch.room),
    ...(route?.path ?? []).map((spot) => spot.room),
  ]);
  const storeys = (book.storeys ?? []).filter((storey) =>
    book.rooms?.some((room) => room.storey === storey.id && rooms.has(room.id)),
  );
  const taskName = (task: string) => words?.tasks.find((one) => one.id === task)?.name ?? task;
  const { currency } = whole.overview;
  // What is decided to come out is better out first, even where the job might start.
  const leaving = answer.touches
    .filter((touch) =>
      (book.actions ?? []).some((one) => one.material === touch.material && one.kind === "remove" && !one.done_on),
    )
    .map((touch) => touch.name);

  return (
    <div className="view job">
      <p className="back">
        <a href={href({ place: "jobs" })}>{text.jobs.back}</a>
      </p>
      <header className="heading row">
        <div>
          <h1>{answer.title}</h1>
          <p className="lead">
            {[id, text.jobs.by[answer.by] ?? answer.by, job.wanted_on ? text.jobs.wanted(day(job.wanted_on)) : null]
              .filter(Boolean)
              .join(" · ")}
          </p>
        </div>
        <div className="actions">
          <Button className="button" onPress={() => setEditing("job")}>
            {text.jobs.edit}
          </Button>
          <Button className="button" onPress={() => window.print()}>
            {text.print}
          </Button>
        </div>
      </header>
      <section className="verdict" aria-labelledby="verdict">
        <h2 id="verdict">{verdictWords(answer, job.cuts?.length ?? 0)}</h2>
        <p>{told(answer.sentence)}</p>
        {leaving.length > 0 ? <p>{text.jobs.leaving(leaving.join(", "))}</p> : null}
      </section>

      <div className="columns">
        <div>
          {(job.cuts ?? []).length === 0 ? (
            <Empty title={text.jobs.cutsWanting} words={text.jobs.noCuts}>
              <Button className="button strong" onPress={() => setEditing("cut")}>
                {text.jobs.addCut}
              </Button>
            </Empty>
          ) : null}
          {storeys.length > 0 ? (
            <Section title={text.jobs.plan}>
              <div className="plans">
                {storeys.map((storey) => (
                  <figure key={storey.id}>
                    <Plan
                      whole={whole}
                      storey={storey}
                      looking="both"
                      only={{ rooms, materials: numbers }}
                      cuts={job.cuts ?? []}
                      route={route?.path}
                    />
                    <figcaption>{storey.name}</figcaption>
                  </figure>
                ))}
              </div>
              {route ? <p className="quiet">{text.jobs.routeShown}</p> : null}
            </Section>
          ) : null}
          {(job.cuts ?? []).length > 0 ? (
            <Section title={text.jobs.cuts}>
              <ul className="plain cut-list">
                {(job.cuts ?? []).map((cut, i) => {
                  const words = `${sentence(taskName(cut.task))}${cut.count && cut.count > 1 ? ` × ${cut.count}` : ""}, ${
                    roomOf(cut.room)?.name ?? cut.room
                  }, ${text.faces(cut.face)}`;
                  return (
                    <li key={i}>
                      {words}
                      <Button
                        className="button quiet"
                        aria-label={text.jobs.removeCut(i + 1, words)}
                        onPress={() => void removeCut(i)}
                      >
                        {text.remove}
                      </Button>
                    </li>
                  );
                })}
              </ul>
              <FaultList faults={faults} title={text.material.notRemoved} />
              <Button className="button quiet" onPress={() => setEditing("cut")}>
                {text.jobs.addCut}
              </Button>
            </Section>
          ) : null}
          {answer.touches.length > 0 || answer.unwritten.length > 0 ? (
            <Section title={text.jobs.meets}>
              <ol className="touches">
                {answer.touches.map((touch) => (
                  <li key={touch.material} value={numbers.get(touch.material)}>
                    <a
                      href={href({ place: "house", chosen: touch.material, storey: roomOf(touch.room)?.storey ?? "" })}
                    >
                      <Swatch known={materials[touch.material]} />
                      <span>
                        {touch.name}
                        <small>
                          {[
                            standingWords(materials[touch.material]),
                            touch.probability !== undefined && touch.low !== undefined && touch.high !== undefined
                              ? percentWithRange(touch.probability, touch.low, touch.high)
                              : null,
                            roomOf(touch.room)?.name,
                            text.jobs.side[touch.side] ?? touch.side,
                            text.jobs.certainty[touch.certainty] ?? touch.certainty,
                          ]
                            .filter(Boolean)
                            .join(" · ")}
                        </small>
                      </span>
                    </a>
                  </li>
                ))}
              </ol>
              {answer.unwritten.map((face, i) => (
                <p key={i}>
                  {text.jobs.unwritten(roomOf(face.room)?.name ?? face.room, text.faces(face.face))}{" "}
                  <LookedAt
                    of={text.jobs.faceOf(text.faces(face.face), roomOf(face.room)?.name ?? face.room)}
                    onPress={() => setFinding(face)}
                  />
                </p>
              ))}
            </Section>
          ) : null}
        </div>
        <div>
          {answer.ways_on.length > 0 && (job.cuts ?? []).length > 0 ? (
            <Section title={text.jobs.ways}>
              <ol className="ways">
                {answer.ways_on.map((way, i) => (
                  <li key={i}>
                    <p>{told(way.text)}</p>
                    <p className="figures">
                      {[
                        way.cost === undefined
                          ? text.jobs.costUnknown
                          : way.cost === 0
                            ? text.jobs.costNone
                            : `${money(way.cost, currency)} ${text.jobs.cost}`,
                        way.days ? text.jobs.days(...way.days) : null,
                        way.chance_clear !== undefined ? text.jobs.chance(percent(way.chance_clear)) : null,
                      ]
                        .filter(Boolean)
                        .join(" · ")}
                    </p>
                    {way.route ? (
                      <>
                        <p className="figures">
                          {text.jobs.routeSize(tellLength(way.route.length_m, units), way.route.holes.length)}
                        </p>
                        <div className="take">
                          <Button
                            className="button"
                            aria-pressed={shown === i}
                            aria-label={text.jobs.routeLabel(way.text)}
                            onPress={() => setDrawn(shown === i ? -1 : i)}
                          >
                            {text.jobs.showRoute}
                          </Button>
                        </div>
                      </>
                    ) : null}
                    {way.kind === "write down" && (way.at || (job.cuts ?? []).length > 0) ? (
                      <div className="take">
                        {way.at ? (
                          <LookedAt of={way.text} onPress={() => setFinding(way.at)} />
                        ) : (
                          <Button
                            className="button"
                            aria-label={`${text.jobs.take.write}: ${way.text}`}
                            onPress={() => setEditing("cut")}
                          >
                            {text.jobs.take.write}
                          </Button>
                        )}
                      </div>
                    ) : null}
                    {way.kind === "await removal" ? (
                      <div className="take">
                        <a className="button" href={href({ place: "jobs", one: "brought-in" })}>
                          {text.broughtIn.open}
                        </a>
                      </div>
                    ) : null}
                    <TakeWay way={way} job={job} />
                  </li>
                ))}
              </ol>
            </Section>
          ) : null}
          {answer.precautions.length > 0 ? (
            <Section title={text.jobs.precautions}>
              <ol className="steps">
                {answer.precautions.map((step, i) => (
                  <li key={i}>{step}</li>
                ))}
              </ol>
            </Section>
          ) : null}
          <Section title={text.jobs.law}>
            <p>
              {answer.called
                ? `${sentence(answer.called)}.`
                : answer.exit_status === 0
                  ? text.jobs.notLaw
                  : text.jobs.notYetLaw}
            </p>
            {answer.duties.length > 0 ? (
              <>
                <h4>{text.jobs.duties}</h4>
                <ul className="duties">
                  {answer.duties.map((duty, i) => (
                    <li key={i}>
                      {duty.text} <cite>{sourceWords(duty.source, words?.sources)}</cite>
                    </li>
                  ))}
                </ul>
              </>
            ) : null}
          </Section>
          <Reasons title={text.jobs.reasons} reasons={answer.reasons} />
        </div>
      </div>
      <footer className="cautions">
        <h3>{text.jobs.cautions}</h3>
        {answer.cautions.map((caution, i) => (
          <p key={i}>{told(caution)}</p>
        ))}
      </footer>
      {editing === "job" ? (
        <EditDialog
          kind="job"
          verb="set"
          what={id}
          title={text.form.changeTitle(job.title)}
          fields={CHANGED_FIELDS}
          more={JOB_MORE.filter((name) => !CHANGED_FIELDS.includes(name))}
          labels={text.form.fields}
          item={job}
          onClose={() => setEditing(null)}
          onDone={() => setEditing(null)}
        />
      ) : null}
      {finding ? (
        <EditDialog
          kind="material"
          verb="add"
          what="material"
          title={text.look.whatIs(
            text.jobs.faceOf(text.faces(finding.face), roomOf(finding.room)?.name ?? finding.room),
          )}
          fields={MATERIAL_FIELDS}
          more={MATERIAL_MORE}
          labels={text.form.fields}
          item={{ ...finding, last_inspected: whole.today }}
          onClose={() => setFinding(null)}
          onDone={() => setFinding(null)}
        />
      ) : null}
      {editing === "cut" ? <DrawCut job={job} onClose={() => setEditing(null)} /> : null}
    </div>
  );
}
