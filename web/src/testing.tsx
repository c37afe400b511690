// Testing: what is worth testing, what is out, and what a result moved.
import { useCallback, useId, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Book, Change, Fault, PlannedTest, Result, Sample, TestPlan, WholeBook } from "./api";
import { useAnswer, useBook } from "./book";
import { Chart, widest } from "./chart";
import type { Draw, Plot } from "./chart";
import { EditDialog } from "./form";
import { day, money, percent, sentence } from "./format";
import {
  Empty,
  FaultList,
  faultsOf,
  NotAnswered,
  Panel,
  PanelForm,
  Reasons,
  Section,
  SourceOf,
  SourcesOf,
  Wide,
} from "./parts";
import { Swatch } from "./plan";
import { ReadReport } from "./report";
import { href } from "./route";
import { sampleAt, spotOf, stillToPlan, waitingOf } from "./samples";
import { WhatWasSaid } from "./said";
import type { Fibre } from "./said";
import { text } from "./text";
import "./testing.css";

const SAMPLE_FIELDS = ["material", "label", "spot", "taken_on", "sent_on", "laboratory"];
const t = text.testing;

/** Whole units of the currency, as the test plan reckons. */
const units = (value: number, currency: string) => money(Math.round(value) * 100, currency);

export function Testing({ one }: { one?: string | undefined }) {
  const { answer, refused } = useAnswer(api.testing);
  const { book } = useBook();
  /** A sample whose form is open: to be written down, or, with its id, to be changed. */
  const [opened, setOpened] = useState<Partial<Sample> | null>(null);
  const [pricing, setPricing] = useState(false);
  const [moved, setMoved] = useState<Moved | null>(null);
  const unpriced = refused !== null && book.about.test_each === undefined;
  return (
    <div className="view">
      <header className="heading row">
        <div>
          <h1>{t.heading}</h1>
          <p className="lead">{t.lead}</p>
        </div>
        <div className="actions">
          {unpriced ? null : (
            <Button className="button" onPress={() => setPricing(true)}>
              {text.prices.open}
            </Button>
          )}
          <Button className="button" onPress={() => setOpened({})}>
            {t.addSample}
          </Button>
        </div>
      </header>
      {moved ? <WhatMoved moved={moved} onClose={() => setMoved(null)} /> : null}
      {unpriced ? (
        <Empty title={t.cannotWeigh} words={t.needsPrice}>
          <Button className="button strong" onPress={() => setPricing(true)}>
            {text.prices.open}
          </Button>
        </Empty>
      ) : refused ? (
        <NotAnswered refused={refused} />
      ) : null}
      {answer ? <Recommended plan={answer} chosen={one} onTaken={setOpened} /> : null}
      <Samples onMoved={setMoved} onChange={setOpened} />
      {answer ? <RestOfPlan plan={answer} /> : null}
      {pricing ? (
        <EditDialog
          kind="about"
          verb="set"
          what="about"
          title={text.prices.heading}
          fields={["test_fixed", "test_each", "waiting_per_week"]}
          labels={text.prices.fields}
          item={{ ...book.about }}
          onClose={() => setPricing(false)}
          onDone={() => setPricing(false)}
        />
      ) : null}
      {opened ? (
        <EditDialog
          kind="sample"
          verb={opened.id ? "set" : "add"}
          what={opened.id ?? "sample"}
          title={opened.id ? t.changeSample(opened.label ?? opened.id) : t.addSample}
          fields={SAMPLE_FIELDS}
          more={["laboratory_ref", "notes"]}
          labels={t.fields}
          item={opened.id ? opened : { ...opened, ...onlyLaboratory(book.parties) }}
          onClose={() => setOpened(null)}
          onDone={() => setOpened(null)}
        />
      ) : null}
    </div>
  );
}

/** With one laboratory in the book there is nothing to choose. */
function onlyLaboratory(parties: { id: string; role: string }[] | undefined): Record<string, unknown> {
  const found = (parties ?? []).filter((party) => party.role === "laboratory");
  return found.length === 1 && found[0] ? { laboratory: found[0].id } : {};
}

function useNames() {
  const { materialOf, jobs } = useBook();
  return {
    material: (id: string) => materialOf(id)?.name ?? id,
    job: (id: string) => jobs.find((job) => job.job === id)?.title ?? id,
  };
}

/** Jobs without their costs are left out of the sums; with no other, the sums are of nothing. */
const weighsNothing = (plan: TestPlan) => plan.left_out.length > 0 && plan.cost_now === 0;

function Recommended({
  plan,
  chosen,
  onTaken,
}: {
  plan: TestPlan;
  chosen: string | undefined;
  onTaken: (sample: Partial<Sample>) => void;
}) {
  const samples = plan.tests.reduce((sum, test) => sum + test.samples, 0);
  const nothingWeighed = weighsNothing(plan);
  return (
    <>
      <div className="verdict worth">
        <h2>{plan.tests.length > 0 ? t.some(plan.tests.length, samples) : nothingWeighed ? t.cannotWeigh : t.none}</h2>
        {nothingWeighed ? <p>{t.cannotWeighWhy}</p> : null}
        {nothingWeighed ? null : (
          <dl className="sums">
            <div>
              <dt>{t.costNow}</dt>
              <dd>{units(plan.cost_now, plan.currency)}</dd>
            </div>
            <div>
              <dt>{t.costBest}</dt>
              <dd>{units(plan.cost_best, plan.currency)}</dd>
            </div>
            <div>
              <dt>{t.costKnown}</dt>
              <dd>{units(plan.cost_with_perfect_information, plan.currency)}</dd>
            </div>
          </dl>
        )}
        {plan.exact ? null : <p className="quiet">{t.within(percent(plan.gap))}</p>}
        {plan.laboratory_days ? <p className="quiet">{t.turnaround(Math.round(plan.laboratory_days))}</p> : null}
        <PlanAll tests={plan.tests} />
      </div>
      <ol className="tests">
        {plan.tests.map((test) => (
          <Test key={test.material} test={test} plan={plan} chosen={chosen === test.material} onTaken={onTaken} />
        ))}
      </ol>
    </>
  );
}

/** All samples that the tests ask for, planned at one go; then their labels and the custody sheet. */
function PlanAll({ tests }: { tests: PlannedTest[] }) {
  const { book, edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const wanted = stillToPlan(tests, book);
  const planned = tests.flatMap((test) => waitingOf(book, test.material)).map((sample) => sample.label ?? sample.id);
  const planAll = () =>
    edit("several", {
      label: text.jobs.take.planSamples(wanted.length),
      parts: wanted.map((fields) => ({ add: "sample", fields })),
    }).then(
      () => setFaults([]),
      (error: unknown) => setFaults(faultsOf(error)),
    );
  if (tests.length === 0) return null;
  return (
    <div className="take">
      {planned.length > 0 ? <p>{text.jobs.take.planned(planned.join(", "))}</p> : null}
      <FaultList faults={faults} title={text.form.faults} />
      <div className="actions">
        {wanted.length > 0 ? (
          <Button className="button strong" onPress={() => void planAll()}>
            {t.planThese(wanted.length)}
          </Button>
        ) : null}
        {planned.length > 0 ? <SamplePapers /> : null}
      </div>
    </div>
  );
}

/** The papers that go with samples on their way. */
function SamplePapers() {
  return (
    <>
      <a className="button" href={href({ place: "papers", one: "sample-labels" })}>
        {t.labels}
      </a>
      <a className="button" href={href({ place: "papers", one: "custody" })}>
        {t.custody}
      </a>
    </>
  );
}

/** A spot of the plan: taken, it is written down with its day; planned before, its sample gets the day. */
function Taken({
  book,
  material,
  spot,
  onTaken,
}: {
  book: Book;
  material: string;
  spot: PlannedTest["spots"][number];
  onTaken: (sample: Partial<Sample>) => void;
}) {
  const { today } = useBook();
  const sample = sampleAt(book, material, spot.label);
  if (sample?.taken_on) return <small>{t.takenOn(day(sample.taken_on))}</small>;
  return (
    <Button
      className="button quiet"
      aria-label={t.takenLabel(spot.label)}
      onPress={() =>
        onTaken({ ...(sample ?? { material, label: spot.label, spot: spotOf(spot.words) }), taken_on: today })
      }
    >
      {t.taken}
    </Button>
  );
}

function Test({
  test,
  plan,
  chosen,
  onTaken,
}: {
  test: PlannedTest;
  plan: TestPlan;
  chosen: boolean;
  onTaken: (sample: Partial<Sample>) => void;
}) {
  const { book, materials, materialOf, roomOf } = useBook();
  const names = useNames();
  const material = materialOf(test.material);
  const room = material ? roomOf(material.room) : undefined;
  return (
    <li className={chosen ? "test chosen" : "test"} aria-current={chosen || undefined}>
      <div className="test-head">
        <Swatch known={materials[test.material]} />
        <h3>
          <a href={href({ place: "house", storey: room?.storey ?? "", chosen: test.material })}>
            {names.material(test.material)}
          </a>
          <small>{[test.material, room?.name, t.samples(test.samples)].filter(Boolean).join(" · ")}</small>
        </h3>
        <p className="figures saves">
          {t.saves(units(test.saves, plan.currency))}
          <small>{t.chance(percent(test.chance_clear))}</small>
        </p>
      </div>
      <div className="columns">
        <div>
          <p>
            <strong>{test.yourself ? t.yourself : t.others}</strong> {test.who.text} <SourceOf id={test.who.source} />
          </p>
          <ol className="spots">
            {test.spots.map((spot) => (
              <li key={spot.label}>
                <strong>{spot.label}</strong> {spot.words}
                <Taken book={book} material={test.material} spot={spot} onTaken={onTaken} />
              </li>
            ))}
          </ol>
          {test.taking.map((line) => (
            <p key={line.text}>
              {line.text} <SourceOf id={line.source} />
            </p>
          ))}
        </div>
        <div>
          <h4>{t.ifClear}</h4>
          <Changes change={test.if_clear} />
          <h4>{t.ifFound}</h4>
          <Changes change={test.if_found} />
        </div>
      </div>
    </li>
  );
}

function Changes({ change }: { change: Change }) {
  const names = useNames();
  if (change.jobs.length + change.beliefs.length === 0) return <p className="quiet">{t.nothingMoves}</p>;
  return (
    <ul className="plain moves">
      {change.jobs.map((one) => (
        <li key={one.job}>
          <a href={href({ place: "jobs", one: one.job })}>{names.job(one.job)}</a>: <s>{one.before}</s> → {one.after}
        </li>
      ))}
      {change.beliefs.map((one) => (
        <li key={one.material}>
          {names.material(one.material)}: {percent(one.before)} → {percent(one.after)}
        </li>
      ))}
    </ul>
  );
}

/** What more tests would cost, drawn and as a table. */
function Curve({ plan }: { plan: TestPlan }) {
  const points = plan.curve;
  const draw = useCallback<Draw>((plot, width) => stair(plot, width, plan), [plan]);
  if (points.length < 2) return null;
  return (
    <figure className="curve">
      <Chart name="stair" label={t.curveLabel} draw={draw} />
      <details>
        <summary>{text.chart.asTable}</summary>
        <Wide label={t.curveLabel}>
          <table>
            <thead>
              <tr>
                <th scope="col">{t.tableSamples}</th>
                <th scope="col">{t.tableTests}</th>
                <th scope="col">{t.tableCost}</th>
              </tr>
            </thead>
            <tbody>
              {points.map((point) => (
                <tr key={`${point.samples}-${point.tests.join()}`}>
                  <td>{point.samples}</td>
                  <td>{point.tests.join(", ") || "–"}</td>
                  <td>{units(point.expected_cost, plan.currency)}</td>
                </tr>
              ))}
            </tbody>
          </table>
        </Wide>
      </details>
    </figure>
  );
}

/** Room for a line of words under the lowest line. */
const CURVE_WORDS_PX = 24;

/** Expected cost of all jobs against the number of samples: a stair, least at the plan. */
export function stair(plot: Plot, width: number, plan: TestPlan): ReturnType<Draw> {
  const points = plan.curve;
  const known = plan.cost_with_perfect_information;
  const costs = points.map((point) => point.expected_cost);
  const [low, high] = [Math.min(known, ...costs), Math.max(known, ...costs)];
  const cost = (value: number) => units(value, plan.currency);
  const best = points.reduce((least, point) => (point.expected_cost < least.expected_cost ? point : least));
  const most = Math.max(...points.map((point) => point.samples), 1);
  const left = widest([cost(low), cost(high)]) + 12;
  const across = Math.min(width, 736);
  const dots = (className: string, r: number, some: TestPlan["curve"]) =>
    plot.dot(some, {
      x: "samples",
      y: "expected_cost",
      r,
      title: (point: TestPlan["curve"][number]) => `${t.samples(point.samples)}: ${cost(point.expected_cost)}`,
      className,
    });
  return {
    width: across,
    height: 250,
    marginTop: 14,
    marginLeft: left,
    marginRight: 14,
    marginBottom: 50,
    x: { domain: [0, most], inset: 6 },
    // What knowing all would cost is never more than any plan: under its line there is room for its words.
    y: { domain: [low, Math.max(high, low + 1)], insetBottom: CURVE_WORDS_PX },
    marks: [
      plot.gridY({ ticks: 4, className: "grid" }),
      plot.axisY({ ticks: 4, tickSize: 0, tickFormat: cost, label: null }),
      plot.axisX({
        ticks: Math.min(most, Math.floor((across - left) / 40)),
        tickFormat: (samples: number) => (Number.isInteger(samples) ? String(samples) : ""),
        tickSize: 0,
        label: t.curveAxis,
        labelAnchor: "center",
        labelArrow: "none",
        labelOffset: 44,
      }),
      plot.ruleY([known], { className: "known" }),
      plot.text([known], {
        y: [known],
        text: () => t.costKnown,
        frameAnchor: "right",
        textAnchor: "end",
        lineAnchor: "top",
        dy: 7,
      }),
      plot.lineY(points, { x: "samples", y: "expected_cost", curve: "step-after", className: "steps" }),
      dots("dot", 4, points),
      dots("best", 7, [best]),
    ],
  };
}

function RestOfPlan({ plan }: { plan: TestPlan }) {
  const names = useNames();
  const idle = plan.not_worth.filter((one) => one.idle);
  const weighed = plan.not_worth.filter((one) => !one.idle);
  return (
    <>
      <div className="columns">
        {weighsNothing(plan) ? null : (
          <Section title={t.curve}>
            <Curve plan={plan} />
          </Section>
        )}
        <Section title={weighsNothing(plan) ? t.notWeighed : t.notWorth}>
          <ul className="plain moves">
            {weighed.map((one) => (
              <li key={one.material}>
                <strong>{names.material(one.material)}</strong> <small>{one.material}</small>
                <br />
                {one.why}
              </li>
            ))}
            {idle.length > 0 ? (
              <li>
                {t.idle}: {idle.map((one) => names.material(one.material)).join(", ")}.
              </li>
            ) : null}
          </ul>
          {plan.in_rounds.first.length > 0 ? (
            <p>
              {t.rounds(
                plan.in_rounds.first.map(names.material).join(", "),
                units(plan.in_rounds.expected_cost, plan.currency),
              )}
            </p>
          ) : null}
          {plan.left_out.map((one) => (
            <p key={one.job}>
              <a href={href({ place: "jobs", one: one.job })}>{names.job(one.job)}</a>: {one.why}
            </p>
          ))}
        </Section>
      </div>
      <div className="columns">
        <Section title={t.bring}>
          <ul className="steps">
            {plan.bring.map((one) => (
              <li key={one.text}>{one.text}</li>
            ))}
          </ul>
          <SourcesOf reasons={plan.bring} />
        </Section>
        <Section title={t.how}>
          <ol className="steps">
            {plan.steps.map((one) => (
              <li key={one.text}>{one.text}</li>
            ))}
          </ol>
          <SourcesOf reasons={plan.steps} />
        </Section>
      </div>
      {weighsNothing(plan) ? null : <Reasons reasons={plan.reasons} title={t.reasons} />}
      <p className="cautions">{t.caution}</p>
    </>
  );
}

/** Every sample of the book with what came of it. */
function Samples({ onMoved, onChange }: { onMoved: (moved: Moved) => void; onChange: (sample: Sample) => void }) {
  const whole = useBook();
  const { book, materials } = whole;
  const names = useNames();
  const [entering, setEntering] = useState<Sample | null>(null);
  const samples = book.samples ?? [];
  const resultOf = (id: string) => (book.results ?? []).find((result) => result.sample === id);
  const out = samples.filter((sample) => !resultOf(sample.id));
  const back = samples.filter((sample) => resultOf(sample.id));
  return (
    <Section title={t.samplesTitle}>
      {samples.length === 0 ? <p className="quiet">{t.noSamples}</p> : null}
      <ul className="plain samples">
        {[...out, ...back].map((sample) => {
          const result = resultOf(sample.id);
          return (
            <li key={sample.id} className={result ? "back-from" : "out-at"}>
              <Swatch known={materials[sample.material]} />
              <span>
                <strong>{sample.label ?? sample.id}</strong>, {names.material(sample.material)}
                <small>
                  {[
                    sample.id,
                    sample.spot,
                    sample.taken_on ? t.takenOn(day(sample.taken_on)) : result ? null : t.notTaken,
                    sample.sent_on ? t.sentOn(day(sample.sent_on)) : null,
                  ]
                    .filter(Boolean)
                    .join(" · ")}
                </small>
                {!result && !sample.taken_on && materials[sample.material]?.may_take_sample === false ? (
                  <small>
                    <strong>{sentence(t.forOthers)}</strong>
                  </small>
                ) : null}
              </span>
              <span className="came">
                {result ? (
                  <>
                    <span>
                      {result.found ? t.found((result.fibres ?? []).join(", ")) : t.clear}
                      {result.reported_on ? <small>{t.reportedOn(day(result.reported_on))}</small> : null}
                    </span>
                    <Button
                      className="button quiet"
                      aria-label={t.changeResult(sample.label ?? sample.id)}
                      onPress={() => setEntering(sample)}
                    >
                      {text.material.edit}
                    </Button>
                  </>
                ) : (
                  <>
                    <Button className="button" aria-label={t.enterLabel(sample.id)} onPress={() => setEntering(sample)}>
                      {t.enter}
                    </Button>
                    <Button
                      className="button quiet"
                      aria-label={`${text.material.edit} ${sample.id}`}
                      onPress={() => onChange(sample)}
                    >
                      {text.material.edit}
                    </Button>
                  </>
                )}
              </span>
            </li>
          );
        })}
      </ul>
      {out.length > 0 ? (
        <p className="papers-here">
          <SamplePapers />
        </p>
      ) : null}
      {samples.length > 0 ? (
        <ReadReport onRecorded={async (title) => onMoved(difference(title, whole, await api.book()))} />
      ) : null}
      {entering ? (
        <ResultDialog
          sample={entering}
          before={resultOf(entering.id)}
          onClose={() => setEntering(null)}
          onMoved={onMoved}
        />
      ) : null}
    </Section>
  );
}

/** What one edit moved, told from the book before and after it. */
export interface Moved {
  title: string;
  jobs: { id: string; title: string; before: string; after: string }[];
  materials: { id: string; name: string; before: string; after: string }[];
}

function difference(title: string, before: WholeBook, after: WholeBook): Moved {
  const standing = (book: WholeBook, id: string) => {
    const known = book.materials[id];
    if (!known?.suspect || !known.standing) return "";
    const words = text.standing[known.standing];
    return known.probability === undefined ? words : `${words}, ${percent(known.probability)}`;
  };
  return {
    title,
    jobs: after.jobs.flatMap((job) => {
      const was = before.jobs.find((one) => one.job === job.job);
      return was && was.verdict !== job.verdict
        ? [{ id: job.job, title: job.title, before: was.verdict, after: job.verdict }]
        : [];
    }),
    materials: (after.book.materials ?? []).flatMap((material) => {
      const [was, is] = [standing(before, material.id), standing(after, material.id)];
      return was !== is ? [{ id: material.id, name: material.name, before: was, after: is }] : [];
    }),
  };
}

function WhatMoved({ moved, onClose }: { moved: Moved; onClose: () => void }) {
  return (
    <section className="moved" aria-label={t.movedTitle} role="status">
      <div className="sheet-head">
        <h2>{moved.title}</h2>
        <Button className="button quiet" onPress={onClose}>
          {text.close}
        </Button>
      </div>
      {moved.jobs.length + moved.materials.length === 0 ? <p>{t.nothingMoved}</p> : null}
      <ul className="plain moves">
        {moved.jobs.map((one) => (
          <li key={one.id}>
            <a href={href({ place: "jobs", one: one.id })}>{one.title}</a>: <s>{one.before}</s> →{" "}
            <strong>{one.after}</strong>
          </li>
        ))}
        {moved.materials.map((one) => (
          <li key={one.id}>
            {one.name}: <s>{one.before}</s> → <strong>{one.after}</strong>
          </li>
        ))}
      </ul>
    </section>
  );
}

/** What the laboratory said, entered or put right. */
function ResultDialog({
  sample,
  before,
  onClose,
  onMoved,
}: {
  sample: Sample;
  /** The result as it is written down. */
  before: Result | undefined;
  onClose: () => void;
  onMoved: (moved: Moved) => void;
}) {
  const whole = useBook();
  const names = useNames();
  const id = useId();
  const [found, setFound] = useState<boolean | null>(before?.found ?? null);
  const [fibres, setFibres] = useState<Fibre[]>(before?.fibres ?? []);
  const [reported, setReported] = useState(before ? (before.reported_on ?? "") : whole.today);
  const [method, setMethod] = useState(before?.method ?? "");
  const [amount, setAmount] = useState(before?.amount ?? "");
  const [faults, setFaults] = useState<Fault[]>([]);
  const save = async () => {
    if (found === null) {
      setFaults([{ where: "", value: "", problem: t.sayWhich, allowed: "" }]);
      return;
    }
    try {
      const said = {
        found,
        fibres: found && fibres.length > 0 ? fibres : null,
        reported_on: reported || null,
        method: method.trim() || null,
        amount: amount.trim() || null,
      };
      // What is left empty is not written down; of a result put right it is taken away.
      const told = Object.fromEntries(Object.entries(said).filter(([, value]) => value !== null));
      if (before) await whole.edit("set", { what: before.id, fields: said });
      else await whole.edit("add", { what: "result", fields: { sample: sample.id, ...told } });
      onMoved(difference(t.movedBy(sample.label ?? sample.id), whole, await api.book()));
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  return (
    <Panel title={t.resultOf(sample.label ?? sample.id, names.material(sample.material))} onClose={onClose}>
      <PanelForm faults={faults} send={() => void save()} onClose={onClose}>
        <WhatWasSaid found={found} fibres={fibres} onFound={setFound} onFibres={setFibres} />
        <div className="field">
          <label htmlFor={`${id}-day`}>{t.dayOfReport}</label>
          <input id={`${id}-day`} type="date" value={reported} onChange={(event) => setReported(event.target.value)} />
        </div>
        <div className="field">
          <label htmlFor={`${id}-method`}>{t.method}</label>
          <input
            id={`${id}-method`}
            type="text"
            maxLength={120}
            value={method}
            onChange={(event) => setMethod(event.target.value)}
          />
        </div>
        <div className="field">
          <label htmlFor={`${id}-amount`}>{t.amount}</label>
          <input
            id={`${id}-amount`}
            type="text"
            maxLength={120}
            value={amount}
            onChange={(event) => setAmount(event.target.value)}
          />
        </div>
      </PanelForm>
    </Panel>
  );
}
