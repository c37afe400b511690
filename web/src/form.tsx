// Forms drawn from the book's own schema: what a field takes, how long it may be, which words are allowed.
import { useId, useState } from "react";
import type { ReactNode } from "react";
import { Button } from "react-aria-components";
import { Refused } from "./api";
import type { Fault, JsonSchema, Words } from "./api";
import { useBook, useWords } from "./book";
import { sentence } from "./format";
import { FaultList, faultsOf, Panel } from "./parts";
import { text } from "./text";

type Value = string | boolean;
type Values = Record<string, Value>;

/** The part of the schema a field is described by, references followed. */
export function fieldSchema(schema: JsonSchema, kind: string, field: string): JsonSchema {
  let found = schema.$defs?.[kind]?.properties?.[field] ?? {};
  for (let depth = 0; found.$ref && depth < 5; ++depth) {
    const { $ref, ...own } = found;
    found = { ...schema.$defs?.[$ref.replace("#/$defs/", "")], ...own };
  }
  return found;
}

/** What the form holds, in the open form; fields left empty are taken away (null). */
export function openForm(schema: JsonSchema, kind: string, values: Values): Record<string, unknown> {
  const out: Record<string, unknown> = {};
  for (const [field, value] of Object.entries(values)) {
    if (field.endsWith(".from") || field.endsWith(".to")) continue;
    const form = fieldSchema(schema, kind, field);
    if (typeof value === "boolean") out[field] = value || null;
    else if (value.trim() === "") out[field] = null;
    else if (form["x-money"]) out[field] = Math.round(Number(value.replace(",", ".")) * 100);
    else if (form.type === "number" || form.type === "integer") {
      const number = Number(value.replace(",", "."));
      out[field] = Number.isNaN(number) ? value : number;
    } else out[field] = value.trim();
  }
  const from = values["years.from"];
  const to = values["years.to"];
  if (typeof from === "string" && typeof to === "string") {
    const first = from.trim() || to.trim();
    const last = to.trim() || from.trim();
    out.years = first ? { from: Number(first), to: Number(last) } : null;
  }
  return out;
}

export function valuesOf(fields: string[], schema: JsonSchema, kind: string, item: object): Values {
  const out: Values = {};
  for (const field of fields) {
    const value: unknown = item[field as keyof typeof item];
    if (field === "years") {
      const years = value as { from: number; to: number } | undefined;
      out["years.from"] = years ? String(years.from) : "";
      out["years.to"] = years ? String(years.to) : "";
    } else if (fieldSchema(schema, kind, field).type === "boolean") out[field] = value === true;
    else if (value === undefined || value === null) out[field] = "";
    else if (fieldSchema(schema, kind, field)["x-money"]) out[field] = String((value as number) / 100);
    else out[field] = String(value);
  }
  return out;
}

interface Props {
  title: string;
  /** A kind of the book as the schema names it: "material", "cut", "vehicle" … */
  kind: string;
  fields: string[];
  more?: string[];
  labels: Record<string, string>;
  item: object;
  /** What the edit is of: a kind or list to add to, or an id to change. */
  what: string;
  verb: "add" | "set";
  onClose: () => void;
  onDone: (changed: string[]) => void;
}

export function EditDialog(props: Props) {
  const words = useWords();
  return (
    <Panel title={props.title} onClose={props.onClose}>
      {words ? <Form {...props} words={words} /> : <p className="waiting">{text.loading}</p>}
    </Panel>
  );
}

function Form({ kind, fields, more = [], labels, item, what, verb, onClose, onDone, words }: Props & { words: Words }) {
  const { edit, book, walls } = useBook();
  const { schema } = words;
  const all = [...fields, ...more];
  const [values, setValues] = useState<Values>(() => valuesOf(all, schema, kind, item));
  const [faults, setFaults] = useState<Fault[]>([]);
  const [clash, setClash] = useState(false);
  const [busy, setBusy] = useState(false);
  const [open, setOpen] = useState(false);
  const set = (field: string, value: Value) => setValues((now) => ({ ...now, [field]: value }));

  const faultOf = (field: string) => faults.find((fault) => fault.where.split(/[ ./]/).includes(field));
  const loose = faults.filter((fault) => !all.some((field) => faultOf(field) === fault));

  const save = async () => {
    setBusy(true);
    try {
      const form = openForm(schema, kind, values);
      const edited = await edit(verb, { what, fields: form });
      onDone(edited.changed);
    } catch (error) {
      setClash(error instanceof Refused && error.status === 409);
      setFaults(faultsOf(error));
      setBusy(false);
      return;
    }
    setBusy(false);
  };

  const field = (name: string) => {
    const label = labels[name] ?? sentence(fieldSchema(schema, kind, name).description ?? name);
    const fault = faultOf(name);
    if (name === "years") {
      return (
        <fieldset key={name} className="years">
          <legend>{label}</legend>
          {(["years.from", "years.to"] as const).map((part) => (
            <label key={part}>
              {part === "years.from" ? text.form.yearsFrom : text.form.yearsTo}
              <input
                inputMode="numeric"
                maxLength={4}
                value={String(values[part] ?? "")}
                onChange={(event) => set(part, event.target.value)}
              />
            </label>
          ))}
          {fault ? <p className="fault">{fault.problem}</p> : null}
        </fieldset>
      );
    }
    return (
      <Field
        key={name}
        name={name}
        label={label}
        form={fieldSchema(schema, kind, name)}
        required={schema.$defs?.[kind]?.required?.includes(name) ?? false}
        value={values[name] ?? ""}
        fault={fault}
        onChange={(value) => set(name, value)}
        choices={choicesOf(name)}
      />
    );
  };

  /** The choices a field has in this book; undefined = free text. */
  const choicesOf = (name: string): ReactNode => {
    if (name === "family") {
      const option = (suspect: boolean) =>
        words.families
          .filter((family) => family.suspect === suspect)
          .map((family) => (
            <option key={family.id} value={family.id}>
              {sentence(family.name)}
            </option>
          ));
      return (
        <>
          <optgroup label={text.form.family.suspects}>{option(true)}</optgroup>
          <optgroup label={text.form.family.others}>{option(false)}</optgroup>
        </>
      );
    }
    const options = (rows: { id: string; name: string }[]) =>
      rows.map((row) => (
        <option key={row.id} value={row.id}>
          {row.name}
        </option>
      ));
    if (name === "task") return options(words.tasks.map((task) => ({ id: task.id, name: sentence(task.name) })));
    if (name === "room") return options(book.rooms ?? []);
    if (name === "storey") return options(book.storeys ?? []);
    if (name === "phase") return options(book.phases ?? []);
    if (name === "material") return options(book.materials ?? []);
    if (name === "party") return options(book.parties ?? []);
    if (name === "laboratory") return options((book.parties ?? []).filter((party) => party.role === "laboratory"));
    if (name === "face") {
      const room = String(values.room ?? ("room" in item ? item.room : ""));
      const faces = ["ceiling", "floor", ...Object.keys(walls[room] ?? {}), "inside"];
      const now = String(values.face ?? "");
      if (now && !faces.includes(now)) faces.push(now);
      return options(faces.map((face) => ({ id: face, name: sentence(text.faces(face)) })));
    }
    const words_allowed = fieldSchema(schema, kind, name).enum;
    if (words_allowed) return options(words_allowed.map((word) => ({ id: word, name: sentence(word) })));
    return undefined;
  };

  return (
    <form
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      <FaultList faults={loose} title={clash ? text.form.clash : text.form.faults} />
      {fields.map(field)}
      {more.length > 0 ? (
        <>
          <Button className="button quiet" aria-expanded={open} onPress={() => setOpen(!open)}>
            {open ? text.form.fewer : text.form.more}
          </Button>
          {open ? more.map(field) : null}
        </>
      ) : null}
      <div className="actions">
        <Button className="button" onPress={onClose}>
          {text.cancel}
        </Button>
        <Button className="button strong" type="submit" isDisabled={busy}>
          {text.save}
        </Button>
      </div>
    </form>
  );
}

function Field({
  name,
  label,
  form,
  required,
  value,
  fault,
  onChange,
  choices,
}: {
  name: string;
  label: string;
  form: JsonSchema;
  required: boolean;
  value: Value;
  fault: Fault | undefined;
  onChange: (value: Value) => void;
  choices: ReactNode;
}) {
  const id = useId();
  const common = {
    id,
    "aria-invalid": fault ? true : undefined,
    "aria-describedby": fault ? `${id}-fault` : undefined,
    "aria-required": required || undefined,
  };
  const told = fault ? (
    <p className="fault" id={`${id}-fault`}>
      {sentence(fault.problem)}
      {fault.allowed ? `: ${fault.allowed}` : ""}
    </p>
  ) : null;
  if (form.type === "boolean") {
    return (
      <div className="field check">
        <input
          type="checkbox"
          {...common}
          checked={value === true}
          onChange={(event) => onChange(event.target.checked)}
        />
        <label htmlFor={id}>{label}</label>
        {told}
      </div>
    );
  }
  const held = String(value);
  return (
    <div className="field">
      <label htmlFor={id}>{label}</label>
      {choices !== undefined ? (
        <select {...common} value={held} onChange={(event) => onChange(event.target.value)}>
          <option value="">{text.form.choose}</option>
          {choices}
        </select>
      ) : name === "notes" ? (
        <textarea
          {...common}
          rows={3}
          maxLength={form.maxLength}
          value={held}
          onChange={(e) => onChange(e.target.value)}
        />
      ) : (
        <input
          {...common}
          type={form.format === "date" ? "date" : "text"}
          inputMode={form.type === "number" || form.type === "integer" ? "decimal" : undefined}
          maxLength={form.maxLength}
          value={held}
          onChange={(event) => onChange(event.target.value)}
        />
      )}
      {told}
    </div>
  );
}
