// Who comes in, and what comes back: what is decided for each material, the firms, their quotes, and the air-test
// certificates, each held against its own figures.
import { useState } from "react";
import type { ReactNode } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Certificate, CertificateAnswer, Party } from "./api";
import { useAnswer, useBook } from "./book";
import { EditDialog } from "./form";
import { day, money, sentence } from "./format";
import { FaultList, faultsOf, NotAnswered, Reasons, Section } from "./parts";
import type { Fault } from "./api";
import { PARTY_FIELDS, PARTY_MORE } from "./partyfields";
import { href } from "./route";
import { text } from "./text";
import "./brought_in.css";

const t = text.broughtIn;

/** What can be written down here, with the fields asked for. */
export const FORMS = {
  action: { fields: ["material", "kind", "by", "due_on"], more: ["started_on", "done_on", "cost", "notes"], item: {} },
  party: { fields: PARTY_FIELDS, more: PARTY_MORE, item: {} },
  quote: { fields: ["party", "amount", "materials", "quoted_on", "valid_to"], more: ["notes"], item: {} },
  certificate: {
    fields: ["party", "materials", "rooms", "work_finished_on", "issued_on", "stages", "area_m2", "height_m"],
    more: [],
    item: {},
  },
} as const;
type Kind = keyof typeof FORMS;
/** A form that is open: to add one of a kind, or to change one. */
interface Opened {
  kind: Kind;
  item: Record<string, unknown>;
  id?: string;
}
type Opener = (opened: Opened) => void;
/** An air sample whose form is open: its certificate, and which of its samples from 1; absent for a new one. */
interface Sampled {
  certificate: string;
  entry?: number;
  item: object;
}
type Sampler = (sampled: Sampled) => void;

export function BroughtIn() {
  const [opened, setOpened] = useState<Opened | null>(null);
  const [sampled, setSampled] = useState<Sampled | null>(null);
  return (
    <div className="view">
      <p className="back">
        <a href={href({ place: "jobs" })}>{text.jobs.back}</a>
      </p>
      <header className="heading">
        <h1>{t.heading}</h1>
        <p className="lead">{t.lead}</p>
      </header>
      <Decided open={setOpened} />
      <Firms open={setOpened} />
      <Quotes open={setOpened} />
      <Certificates open={setOpened} sample={setSampled} />
      <p className="cautions">{t.caution}</p>
      {opened ? (
        <EditDialog
          kind={opened.kind}
          verb={opened.id ? "set" : "add"}
          what={opened.id ?? opened.kind}
          title={opened.id ? t.change(opened.id) : t.add[opened.kind]}
          fields={[...FORMS[opened.kind].fields]}
          more={[...FORMS[opened.kind].more]}
          labels={t.fields}
          item={opened.item}
          onClose={() => setOpened(null)}
          onDone={() => setOpened(null)}
        />
      ) : null}
      {sampled ? (
        <EditDialog
          kind="certificate/samples"
          verb={sampled.entry === undefined ? "add" : "set"}
          what={[sampled.certificate, "samples", sampled.entry].filter((part) => part !== undefined).join("/")}
          title={
            sampled.entry === undefined
              ? t.addSample(sampled.certificate)
              : t.changeSample(sampled.entry, sampled.certificate)
          }
          fields={["litres", "fibres", "fields"]}
          more={["flow_l_per_min", "minutes", "f_per_ml", "filter_mm", "graticule_um", "blank_fibres", "blank_fields"]}
          labels={t.fields}
          item={sampled.item}
          onClose={() => setSampled(null)}
          onDone={() => setSampled(null)}
        />
      ) : null}
    </div>
  );
}

/** One of a list with the buttons to change it and to take it out of the book; a refusal is told beneath. */
function Row({
  id,
  item,
  kind,
  open,
  children,
}: {
  id: string;
  item: object;
  kind: Kind;
  open: Opener;
  children: ReactNode;
}) {
  const { edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  return (
    <li>
      <div className="brought">{children}</div>
      <div className="actions">
        <Button
          className="button quiet"
          aria-label={t.change(id)}
          onPress={() => open({ kind, id, item: item as Record<string, unknown> })}
        >
          {text.material.edit}
        </Button>
        <Button
          className="button quiet"
          aria-label={t.removeLabel(id)}
          onPress={() => void edit("remove", { what: id }).catch((error: unknown) => setFaults(faultsOf(error)))}
        >
          {text.material.takeOut}
        </Button>
      </div>
      <FaultList faults={faults} title={text.material.notRemoved} />
    </li>
  );
}

/** A list of one kind under its heading, with the button to write another down. */
function Kept({ kind, count, open, children }: { kind: Kind; count: number; open: Opener; children: ReactNode }) {
  return (
    <Section title={t.titles[kind]} top>
      {count === 0 ? <p className="quiet">{t.none[kind]}</p> : <ul className="plain brought-list">{children}</ul>}
      <Button className="button" onPress={() => open({ kind, item: FORMS[kind].item })}>
        {t.add[kind]}
      </Button>
    </Section>
  );
}

const joined = (...parts: (string | undefined)[]) => parts.filter(Boolean).join(" · ");

function Decided({ open }: { open: Opener }) {
  const { book, materialOf, overview } = useBook();
  const { currency } = overview;
  const actions = book.actions ?? [];
  const firm = (id: string | undefined) => book.parties?.find((party) => party.id === id)?.name;
  return (
    <Kept kind="action" count={actions.length} open={open}>
      {actions.map((one) => (
        <Row key={one.id} id={one.id} item={one} kind="action" open={open}>
          <strong>{materialOf(one.material)?.name ?? one.material}</strong>: {one.kind}
          <small>
            {joined(
              one.id,
              firm(one.by),
              one.done_on ? t.doneOn(day(one.done_on)) : one.started_on ? t.begunOn(day(one.started_on)) : undefined,
              !one.done_on && one.due_on ? t.dueOn(day(one.due_on)) : undefined,
              one.cost === undefined ? undefined : money(one.cost, currency),
            )}
          </small>
          {one.notes ? <p>{one.notes}</p> : null}
        </Row>
      ))}
    </Kept>
  );
}

function Firms({ open }: { open: Opener }) {
  const { book, today, overview } = useBook();
  const { currency } = overview;
  const parties = book.parties ?? [];
  const expiry = (party: Party) => {
    if (!party.licence_expires_on) return undefined;
    const when = day(party.licence_expires_on);
    return party.licence_expires_on < today ? t.ranOut(when) : t.runsOut(when);
  };
  return (
    <Kept kind="party" count={parties.length} open={open}>
      {parties.map((party) => (
        <Row key={party.id} id={party.id} item={party} kind="party" open={open}>
          <strong>{party.name}</strong>
          <small>
            {joined(
              party.id,
              party.role,
              party.licence,
              expiry(party),
              party.lead_days === undefined
                ? undefined
                : party.role === "laboratory"
                  ? t.answersIn(party.lead_days)
                  : t.ahead(party.lead_days),
              party.price_fixed === undefined ? undefined : t.perCall(money(party.price_fixed, currency)),
              party.price_each === undefined ? undefined : t.perOne(money(party.price_each, currency)),
            )}
          </small>
        </Row>
      ))}
    </Kept>
  );
}

function Quotes({ open }: { open: Opener }) {
  const { book, today, materialOf, overview } = useBook();
  const { currency } = overview;
  const quotes = [...(book.quotes ?? [])].sort((a, b) => a.amount - b.amount);
  const firm = (id: string) => book.parties?.find((party) => party.id === id)?.name ?? id;
  return (
    <>
      <Kept kind="quote" count={quotes.length} open={open}>
        {quotes.map((quote) => (
          <Row key={quote.id} id={quote.id} item={quote} kind="quote" open={open}>
            <strong>{money(quote.amount, currency)}</strong>, {firm(quote.party)}
            <small>
              {joined(
                quote.id,
                quote.quoted_on ? t.quotedOn(day(quote.quoted_on)) : undefined,
                quote.valid_to
                  ? quote.valid_to < today
                    ? t.noLongerValid(day(quote.valid_to))
                    : t.validTo(day(quote.valid_to))
                  : undefined,
              )}
            </small>
            <p>{(quote.materials ?? []).map((id) => materialOf(id)?.name ?? id).join("; ") || t.quoteForNothing}</p>
          </Row>
        ))}
      </Kept>
      <p className="papers-here">
        <a className="button" href={href({ place: "papers", one: "scope" })}>
          {t.scope}
        </a>
      </p>
    </>
  );
}

function Certificates({ open, sample }: { open: Opener; sample: Sampler }) {
  const { book } = useBook();
  const certificates = book.certificates ?? [];
  return (
    <Kept kind="certificate" count={certificates.length} open={open}>
      {certificates.map((one) => (
        <Row key={one.id} id={one.id} item={one} kind="certificate" open={open}>
          <CertificateWords certificate={one} sample={sample} />
          <Button
            className="button"
            aria-label={t.addSample(one.id)}
            onPress={() => sample({ certificate: one.id, item: {} })}
          >
            {t.addSampleShort}
          </Button>
        </Row>
      ))}
    </Kept>
  );
}

function CertificateWords({ certificate, sample }: { certificate: Certificate; sample: Sampler }) {
  const { book, roomOf } = useBook();
  const { answer, refused } = useAnswer<CertificateAnswer>(api.certificate, certificate.id);
  const firm = book.parties?.find((party) => party.id === certificate.party)?.name ?? certificate.party;
  return (
    <>
      <strong>{answer ? (answer.pass ? t.stands : t.notYet) : firm}</strong>
      <small>
        {joined(
          certificate.id,
          firm,
          certificate.issued_on ? t.issuedOn(day(certificate.issued_on)) : undefined,
          (certificate.rooms ?? []).map((id) => roomOf(id)?.name ?? id).join(", "),
        )}
      </small>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer && answer.faults.length > 0 ? (
        <dl className="certificate-faults">
          {answer.faults.map((fault, i) => (
            <div key={i}>
              <dt>{t.fields[fault.where] ?? sentence(fault.where)}</dt>
              <dd>
                {fault.what} {fault.means} <em>{fault.ask}</em>
              </dd>
            </div>
          ))}
        </dl>
      ) : null}
      {answer ? <p>{t.samplesOf(answer.samples.length, answer.samples_needed)}</p> : null}
      <AirSamples certificate={certificate} answer={answer} sample={sample} />
      {answer ? <Reasons reasons={answer.reasons} title={t.reasons} /> : null}
    </>
  );
}

/** The samples as they are written down, what each says, and the buttons to put one right. */
function AirSamples({
  certificate,
  answer,
  sample,
}: {
  certificate: Certificate;
  answer: CertificateAnswer | null;
  sample: Sampler;
}) {
  const { edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const samples = certificate.samples ?? [];
  if (samples.length === 0) return null;
  return (
    <>
      <ol className="air-samples">
        {samples.map((one, i) => {
          const said = answer?.samples[i];
          const entry = i + 1;
          return (
            <li key={i}>
              {t.sampleCounted(one.litres, one.fibres, one.fields)}
              {said ? ` ${t.sampleSays(said.reported, said.low.toFixed(3), said.high.toFixed(3))}` : ""}
              <div className="actions">
                <Button
                  className="button quiet"
                  aria-label={t.changeSample(entry, certificate.id)}
                  onPress={() => sample({ certificate: certificate.id, entry, item: one })}
                >
                  {text.material.edit}
                </Button>
                <Button
                  className="button quiet"
                  aria-label={t.removeSample(entry, certificate.id)}
                  onPress={() =>
                    void edit("remove", { what: `${certificate.id}/samples/${entry}` }).catch((error: unknown) =>
                      setFaults(faultsOf(error)),
                    )
                  }
                >
                  {text.remove}
                </Button>
              </div>
            </li>
          );
        })}
      </ol>
      <FaultList faults={faults} title={text.material.notRemoved} />
    </>
  );
}
