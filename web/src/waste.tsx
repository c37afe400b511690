// Waste: what has to go, how it is wrapped, and how it lies in the vehicle, drawn to scale.
import { useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { How, Pile, Vehicle, Waste as Answer, WastePiece, WasteRun } from "./api";
import { useAnswer, useBook } from "./book";
import { EditDialog } from "./form";
import { day, money, oneDecimal, sentence } from "./format";
import { Empty, NotAnswered, Pick, Reasons, Section } from "./parts";
import { href } from "./route";
import { text } from "./text";
import "./waste.css";

const t = text.waste;
const kg = (value: number) => (value < 10 ? oneDecimal(value) : String(Math.round(value)));

/** What may be written down here, with the fields asked for. */
const FORMS = {
  piece: {
    fields: ["name", "material", "length_m", "width_m", "thickness_mm", "count", "whole", "wrapped", "room"],
    more: ["mass_kg"],
    item: { whole: true },
  },
  vehicle: {
    fields: ["name", "length_m", "width_m", "height_m", "payload_kg"],
    more: ["door_width_m", "door_height_m"],
    item: {},
  },
  site: {
    fields: ["name", "pieces_per_visit", "visits_per_month", "distance_km"],
    more: ["mass_kg_per_visit", "length_m", "width_m", "conditions"],
    item: {},
  },
  party: {
    fields: ["name", "licence", "licence_expires_on", "price_fixed", "lead_days"],
    more: ["role", "price_each"],
    item: { role: "carrier" },
  },
} as const;
type FormKind = keyof typeof FORMS;

/** A vehicle is measured inside, a piece over all; a carrier is asked what any firm is. */
const labelsOf = (kind: FormKind) => ({
  ...text.broughtIn.fields,
  ...(kind === "party" ? {} : t.fields),
  ...(kind === "vehicle" ? t.insideFields : {}),
});

export function Waste() {
  const { answer, refused } = useAnswer(api.waste);
  const { book } = useBook();
  const [adding, setAdding] = useState<FormKind | null>(null);
  /** What is written down already, to be changed. */
  const [changing, setChanging] = useState<Changing | null>(null);
  const bare = (book.pieces ?? []).length === 0;
  const [chosen, setChosen] = useState(0);
  const run = answer?.runs[chosen] ?? answer?.runs[0];
  // What is asked for further down has its button there.
  const asked: (string | undefined)[] = bare ? ["piece"] : (answer?.next ?? []).map((one) => one.kind);
  const offered = (["piece", "vehicle", "site"] as const).filter((kind) => !asked.includes(kind));
  return (
    <div className="view">
      <header className="heading row">
        <div>
          <h1>{t.heading}</h1>
          <p className="lead">{t.lead}</p>
        </div>
        <div className="actions">
          {offered.map((kind) => (
            <Button key={kind} className="button" onPress={() => setAdding(kind)}>
              {t.add[kind]}
            </Button>
          ))}
        </div>
      </header>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer ? (
        <>
          {bare ? (
            <Empty title={t.emptyTitle} words={t.empty}>
              <Button className="button strong" onPress={() => setAdding("piece")}>
                {t.add.piece}
              </Button>
            </Empty>
          ) : null}
          <Pieces answer={answer} onChange={setChanging} />
          {run ? <Load answer={answer} run={run} onChoose={setChosen} onChange={setChanging} /> : null}
          {bare ? null : <Wanting answer={answer} onAdd={setAdding} />}
          {bare ? null : (
            <ToBuy
              answer={answer}
              wrap={run?.wrap ?? answer.wrap}
              onCarrier={() => setAdding("party")}
              onChange={setChanging}
            />
          )}
          <p className="cautions">{t.caution}</p>
        </>
      ) : null}
      {adding ? (
        <EditDialog
          kind={adding}
          verb="add"
          what={adding}
          title={t.add[adding]}
          fields={[...FORMS[adding].fields]}
          more={[...FORMS[adding].more]}
          labels={labelsOf(adding)}
          item={FORMS[adding].item}
          onClose={() => setAdding(null)}
          onDone={() => setAdding(null)}
        />
      ) : null}
      {changing ? (
        <EditDialog
          kind={changing.kind}
          verb="set"
          what={changing.item.id}
          title={t.change(changing.item.name)}
          fields={[...FORMS[changing.kind].fields]}
          more={[...FORMS[changing.kind].more]}
          labels={labelsOf(changing.kind)}
          item={changing.item}
          onClose={() => setChanging(null)}
          onDone={() => setChanging(null)}
        />
      ) : null}
    </div>
  );
}

interface Changing {
  kind: FormKind;
  item: { id: string; name: string };
}

/** What the load cannot be laid out without, and is not written down. */
function Wanting({ answer, onAdd }: { answer: Answer; onAdd: (kind: FormKind) => void }) {
  const wanted = answer.next.filter((one) => one.kind === "vehicle" || one.kind === "site");
  if (wanted.length === 0) return null;
  return (
    <Section title={t.byYourself}>
      {wanted.map((one) => (
        <p key={one.text}>{one.text}</p>
      ))}
      <div className="actions">
        {wanted.map((one) => (
          <Button key={one.kind} className="button" onPress={() => onAdd(one.kind as FormKind)}>
            {t.add[one.kind as FormKind]}
          </Button>
        ))}
      </div>
    </Section>
  );
}

function Pieces({ answer, onChange }: { answer: Answer; onChange: (what: Changing) => void }) {
  const { book } = useBook();
  const sizes = new Map((book.pieces ?? []).map((piece) => [piece.id, piece]));
  const longest = Math.max(1, ...(book.pieces ?? []).map((piece) => Math.max(piece.length_m, piece.width_m)));
  return (
    <ul className="plain leaving">
      {answer.pieces.map((piece) => {
        const drawn = sizes.get(piece.id);
        return (
          <li key={piece.id}>
            {drawn ? (
              <Outline length_m={drawn.length_m} width_m={drawn.width_m} scale={longest} whole={piece.whole} />
            ) : (
              <span />
            )}
            <PieceWords
              piece={piece}
              size={drawn ? t.size(drawn.length_m, drawn.width_m, drawn.thickness_mm) : ""}
              onChange={() => drawn && onChange({ kind: "piece", item: drawn })}
            />
          </li>
        );
      })}
    </ul>
  );
}

/** A piece seen from above; all of them at one scale. */
function Outline({
  length_m,
  width_m,
  scale,
  whole,
}: {
  length_m: number;
  width_m: number;
  scale: number;
  whole: boolean;
}) {
  return (
    <svg className="outline" viewBox={`-2 -2 ${100 * scale + 4} ${60 * scale + 4}`} aria-hidden="true">
      <rect
        x="0"
        y="0"
        width={100 * length_m}
        height={100 * width_m}
        className={whole ? "sheet-whole" : "sheet-broken"}
      />
    </svg>
  );
}

function PieceWords({ piece, size, onChange }: { piece: WastePiece; size: string; onChange: () => void }) {
  return (
    <div>
      <h2>
        {piece.name}{" "}
        <small>{[piece.id, piece.count > 1 ? t.times(piece.count) : null, size].filter(Boolean).join(" · ")}</small>
        <Button className="button quiet" aria-label={t.change(piece.name)} onPress={onChange}>
          {text.material.edit}
        </Button>
      </h2>
      <p>
        <strong>{sentence(piece.way)}.</strong> {piece.why}
      </p>
      <p className="quiet">
        {t.mass(kg(piece.mass_kg.low), kg(piece.mass_kg.high))} {piece.code} {piece.code_means}; {piece.transport}.
      </p>
      <details>
        <summary>{t.onIt}</summary>
        <ul className="steps">
          {piece.marks.map((mark) => (
            <li key={mark}>{mark}</li>
          ))}
        </ul>
        <p>{piece.householder_papers}</p>
        <p>{piece.trade_papers}</p>
        <Reasons reasons={piece.reasons} title={t.why} />
      </details>
    </div>
  );
}

const runName = (run: WasteRun, vehicles: Vehicle[], sites: { id: string; name: string }[]) =>
  t.run(
    vehicles.find((one) => one.id === run.vehicle)?.name ?? t.aVehicle,
    sites.find((one) => one.id === run.site)?.name ?? t.aSite,
  );

/** What is left for a carrier, and what both ways come to together. */
function leftWords(run: WasteRun, currency: string): string {
  const rest = run.cost_of_the_rest;
  const ids = run.left.join(", ");
  if (rest === undefined) return t.left(ids, run.left.length);
  const both = (cost: number) => money(Math.round(cost + rest), currency);
  return `${t.left(ids, run.left.length)} ${t.withCarrier(money(rest, currency), both(run.cost_low), both(run.cost_high))}`;
}

function Load({
  answer,
  run,
  onChoose,
  onChange,
}: {
  answer: Answer;
  run: WasteRun;
  onChoose: (run: number) => void;
  onChange: (what: Changing) => void;
}) {
  const { book } = useBook();
  const vehicles = book.vehicles ?? [];
  const sites = book.sites ?? [];
  const vehicle = vehicles.find((one) => one.id === run.vehicle);
  const site = sites.find((one) => one.id === run.site);
  return (
    <Section title={t.byYourself}>
      {answer.runs.length > 1 ? (
        <Pick
          className="field pick"
          label={t.choose}
          value={String(answer.runs.indexOf(run))}
          options={answer.runs.map((one, i) => [String(i), runName(one, vehicles, sites)] as const)}
          onChange={(one) => onChoose(Number(one))}
        />
      ) : (
        <p>{runName(run, vehicles, sites)}</p>
      )}
      <p className="change-run">
        {vehicle ? (
          <Button className="button quiet" onPress={() => onChange({ kind: "vehicle", item: vehicle })}>
            {t.change(vehicle.name)}
          </Button>
        ) : null}
        {site ? (
          <Button className="button quiet" onPress={() => onChange({ kind: "site", item: site })}>
            {t.change(site.name)}
          </Button>
        ) : null}
      </p>
      {run.trips.length > 0 ? (
        <p className="trips">
          <strong>{t.trips(run.trips.length)}</strong>, {run.proved_fewest ? t.fewest : t.atLeast(run.at_least)},{" "}
          {t.days(run.days_low, run.days_high)}
          {run.people > 1 ? `, ${t.people(run.people)}` : ""}; {money(Math.round(run.cost_low), answer.currency)} –{" "}
          {money(Math.round(run.cost_high), answer.currency)} {t.thisWay}
        </p>
      ) : (
        <p>
          <strong>{t.takesNone}</strong>
        </p>
      )}
      {run.trips.length > 0 && run.left.length > 0 ? <p>{leftWords(run, answer.currency)}</p> : null}
      {run.will_not_go.map((one) => (
        <p key={one.id}>{t.willNotGo(one.id, one.why, one.would_take)}</p>
      ))}
      <ol className="plain trip-list">
        {run.trips.map((trip, i) => (
          <li key={i}>
            <h4>{t.trip(i + 1, kg(trip.mass_kg))}</h4>
            {vehicle ? <LoadDrawing vehicle={vehicle} piles={trip.piles} number={i + 1} /> : null}
            <ul className="plain">
              {trip.pieces.map((line) => (
                <li key={`${line.id}-${line.how}`}>
                  {line.count} × {line.id}, {t.how[line.how]}
                </li>
              ))}
            </ul>
          </li>
        ))}
      </ol>
      {run.bags.length > 0 ? (
        <ul className="plain">
          {run.bags.map((bag) => (
            <li key={bag.id}>
              {t.bagHolds(bag.id, bag.pieces.map((one) => `${one.count} × ${one.id}`).join(", "), kg(bag.mass_kg))}
            </li>
          ))}
        </ul>
      ) : null}
      <ul className="steps">
        {run.conditions.map((one) => (
          <li key={one}>{one}</li>
        ))}
        {run.ask_your_site.map((one) => (
          <li key={one}>{t.ask(one)}</li>
        ))}
      </ul>
      <Reasons reasons={run.reasons} title={t.why} />
    </Section>
  );
}

const HATCH: Record<How, string> = { flat: "pile flat", "on edge": "pile edge", leaning: "pile leaning" };

/** The load space from above and from behind, at one scale. */
function LoadDrawing({ vehicle, piles, number }: { vehicle: Vehicle; piles: Pile[]; number: number }) {
  const cm = (metres: number) => 100 * metres;
  const gap = 40;
  const { length_m, width_m, height_m } = vehicle;
  const behind = cm(length_m) + gap;
  const tall = Math.max(cm(width_m), cm(height_m));
  return (
    <svg
      className="load"
      viewBox={`-14 -34 ${behind + cm(width_m) + 28} ${tall + 68}`}
      role="img"
      aria-label={t.drawing(
        number,
        vehicle.name,
        piles.map((pile) => `${pile.pieces.join(", ")} ${t.how[pile.how]}`).join("; "),
      )}
    >
      <text x="0" y="-12">
        {t.above}
      </text>
      <rect className="space" x="0" y="0" width={cm(length_m)} height={cm(width_m)} />
      <text x={behind} y="-12">
        {t.behind}
      </text>
      <rect className="space" x={behind} y={tall - cm(height_m)} width={cm(width_m)} height={cm(height_m)} />
      {piles.map((pile, i) => (
        <g key={i}>
          <rect
            className={HATCH[pile.how]}
            x={cm(pile.x_m)}
            y={cm(pile.y_m)}
            width={cm(pile.size_x_m)}
            height={cm(pile.size_y_m)}
          />
          <text className="id" x={cm(pile.x_m + pile.size_x_m / 2)} y={cm(pile.y_m + pile.size_y_m / 2) + 6}>
            {[...new Set(pile.pieces)].join(" ")}
          </text>
          <rect
            className={HATCH[pile.how]}
            x={behind + cm(pile.y_m)}
            y={tall - cm(pile.height_m)}
            width={cm(pile.size_y_m)}
            height={Math.max(cm(pile.height_m), 2)}
          />
        </g>
      ))}
      <g className="scale-bar">
        <line x1="0" x2="100" y1={tall + 18} y2={tall + 18} />
        <text x="108" y={tall + 23}>
          1 m
        </text>
      </g>
    </svg>
  );
}

function ToBuy({
  answer,
  wrap,
  onCarrier,
  onChange,
}: {
  answer: Answer;
  wrap: Answer["wrap"];
  onCarrier: () => void;
  onChange: (what: Changing) => void;
}) {
  const { book, today } = useBook();
  const carrierOf = (id: string) => book.parties?.find((party) => party.id === id);
  return (
    <div className="columns">
      <Section title={t.toBuy}>
        {wrap.shopping.length === 0 ? <p className="quiet">{t.nothingToBuy}</p> : null}
        <ul className="plain moves">
          {wrap.shopping
            .filter((line) => line.number > 0)
            .map((line) => (
              <li key={line.what}>
                <strong className="figures">{line.number}</strong> {line.what} <small>{line.note}</small>
              </li>
            ))}
          {wrap.heavy.map((one) => (
            <li key={one}>{t.heavy(one)}</li>
          ))}
        </ul>
      </Section>
      <Section title={t.carriers}>
        <ul className="plain moves">
          {answer.carriers.map((one) => (
            <li key={one.party}>
              <strong>{one.name}</strong>, {t.comingOnce}:{" "}
              {one.price === undefined ? t.noPrice : money(one.price, answer.currency)}
              {one.quote === undefined ? "" : ` ${t.byQuote(one.quote)}`}
              {one.lead_days === undefined ? "" : `, ${t.lead_days(one.lead_days)}`}
              {carrierOf(one.party) ? (
                <Button
                  className="button quiet"
                  aria-label={t.change(one.name)}
                  onPress={() => onChange({ kind: "party", item: carrierOf(one.party)! })}
                >
                  {text.material.edit}
                </Button>
              ) : null}
            </li>
          ))}
        </ul>
        {answer.next
          .filter((one) => one.kind !== "vehicle" && one.kind !== "site")
          .map((one) => (
            <p key={one.text}>{one.text}</p>
          ))}
        {answer.next.some((one) => one.kind === "carrier") ? (
          <div className="actions">
            <Button className="button" onPress={onCarrier}>
              {t.add.party}
            </Button>
          </div>
        ) : null}
        <p className="papers-here">
          <a className="button" href={href({ place: "papers", one: "waste" })}>
            {t.paper(day(today))}
          </a>
        </p>
      </Section>
    </div>
  );
}
