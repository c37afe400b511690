// Small pieces used in several places.
import { useEffect, useId, useRef, useState } from "react";
import type { ReactNode, RefObject } from "react";
import { Button, Dialog, Heading, Modal, ModalOverlay } from "react-aria-components";
import { Refused } from "./api";
import type { Fault, JobAnswer, Reason } from "./api";
import { useBook, useWords } from "./book";
import { sentence, told } from "./format";
import { text } from "./text";

/** Reasons, each with where it comes from. */
export function Reasons({ reasons, title }: { reasons: Reason[]; title: string }) {
  const words = useWords();
  const { materials } = useBook();
  if (reasons.length === 0) return null;
  // A reason that begins with a material's id is about it: its name says which.
  const named = (reason: string) =>
    reason.replace(/^(M\d+)(: | is )/, (as, id: string, then: string) =>
      materials[id] ? materials[id].name + then : as,
    );
  return (
    <details className="reasons" open>
      <summary>{title}</summary>
      <ul>
        {reasons.map((reason, i) => (
          <li key={i}>
            {told(named(reason.text))} <cite>{sourceWords(reason.source, words?.sources)}</cite>
          </li>
        ))}
      </ul>
    </details>
  );
}

export function sourceWords(
  id: string,
  sources: Record<string, { title: string; publisher: string; year?: number }> | undefined,
): string {
  const own = text.sources[id];
  if (own) return own;
  const source = sources?.[id];
  if (!source) return id;
  return source.year ? `${source.title} (${source.year})` : source.title;
}

/** `top`: directly under the heading of the page. */
export function Section({ title, children, top = false }: { title: string; children: ReactNode; top?: boolean }) {
  return (
    <section className="section">
      {top ? <h2>{title}</h2> : <h3>{title}</h3>}
      {children}
    </section>
  );
}

/** Where one sentence comes from, in small. */
export function SourceOf({ id }: { id: string }) {
  const words = useWords();
  return <cite>{sourceWords(id, words?.sources)}</cite>;
}

/** Where a list comes from, each source once. */
export function SourcesOf({ reasons }: { reasons: Reason[] }) {
  const words = useWords();
  const ids = [...new Set(reasons.map((reason) => reason.source))];
  return (
    <p>
      <cite>{ids.map((id) => sourceWords(id, words?.sources)).join("; ")}</cite>
    </p>
  );
}

/** Why the program gives no answer, in its own words, and what would help. */
export function NotAnswered({ refused, hint }: { refused: Refused; hint?: string }) {
  return (
    <div className="faults" role="alert">
      <FaultList faults={refused.faults} title={text.notAnswered} />
      {hint ? <p>{hint}</p> : null}
    </div>
  );
}

/** What is wrong when an edit or a question was refused; the program not being there is a fault like another. */
export function faultsOf(error: unknown): Fault[] {
  const told = Refused.by(error).faults;
  return told.length > 0 ? told : [{ where: "", value: "", problem: text.closed, allowed: "" }];
}

/** A window over the page, closed by its own buttons or Escape. */
export function Panel({
  title,
  onClose,
  broad = false,
  children,
}: {
  title: string;
  onClose: () => void;
  broad?: boolean;
  children: ReactNode;
}) {
  return (
    <ModalOverlay className="veil" isOpen isDismissable={false} onOpenChange={(open) => open || onClose()}>
      <Modal className={broad ? "modal broad" : "modal"}>
        <Dialog className="dialog">
          <Heading slot="title">{title}</Heading>
          {children}
        </Dialog>
      </Modal>
    </ModalOverlay>
  );
}

/**
 * A form that was sent and not taken shows what is wrong: the first fault is moved into sight, and its field is chosen.
 * Faults that come while one types move nothing.
 */
export function useFaultsShown(faults: unknown[]): { form: RefObject<HTMLFormElement | null>; sent: () => void } {
  const form = useRef<HTMLFormElement>(null);
  const waiting = useRef(false);
  useEffect(() => {
    if (!waiting.current || faults.length === 0) return;
    waiting.current = false;
    const first = form.current?.querySelector<HTMLElement>('[aria-invalid="true"], .fault, .faults');
    first?.scrollIntoView({ block: "center" });
    if (first?.hasAttribute("aria-invalid")) first.focus({ preventScroll: true });
  }, [faults]);
  return { form, sent: () => (waiting.current = true) };
}

/**
 * What a window asks, sent by its last button; `send` is absent while there is nothing to send. What it asks is its own:
 * a form of the page that opened the window is not sent with it (events rise through a portal as through the page).
 */
export function PanelForm({
  faults,
  beside = [],
  title = text.form.faults,
  send,
  words = text.save,
  busy = false,
  onClose,
  children,
}: {
  faults: Fault[];
  /** Faults told beside their fields. */
  beside?: unknown[];
  title?: string;
  send: (() => void) | undefined;
  words?: string;
  busy?: boolean;
  onClose: () => void;
  children: ReactNode;
}) {
  const shown = useFaultsShown(beside.length > 0 ? beside : faults);
  return (
    <form
      ref={shown.form}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        event.stopPropagation();
        shown.sent();
        send?.();
      }}
    >
      <FaultList faults={faults} title={title} />
      {children}
      <FormActions sends={send !== undefined} words={words} busy={busy} onClose={onClose} />
    </form>
  );
}

/** The last buttons of a form: away without it, or sent. */
export function FormActions({
  sends = true,
  words = text.save,
  busy = false,
  onClose,
}: {
  sends?: boolean;
  words?: string;
  busy?: boolean;
  onClose: () => void;
}) {
  return (
    <div className="actions">
      <Button className="button" onPress={onClose}>
        {text.cancel}
      </Button>
      {sends ? (
        <Button className="button strong" type="submit" isDisabled={busy}>
          {words}
        </Button>
      ) : null}
    </div>
  );
}

/** The heads of a table's columns. */
export function Heads({ columns }: { columns: readonly string[] }) {
  return (
    <thead>
      <tr>
        {columns.map((column) => (
          <th key={column} scope="col">
            {column}
          </th>
        ))}
      </tr>
    </thead>
  );
}

/** What may be wider than the window: it is moved sideways, and says so while there is more to see. */
export function Wide({ label, children }: { label: string; children: ReactNode }) {
  const frame = useRef<HTMLDivElement>(null);
  const [more, setMore] = useState(false);
  useEffect(() => {
    const box = frame.current;
    if (!box) return;
    const look = () => setMore(box.scrollWidth > box.clientWidth + 1);
    const watch = new ResizeObserver(look);
    watch.observe(box);
    for (const one of box.children) watch.observe(one);
    look();
    return () => watch.disconnect();
  }, []);
  return (
    <>
      <div ref={frame} className="wide" role="region" tabIndex={0} aria-label={label}>
        {children}
      </div>
      {more ? <p className="sideways">{text.sideways}</p> : null}
    </>
  );
}

/** The word beside the label of what must be filled in; a field says so itself, by `aria-required`. */
export function Needed({ hidden = true }: { hidden?: boolean }) {
  return (
    <span className="needed" aria-hidden={hidden || undefined}>
      {text.form.needed}
    </span>
  );
}

/** A field's label, and whether it must be filled in. */
export function FieldLabel({
  htmlFor,
  required = false,
  children,
}: {
  htmlFor: string;
  required?: boolean | undefined;
  children: ReactNode;
}) {
  return (
    <div className="label">
      <label htmlFor={htmlFor}>{children}</label>
      {required ? <Needed /> : null}
    </div>
  );
}

/** The heading of fields that belong together; `required`: they must be filled in. */
export function Legend({ required = false, children }: { required?: boolean; children: ReactNode }) {
  return (
    <legend>
      {children}
      {required ? (
        <>
          {" "}
          <Needed hidden={false} />
        </>
      ) : null}
    </legend>
  );
}

/** One of a list, chosen under its label; `first` is what stands for none of them. */
export function Pick<T extends string>({
  label,
  value,
  options,
  first,
  className = "field",
  fault,
  required,
  onChange,
}: {
  label: string;
  value: T;
  options: readonly (readonly [T, string])[];
  first?: string;
  className?: string;
  fault?: string | undefined;
  required?: boolean;
  onChange: (value: T) => void;
}) {
  const id = useId();
  return (
    <div className={className}>
      <FieldLabel htmlFor={id} required={required}>
        {label}
      </FieldLabel>
      <select
        id={id}
        value={value}
        aria-invalid={fault ? true : undefined}
        aria-describedby={fault ? `${id}-fault` : undefined}
        aria-required={required || undefined}
        onChange={(event) => onChange(event.target.value as T)}
      >
        {first === undefined ? null : <option value="">{first}</option>}
        {options.map(([key, name]) => (
          <option key={key} value={key}>
            {name}
          </option>
        ))}
      </select>
      {fault ? (
        <p className="fault" id={`${id}-fault`}>
          {fault}
        </p>
      ) : null}
    </div>
  );
}

/** A button that takes one file. The same file may be chosen twice. */
export function FileIn({
  label,
  accept,
  busy,
  onFile,
}: {
  label: string;
  accept: string;
  busy: boolean;
  onFile: (file: File) => void;
}) {
  const id = useId();
  return (
    <p className="file-in">
      <label className="button" htmlFor={id}>
        {label}
      </label>
      <input
        id={id}
        className="unseen"
        type="file"
        accept={accept}
        disabled={busy}
        onChange={(event) => {
          const file = event.target.files?.[0];
          event.target.value = "";
          if (file) onFile(file);
        }}
      />
    </p>
  );
}

/** Rooms, people and the like, as a list to pick from. */
export const named = <T extends { id: string; name: string }>(rows: readonly T[]): [string, string][] =>
  rows.map((row) => [row.id, row.name]);

/** The value a fault is about, unless it is a whole paragraph. */
const shortValue = (fault: Fault) => (fault.value.length <= 60 ? fault.value : "");

export function FaultList({ faults, title }: { faults: Fault[]; title: string }) {
  if (faults.length === 0) return null;
  return (
    <div className="faults" role="alert">
      <p>{title}</p>
      <ul>
        {faults.map((fault, i) => (
          <li key={i}>
            {[fault.where.replace(/^(material|job|cut)\s*/, ""), shortValue(fault), fault.problem]
              .filter(Boolean)
              .join(" ")}
            {fault.allowed && fault.problem !== "is missing" ? ` – ${fault.allowed}` : ""}
          </li>
        ))}
      </ul>
    </div>
  );
}

/** The verdict in words. "Test first" means little where nothing is written down that could be tested. */
export function verdictWords(answer: { verdict: JobAnswer["verdict"]; ways_on: { kind: string }[] }, cuts = 1): string {
  if (cuts === 0) return text.jobs.notJudged;
  const ways = answer.ways_on;
  if (answer.verdict === "test first" && ways.length > 0 && ways.every((way) => way.kind === "write down"))
    return text.jobs.lookFirst;
  return sentence(answer.verdict);
}

/** Nothing is here yet: what belongs here, and the button that begins it. */
export function Empty({ title, words, children }: { title: string; words: string; children: ReactNode }) {
  return (
    <div className="empty">
      <h2>{title}</h2>
      <p>{words}</p>
      <div className="actions">{children}</div>
    </div>
  );
}
