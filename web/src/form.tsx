// Forms drawn from the book's own schema: what a field takes, how long it may be, which words are allowed.
import { useId, useState } from "react";
import type { ReactNode } from "react";
import { Button } from "react-aria-components";
import { Refused } from "./api";
import type { Fault, JsonSchema, Words } from "./api";
import { useBook, useWords } from "./book";
import { currencySign, sentence } from "./format";
import { sideOf } from "./geometry";
import { faultsOf, FieldLabel, FileIn, Legend, Panel, PanelForm, SourceOf } from "./parts";
import { PARTY_FIELDS, PARTY_MORE } from "./partyfields";
import { newName } from "./outbox";
import { photoOf } from "./photo";
import { thicknessesOf } from "./thickness";
import { text } from "./text";

/** What is wrong with a field, beside it. Of one that is only empty, what the schema allows says nothing new. */
function problemOf(fault: Fault, chosen: boolean): string {
  if (fault.problem === "is missing") return chosen ? text.form.chooseOne : text.form.fillIn;
  return `${sentence(fault.problem)}${fault.allowed && !chosen ? `: ${fault.allowed}` : ""}`;
}

type Value = string | boolean | string[];
type Values = Record<string, Value>;

function followed(schema: JsonSchema, form: JsonSchema): JsonSchema {
  let found = form;
  for (let depth = 0; found.$ref && depth < 5; ++depth) {
    const { $ref, ...own } = found;
    found = { ...schema.$defs?.[$ref.replace("#/$defs/", "")], ...own };
  }
  return found;
}

/** A kind of the book, or the parts that one of its lists holds: "material", "certificate/samples". */
function kindSchema(schema: JsonSchema, kind: string): JsonSchema {
  const [top = "", list] = kind.split("/");
  const found = schema.$defs?.[top] ?? {};
  return list ? followed(schema, found.properties?.[list]?.items ?? {}) : found;
}

/** The part of the schema a field is described by, references followed; "proof.text" is a part of an object. */
export function fieldSchema(schema: JsonSchema, kind: string, field: string): JsonSchema {
  let found = kindSchema(schema, kind);
  for (const part of field.split(".")) found = followed(schema, found.properties?.[part] ?? {});
  return found;
}

function open(form: JsonSchema, value: Value): unknown {
  if (Array.isArray(value)) return value.length > 0 ? value : null;
  if (typeof value === "boolean") return value || null;
  if (value.trim() === "") return null;
  const number = Number(value.replace(",", "."));
  if (form["x-money"]) return Math.round(number * 100);
  if (form.type === "number" || form.type === "integer") return Number.isNaN(number) ? value : number;
  return value.trim();
}

/** What the form holds, in the open form; fields left empty are taken away (null). */
function openForm(schema: JsonSchema, kind: string, values: Values): Record<string, unknown> {
  const out: Record<string, unknown> = {};
  for (const [name, value] of Object.entries(values)) {
    const [field = "", part] = name.split(".");
    const held = open(fieldSchema(schema, kind, name), value);
    if (part === undefined) out[field] = held;
    else if (held === null) out[field] ??= null;
    else out[field] = { ...(out[field] as object | null), [part]: held };
  }
  const years = out.years as { from?: number; to?: number } | null | undefined;
  if (years) out.years = { from: years.from ?? years.to, to: years.to ?? years.from }; // one year is a range too
  return out;
}

function held(form: JsonSchema, value: unknown): Value {
  if (form.type === "array") return Array.isArray(value) ? value.map(String) : [];
  if (form.type === "boolean") return value === true;
  if (value === undefined || value === null) return "";
  return form["x-money"] ? String((value as number) / 100) : String(value);
}

/** The form's fields; those of an object by their own names: "years.from". */
function valuesOf(fields: string[], schema: JsonSchema, kind: string, item: object): Values {
  const out: Values = {};
  for (const field of fields) {
    const form = fieldSchema(schema, kind, field);
    if (form.type !== "object") out[field] = held(form, item[field as keyof typeof item]);
    else
      for (const part of Object.keys(form.properties ?? {}))
        out[`${field}.${part}`] = held(
          fieldSchema(schema, kind, `${field}.${part}`),
          (item[field as keyof typeof item] as Record<string, unknown> | undefined)?.[part],
        );
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
  const { edit, book, walls, overview, today } = useBook();
  const { schema } = words;
  const all = [...fields, ...more];
  const [values, setValues] = useState<Values>(() => valuesOf(all, schema, kind, item));
  const [faults, setFaults] = useState<Fault[]>([]);
  const [clash, setClash] = useState(false);
  const [busy, setBusy] = useState(false);
  const [open, setOpen] = useState(false);
  /** The field whose person or firm is being written down first, over this form. */
  const [firm, setFirm] = useState<string | null>(null);
  const [photo, setPhoto] = useState<File | null>(null);
  const [as] = useState(newName);
  /** What was written down already, while its photo was not taken. */
  const [written, setWritten] = useState<string[] | null>(null);
  const set = (field: string, value: Value) => setValues((now) => ({ ...now, [field]: value }));

  const faultOf = (field: string) =>
    faults.find((fault) => {
      const where = fault.where.split(/[ ./]/);
      return field.split(".").every((part) => where.includes(part));
    });
  const loose = faults.filter((fault) => !all.some((field) => faultOf(field) === fault));

  const save = async () => {
    setBusy(true);
    let done = written;
    try {
      const form = openForm(schema, kind, values);
      const sent = photo && (await photoOf(photo, String(form.name), today));
      done ??= (await edit(verb, { what, fields: form }, sent ? as : undefined)).changed;
      if (sent) await edit("photo", { ...sent, material: done[0] ?? as });
      onDone(done);
    } catch (error) {
      setWritten(done);
      setClash(error instanceof Refused && error.status === 409);
      setFaults(faultsOf(error));
      setBusy(false);
      return;
    }
    setBusy(false);
  };

  const requiredOf = (name: string) => kindSchema(schema, kind).required?.includes(name) ?? false;
  const field = (name: string) => {
    const label = labels[name] ?? sentence(fieldSchema(schema, kind, name).description ?? name);
    const form = fieldSchema(schema, kind, name);
    if (form.type === "object") {
      const parts = Object.keys(form.properties ?? {});
      const fault = faultOf(name);
      return (
        <fieldset key={name} className={parts.length === 2 ? "parts two" : "parts"}>
          <Legend required={requiredOf(name)}>{label}</Legend>
          {parts.map((part) => one(`${name}.${part}`, false))}
          {fault && !parts.some((part) => faultOf(`${name}.${part}`)) ? (
            <p className="fault">{problemOf(fault, false)}</p>
          ) : null}
        </fieldset>
      );
    }
    return one(name, requiredOf(name));
  };

  const one = (name: string, required: boolean) => {
    const form = fieldSchema(schema, kind, name);
    const byRole = kind === "party" ? text.broughtIn.byRole[`${String(values.role)}.${name}`] : undefined;
    const worded = byRole ?? labels[name] ?? text.form.parts[name] ?? sentence(form.description ?? name);
    const label = form["x-money"] ? text.form.inMoney(worded, currencySign(overview.currency)) : worded;
    const choices = choicesOf(name);
    if (form.type === "array")
      return (
        <Several
          key={name}
          label={label}
          ordered={!form.uniqueItems}
          required={required}
          value={values[name] as string[]}
          fault={faultOf(name)}
          onChange={(value) => set(name, value)}
          choices={choices ?? []}
        />
      );
    return (
      <Field
        key={name}
        name={name}
        label={label}
        hint={
          name === "family" && words.families.some((family) => family.id === values[name] && !family.suspect)
            ? text.form.family.certain
            : choices?.length === 0
              ? (text.form.hints[`${kind}.${name}`] ?? text.form.nobodyToChoose)
              : text.form.hints[`${kind}.${name}`]
        }
        form={form}
        required={required}
        value={values[name] ?? ""}
        fault={faultOf(name)}
        onChange={(value) => set(name, value)}
        choices={choices}
        suggested={kind === "room" && name === "use" ? text.addRoom.uses : undefined}
      >
        {partyRole(kind, name) === undefined ? null : (
          <Button className="button quiet" onPress={() => setFirm(name)}>
            {text.form.newParty(partyRole(kind, name))}
          </Button>
        )}
        {kind === "piece" && name === "thickness_mm" && !values[name] ? (
          <Thicknesses material={String(values.material ?? "")} words={words} onTake={(value) => set(name, value)} />
        ) : null}
      </Field>
    );
  };

  /** The choices a field has in this book; undefined = free text. */
  const choicesOf = (name: string): Choice[] | undefined => {
    const named = (rows: { id: string; name: string }[]) => rows.map((row) => ({ id: row.id, name: row.name }));
    const parties = (...roles: string[]) =>
      named((book.parties ?? []).filter((party) => roles.length === 0 || roles.includes(party.role)));
    /** What a book says already can be kept, though it would not be offered. */
    const withChosen = (rows: Choice[]) => {
      const chosen = book.parties?.find((party) => party.id === values[name]);
      return chosen && !rows.some((row) => row.id === chosen.id) ? [...rows, ...named([chosen])] : rows;
    };
    switch (name) {
      case "family":
        return words.families.map((family) => ({
          id: family.id,
          name: sentence(family.name),
          group: family.suspect ? text.form.family.suspects : text.form.family.others,
        }));
      case "task":
        return words.tasks.map((task) => ({ id: task.id, name: sentence(task.name) }));
      case "room":
      case "rooms":
        return named(book.rooms ?? []);
      case "storey":
        return named(book.storeys ?? []);
      case "phase":
        return named(book.phases ?? []);
      case "material":
      case "materials":
        return named(book.materials ?? []);
      case "group":
        return (book.groups ?? []).map((group) => ({ id: group.id, name: group.name ?? group.id }));
      case "after":
        return (book.jobs ?? [])
          .filter((job) => job.id !== ("id" in item ? item.id : ""))
          .map((job) => ({ id: job.id, name: job.title }));
      case "party":
        return kind === "certificate" ? withChosen(parties("analyst", "laboratory")) : parties();
      case "laboratory":
        return parties("laboratory");
      case "face": {
        const room = String(values.room ?? ("room" in item ? item.room : ""));
        const faces = ["ceiling", "floor", ...Object.keys(walls[room] ?? {}), "inside"];
        const now = String(values.face ?? "");
        if (now && !faces.includes(now)) faces.push(now);
        return faces.map((face) => {
          const wall = walls[room]?.[face];
          return { id: face, name: text.faceChoice(face, wall && sideOf(wall)) };
        });
      }
      case "by":
        if (kind === "action") return parties();
    }
    const form = fieldSchema(schema, kind, name);
    const allowed = form.enum ?? form.items?.enum;
    return allowed?.map((word) => ({
      id: word,
      name: text.form.allowed[`${name}.${word}`] ?? text.form.allowed[word] ?? sentence(word),
    }));
  };

  return (
    <PanelForm
      faults={loose}
      beside={faults}
      title={written ? text.photos.onlyPhoto : clash ? text.form.clash : text.form.faults}
      send={() => void save()}
      busy={busy}
      onClose={written ? () => onDone(written) : onClose}
    >
      {fields.map(field)}
      {kind === "material" && verb === "add" ? <ChosenPhoto photo={photo} onPhoto={setPhoto} busy={busy} /> : null}
      {more.length > 0 ? (
        <>
          <Button className="button quiet" aria-expanded={open} onPress={() => setOpen(!open)}>
            {open ? text.form.fewer : text.form.more}
          </Button>
          {open ? more.map(field) : null}
        </>
      ) : null}
      {firm === null ? null : (
        <EditDialog
          kind="party"
          verb="add"
          what="party"
          title={text.form.newParty(partyRole(kind, firm))}
          fields={PARTY_FIELDS}
          more={PARTY_MORE}
          labels={text.broughtIn.fields}
          item={{ role: partyRole(kind, firm) || undefined }}
          onClose={() => setFirm(null)}
          onDone={([added]) => {
            if (added) set(firm, added);
            setFirm(null);
          }}
        />
      )}
    </PanelForm>
  );
}

/** Who is meant where a form asks for a person or firm, by what they do; "" = anybody, undefined = no such field. */
export function partyRole(kind: string, field: string): "analyst" | "laboratory" | "" | undefined {
  if (field === "laboratory") return "laboratory";
  if (field === "party") return kind === "certificate" ? "analyst" : "";
  return kind === "action" && field === "by" ? "" : undefined;
}

/** A photo that goes with what is being written down: sent as soon as that is. */
function ChosenPhoto({
  photo,
  onPhoto,
  busy,
}: {
  photo: File | null;
  onPhoto: (photo: File | null) => void;
  busy: boolean;
}) {
  return (
    <div className="chosen-photo">
      <FileIn
        label={photo ? text.photos.another : text.photos.add}
        accept="image/jpeg,image/png"
        busy={busy}
        onFile={onPhoto}
      />
      {photo ? (
        <p role="status">
          {text.photos.goesWith(photo.name)}{" "}
          <Button className="button quiet" onPress={() => onPhoto(null)}>
            {text.photos.without}
          </Button>
        </p>
      ) : null}
    </div>
  );
}

/** How thick a piece of this material may be, to be taken over by a press. */
function Thicknesses({
  material,
  words,
  onTake,
}: {
  material: string;
  words: Words;
  onTake: (thickness: string) => void;
}) {
  const { materialOf } = useBook();
  const known = thicknessesOf(materialOf(material), words.families);
  if (!known) return null;
  return (
    <div className="offered">
      <p className="hint">
        {known.source === "book" ? text.form.thickness.written : text.form.thickness.usual(known.family)}{" "}
        <SourceOf id={known.source} />
      </p>
      <div className="actions">
        {known.mm.map((mm) => (
          <Button key={mm} className="button quiet" onPress={() => onTake(String(mm))}>
            {text.form.thickness.take(mm)}
          </Button>
        ))}
      </div>
    </div>
  );
}

interface Choice {
  id: string;
  name: string;
  group?: string;
}

function Options({ choices }: { choices: Choice[] }) {
  const groups = [...new Set(choices.map((choice) => choice.group))];
  return groups.map((group) => {
    const options = choices
      .filter((choice) => choice.group === group)
      .map((choice) => (
        <option key={choice.id} value={choice.id}>
          {choice.name}
        </option>
      ));
    return group ? (
      <optgroup key={group} label={group}>
        {options}
      </optgroup>
    ) : (
      options
    );
  });
}

/** Any number of the choices; where their order counts, each tells its place in it. */
function Several({
  label,
  ordered,
  required,
  value,
  fault,
  onChange,
  choices,
}: {
  label: string;
  ordered: boolean;
  required: boolean;
  value: string[];
  fault: Fault | undefined;
  onChange: (value: string[]) => void;
  choices: Choice[];
}) {
  return (
    <fieldset className="choice">
      <Legend required={required}>{label}</Legend>
      {choices.map((choice) => (
        <label key={choice.id}>
          <input
            type="checkbox"
            checked={value.includes(choice.id)}
            onChange={(event) =>
              onChange(event.target.checked ? [...value, choice.id] : value.filter((one) => one !== choice.id))
            }
          />
          {choice.name}
          {ordered && value.includes(choice.id) ? ` (${value.indexOf(choice.id) + 1})` : ""}
        </label>
      ))}
      {choices.length === 0 ? <p className="quiet">{text.form.noneToChoose}</p> : null}
      {fault ? (
        // Ticked boxes do not say what was wrong with them: the value does, as in "J1 after J2 after J1".
        <p className="fault">{problemOf({ ...fault, problem: `${fault.value} ${fault.problem}`.trim() }, true)}</p>
      ) : null}
    </fieldset>
  );
}

function Field({
  name,
  label,
  hint,
  form,
  required,
  value,
  fault,
  onChange,
  choices,
  suggested,
  children,
}: {
  name: string;
  label: string;
  /** What to bear in mind with the value as it stands. */
  hint: string | undefined;
  form: JsonSchema;
  required: boolean;
  value: Value;
  fault: Fault | undefined;
  onChange: (value: Value) => void;
  choices: Choice[] | undefined;
  /** Words that are usual here; any other may be typed. */
  suggested: readonly string[] | undefined;
  /** What helps to fill it in, under it. */
  children?: ReactNode;
}) {
  const id = useId();
  const common = {
    id,
    "aria-invalid": fault ? true : undefined,
    "aria-describedby": fault ? `${id}-fault` : hint ? `${id}-hint` : undefined,
    "aria-required": required || undefined,
  };
  const told = fault ? (
    <p className="fault" id={`${id}-fault`}>
      {problemOf(fault, choices !== undefined)}
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
  const shown = String(value);
  return (
    <div className="field">
      <FieldLabel htmlFor={id} required={required}>
        {label}
      </FieldLabel>
      {choices !== undefined ? (
        <select {...common} value={shown} onChange={(event) => onChange(event.target.value)}>
          <option value="">{text.form.choose}</option>
          <Options choices={choices} />
        </select>
      ) : name === "notes" ? (
        <textarea
          {...common}
          rows={3}
          maxLength={form.maxLength}
          value={shown}
          onChange={(e) => onChange(e.target.value)}
        />
      ) : (
        <input
          {...common}
          list={suggested ? `${id}-list` : undefined}
          type={form.format === "date" ? "date" : "text"}
          inputMode={form.type === "number" || form.type === "integer" ? "decimal" : undefined}
          maxLength={form.maxLength}
          value={shown}
          onChange={(event) => onChange(event.target.value)}
        />
      )}
      {suggested ? (
        <datalist id={`${id}-list`}>
          {suggested.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      ) : null}
      {hint ? (
        <p className="hint" id={`${id}-hint`}>
          {hint}
        </p>
      ) : null}
      {told}
      {children}
    </div>
  );
}
