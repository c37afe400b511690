// A laboratory's PDF read by the program: what it proposes of each sample beside the lines it rests on. Nothing is ticked
// at first, and what was unclear is not filled in: a person reads, ticks and writes it down, with the paper, in one step.
import { useId, useState } from "react";
import { api, Refused } from "./api";
import type { Edits, Fault, ReportProposal, ReportRead } from "./api";
import { base64, MOST_BYTES } from "./base64";
import { useBook } from "./book";
import { day } from "./format";
import { FaultList, faultsOf, FileIn, Panel, PanelForm } from "./parts";
import { FIBRES, WhatWasSaid } from "./said";
import type { Fibre } from "./said";
import "./report.css";
import { text } from "./text";

const t = text.report;
const MOST_OF_A_TITLE = 160;
const MOST_OF_A_LABEL = 120;

interface Sent {
  name: string;
  bytes: string;
  read: ReportRead;
}

/** The button that takes a PDF, and the window with what it says. `onRecorded` is told once results are written down. */
export function ReadReport({ onRecorded }: { onRecorded: (title: string) => Promise<void> }) {
  const [busy, setBusy] = useState(false);
  const [faults, setFaults] = useState<Fault[]>([]);
  const [sent, setSent] = useState<Sent | null>(null);
  const take = async (file: File) => {
    setBusy(true);
    setFaults([]);
    try {
      if (file.size > MOST_BYTES)
        throw new Refused(413, [{ where: file.name, value: "", problem: text.photos.tooLarge, allowed: "" }]);
      const bytes = await base64(file);
      setSent({ name: file.name, bytes, read: await api.readReport(bytes) });
    } catch (error) {
      setFaults(faultsOf(error));
    }
    setBusy(false);
  };
  return (
    <>
      <FaultList title={t.notRead} faults={faults} />
      <FileIn
        label={busy ? t.reading : t.open}
        accept="application/pdf,.pdf"
        busy={busy}
        onFile={(file) => void take(file)}
      />
      {sent ? <ReportDialog sent={sent} onClose={() => setSent(null)} onRecorded={onRecorded} /> : null}
    </>
  );
}

/** What a person makes of one proposal. */
interface Confirmed {
  ticked: boolean;
  found: boolean | null;
  fibres: Fibre[];
  amount: string;
}

const isFibre = (word: string): word is Fibre => (FIBRES as readonly string[]).includes(word);

const untouched = ({ result }: ReportProposal): Confirmed => ({
  ticked: false,
  found: result?.found ?? null,
  fibres: (result?.fibres ?? []).filter(isFibre),
  amount: result?.amount ?? "",
});

function ReportDialog({
  sent,
  onClose,
  onRecorded,
}: {
  sent: Sent;
  onClose: () => void;
  onRecorded: (title: string) => Promise<void>;
}) {
  const { edit, book } = useBook();
  const { read } = sent;
  const [reported, setReported] = useState(read.reported_on ?? "");
  const [made, setMade] = useState(() => new Map(read.proposals.map((one) => [one.sample, untouched(one)])));
  const [faults, setFaults] = useState<Fault[]>([]);
  const [busy, setBusy] = useState(false);
  const id = useId();
  const nameOf = (sample: string) => (book.samples ?? []).find((one) => one.id === sample)?.label ?? sample;
  const ticked = [...made].filter(([, one]) => one.ticked);
  const change = (sample: string, to: Partial<Confirmed>) =>
    setMade((now) => new Map(now).set(sample, { ...now.get(sample)!, ...to }));

  const record = async () => {
    const open = ticked.filter(([, one]) => one.found === null);
    if (ticked.length === 0 || open.length > 0) {
      const problem =
        ticked.length === 0 ? t.nothingTicked : t.sayWhich(open.map(([sample]) => nameOf(sample)).join(", "));
      setFaults([{ where: "", value: "", problem, allowed: "" }]);
      return;
    }
    const dated = reported ? { dated: reported } : {};
    const parts: Edits["several"]["parts"] = [
      {
        keep: sent.bytes,
        as: "@report",
        fields: { title: sent.name.slice(0, MOST_OF_A_TITLE), kind: t.kind, ...dated },
      },
      ...ticked.map(([sample, one]) => ({
        add: "result",
        fields: {
          sample,
          found: one.found,
          document: "@report",
          ...(one.found && one.fibres.length > 0 ? { fibres: one.fibres } : {}),
          ...(one.found && one.amount.trim() ? { amount: one.amount.trim() } : {}),
          ...(reported ? { reported_on: reported } : {}),
        },
      })),
    ];
    setBusy(true);
    try {
      const label = t.step(ticked.map(([sample]) => sample).join(", "));
      await edit("several", { label: label.slice(0, MOST_OF_A_LABEL), parts });
      await onRecorded(t.movedBy(ticked.map(([sample]) => nameOf(sample)).join(", ")));
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
      setBusy(false);
    }
  };

  return (
    <Panel title={t.heading} onClose={onClose} broad>
      <PanelForm
        faults={faults}
        send={read.proposals.some((one) => !one.has_result) ? () => void record() : undefined}
        words={t.write(ticked.length)}
        busy={busy}
        onClose={onClose}
      >
        <p>{t.lead}</p>
        <About read={read} />
        {read.proposals.length === 0 ? <p>{t.none}</p> : null}
        {read.proposals.length > 0 ? (
          <div className="field">
            <label htmlFor={`${id}-day`}>{text.testing.dayOfReport}</label>
            <input
              id={`${id}-day`}
              type="date"
              value={reported}
              onChange={(event) => setReported(event.target.value)}
            />
          </div>
        ) : null}
        {read.proposals.map((one) => (
          <Proposed
            key={one.sample}
            one={one}
            name={nameOf(one.sample)}
            made={made.get(one.sample)!}
            onChange={(to) => change(one.sample, to)}
          />
        ))}
        {read.strangers.length > 0 ? (
          <section className="proposal">
            <h3>{t.strangers}</h3>
            {read.strangers.map((one) => (
              <Line key={`${one.page}-${one.line}-${one.name}`} {...one} />
            ))}
          </section>
        ) : null}
        {read.not_named.length > 0 ? (
          <section className="proposal">
            <h3>{t.notNamed}</h3>
            <p>{read.not_named.map(nameOf).join(", ")}</p>
          </section>
        ) : null}
      </PanelForm>
    </Panel>
  );
}

function About({ read }: { read: ReportRead }) {
  const told: [string, string | undefined][] = [
    [t.laboratory, read.laboratory],
    [t.accreditation, read.accreditation],
    [t.analysed, read.analysed_on ? day(read.analysed_on) : undefined],
  ];
  const known = told.filter(([, value]) => value);
  if (known.length === 0) return null;
  return (
    <dl className="report-about">
      {known.map(([name, value]) => (
        <div key={name}>
          <dt>{name}</dt>
          <dd>{value}</dd>
        </div>
      ))}
    </dl>
  );
}

function Line({ page, line, text: printed }: { page: number; line: number; text: string }) {
  return (
    <p className="report-line">
      <cite>{t.place(page, line)}</cite>
      <span>{printed}</span>
    </p>
  );
}

function Proposed({
  one,
  name,
  made,
  onChange,
}: {
  one: ReportProposal;
  name: string;
  made: Confirmed;
  onChange: (to: Partial<Confirmed>) => void;
}) {
  const { materialOf } = useBook();
  const id = useId();
  return (
    <section className="proposal" aria-labelledby={`${id}-name`}>
      <h3 id={`${id}-name`}>
        {name}
        <small>{[one.sample, materialOf(one.material)?.name ?? one.material].join(" · ")}</small>
      </h3>
      {one.lines.map((line) => (
        <Line key={`${line.page}-${line.line}`} {...line} />
      ))}
      <p>
        <strong>{t.said[one.said]}</strong>
        {one.fibres.length > 0 ? `: ${one.fibres.join(", ")}` : ""}
        {one.doubts.length > 0 ? ` – ${one.doubts.join("; ")}` : ""}
      </p>
      {one.has_result ? (
        <p>{t.hasResult(one.has_result)}</p>
      ) : (
        <div className="choice">
          <label>
            <input
              type="checkbox"
              checked={made.ticked}
              onChange={(event) => onChange({ ticked: event.target.checked })}
            />
            {t.tick(name)}
          </label>
        </div>
      )}
      {made.ticked ? (
        <>
          <WhatWasSaid
            found={made.found}
            fibres={made.fibres}
            onFound={(found) => onChange({ found })}
            onFibres={(fibres) => onChange({ fibres })}
          />
          {made.found ? (
            <div className="field">
              <label htmlFor={`${id}-amount`}>{text.testing.amount}</label>
              <input
                id={`${id}-amount`}
                type="text"
                maxLength={120}
                value={made.amount}
                onChange={(event) => onChange({ amount: event.target.value })}
              />
            </div>
          ) : null}
        </>
      ) : null}
    </section>
  );
}
