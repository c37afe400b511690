// What happened, asked in plain questions. Minutes count from the start, as people remember them.
import { useId, useState } from "react";
import { Button } from "react-aria-components";
import type { Event, Fault } from "./api";
import { useBook, useWords } from "./book";
import { EditDialog } from "./form";
import { sentence } from "./format";
import { sideOf } from "./geometry";
import { FaultList, FieldLabel, FormActions, Pick, faultsOf, named, useFaultsShown } from "./parts";
import { go } from "./route";
import { text } from "./text";

const t = text.dust;
const CLEANING = ["sweep", "vacuum", "damp-wipe"];

interface Who {
  room: string;
  from: string;
  to: string;
  near: boolean;
  mask: string;
}
interface Answers {
  title: string;
  started: string;
  imagined: boolean;
  material: string;
  task: string;
  room: string;
  face: string;
  minutes: string;
  who: Record<string, Who>;
  cleaning: string;
  cleanFrom: string;
  cleanTo: string;
  notes: string;
}

/** Of the typed fields, those without which nothing can be reckoned. */
const NEEDED: (keyof Answers)[] = ["title", "started", "minutes"];

const number = (words: string) => Number(words.replace(",", "."));
/** Not in the house; a room that is "" is not answered yet. */
const AWAY = "away";
const UNSAID: Who = { room: "", from: "0", to: "60", near: false, mask: "none" };
const NOT_THERE: Who = { ...UNSAID, room: AWAY };

/** The answers as the book writes an event down. Exported for its test. */
export function eventOf(answers: Answers): Partial<Event> {
  const present = Object.entries(answers.who).filter(([, who]) => who.room !== "" && who.room !== AWAY);
  return {
    title: answers.title.trim(),
    started_at: answers.started,
    ...(answers.imagined ? { imagined: true } : {}),
    ...(answers.material ? { materials: [answers.material] } : {}),
    cuts: [
      {
        task: answers.task,
        room: answers.room,
        face: answers.face,
        minutes: number(answers.minutes),
      },
    ],
    stays: present.map(([person, who]) => ({
      person,
      room: who.room,
      from_min: number(who.from),
      to_min: number(who.to),
      ...(who.near ? { at_the_work: true } : {}),
    })),
    masks: present
      .filter(([, who]) => who.mask !== "none")
      .map(([person, who]) => ({ person, respirator: who.mask, from_min: number(who.from), to_min: number(who.to) })),
    ...(answers.cleaning
      ? { cleaning: [{ task: answers.cleaning, from_min: number(answers.cleanFrom), to_min: number(answers.cleanTo) }] }
      : {}),
    ...(answers.notes.trim() ? { notes: answers.notes.trim() } : {}),
  };
}

/**
 * The answers an event was written down from; undefined for one that holds more than is asked here, as one made by
 * command may. Exported for its test.
 */
export function answersOf(event: Event): Answers | undefined {
  const answers: Answers = {
    title: event.title,
    started: event.started_at.slice(0, 16),
    imagined: event.imagined ?? false,
    material: event.materials?.[0] ?? "",
    task: event.cuts?.[0]?.task ?? "",
    room: event.cuts?.[0]?.room ?? "",
    face: event.cuts?.[0]?.face ?? "",
    minutes: String(event.cuts?.[0]?.minutes ?? ""),
    who: Object.fromEntries(
      (event.stays ?? []).map((stay) => [
        stay.person,
        {
          room: stay.room,
          from: String(stay.from_min),
          to: String(stay.to_min),
          near: stay.at_the_work ?? false,
          mask: event.masks?.find((mask) => mask.person === stay.person)?.respirator ?? "none",
        },
      ]),
    ),
    cleaning: event.cleaning?.[0]?.task ?? "",
    cleanFrom: String(event.cleaning?.[0]?.from_min ?? 20),
    cleanTo: String(event.cleaning?.[0]?.to_min ?? 30),
    notes: event.notes ?? "",
  };
  return sorted({ id: event.id, ...eventOf(answers) }) === sorted(event) ? answers : undefined;
}

/** One spelling of the same object, whatever the order of its parts; what is false or empty is as good as left out. */
function sorted(value: unknown): string {
  return JSON.stringify(value, (_, part: unknown) =>
    typeof part === "object" && part !== null && !Array.isArray(part)
      ? Object.fromEntries(
          Object.entries(part)
            .filter(([, held]) => held !== false && !(Array.isArray(held) && held.length === 0))
            .sort(([a], [b]) => a.localeCompare(b)),
        )
      : part,
  );
}

/** Now, to the five minutes: what is written down at once has just begun. */
function justNow(today: string): string {
  const now = new Date();
  const two = (n: number) => String(n).padStart(2, "0");
  return `${today}T${two(now.getHours())}:${two(5 * Math.floor(now.getMinutes() / 5))}`;
}

/** A new event, or one written down to be changed. */
export function EventForm({ event: held, onClose }: { event?: Event; onClose?: () => void }) {
  const { book, walls, today, edit, materialOf, materials } = useBook();
  const words = useWords();
  const id = useId();
  const [faults, setFaults] = useState<Fault[]>([]);
  const [person, setPerson] = useState(false);
  /** Sent once with gaps: from then on each gap is told beside its field until it is filled. */
  const [tried, setTried] = useState<unknown[]>([]);
  const [answers, setAnswers] = useState<Answers>(() => {
    const before = held && answersOf(held);
    if (before) {
      // Who is not in what was written down was not there.
      const away = (book.people ?? []).filter((one) => before.who[one.id] === undefined);
      return { ...before, who: { ...before.who, ...Object.fromEntries(away.map((one) => [one.id, NOT_THERE])) } };
    }
    return {
      title: "",
      started: justNow(today),
      imagined: false,
      material: "",
      task: "",
      room: "",
      face: "",
      minutes: "15",
      who: {},
      cleaning: "",
      cleanFrom: "20",
      cleanTo: "30",
      notes: "",
    };
  });
  const set = (change: Partial<Answers>) => setAnswers((now) => ({ ...now, ...change }));
  const whoIs = (one: string) => answers.who[one] ?? UNSAID;
  const setWho = (one: string, change: Partial<Who>) =>
    setAnswers((now) => ({ ...now, who: { ...now.who, [one]: { ...UNSAID, ...now.who[one], ...change } } }));
  const people = book.people ?? [];
  const suspects = (book.materials ?? []).filter((material) => materials[material.id]?.suspect);
  const rooms = named(book.rooms ?? []);
  const tasks = (words?.tasks ?? []).map((task): [string, string] => [task.id, sentence(task.name)]);
  const faces = [
    ...new Set([
      "ceiling",
      "floor",
      ...Object.keys(walls[answers.room] ?? {}),
      "inside",
      ...(answers.face ? [answers.face] : []),
    ]),
  ].map((face): [string, string] => {
    const wall = walls[answers.room]?.[face];
    return [face, text.faceChoice(face, wall && sideOf(wall))];
  });

  const chooseMaterial = (chosen: string) => {
    const material = materialOf(chosen);
    set({ material: chosen, ...(material ? { room: material.room, face: material.face } : {}) });
  };
  const gap = (value: string) => (tried.length > 0 && value.trim() === "" ? t.missing : undefined);
  const shown = useFaultsShown(faults.length > 0 ? faults : tried);
  const save = async () => {
    shown.sent();
    setFaults([]);
    const asked = [answers.title, answers.task, answers.room, answers.face, ...people.map((one) => whoIs(one.id).room)];
    if (asked.some((value) => value.trim() === "")) {
      setTried([{}]);
      return;
    }
    try {
      const fields = eventOf(answers);
      if (held) {
        // What is no longer said is taken away.
        const gone = Object.keys(held).filter((name) => name !== "id" && !(name in fields));
        await edit("set", {
          what: held.id,
          fields: { ...Object.fromEntries(gone.map((name) => [name, null])), ...fields },
        });
        onClose?.();
        return;
      }
      const { changed } = await edit("add", { what: "event", fields });
      if (changed[0]) go({ place: "dust", one: changed[0] });
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const field = (name: keyof Answers, label: string, type: string, extra: Record<string, unknown> = {}) => (
    <div className="field">
      <FieldLabel htmlFor={`${id}-${name}`} required={NEEDED.includes(name)}>
        {label}
      </FieldLabel>
      <input
        id={`${id}-${name}`}
        type={type}
        aria-required={NEEDED.includes(name) || undefined}
        value={String(answers[name])}
        aria-invalid={name === "title" && gap(answers.title) ? true : undefined}
        aria-describedby={name === "title" && gap(answers.title) ? `${id}-${name}-fault` : undefined}
        onChange={(event) => set({ [name]: event.target.value })}
        {...extra}
      />
      {name === "title" && gap(answers.title) ? (
        <p className="fault" id={`${id}-${name}-fault`}>
          {t.missing}
        </p>
      ) : null}
    </div>
  );

  return (
    <form
      ref={shown.form}
      className="event-form"
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void save();
      }}
    >
      <FaultList faults={faults} title={text.form.faults} />
      <fieldset>
        <legend>{t.partWhat}</legend>
        {field("title", t.ask.title, "text", { maxLength: 160 })}
        {field("started", t.ask.started, "datetime-local")}
        <Pick
          label={t.ask.material}
          value={answers.material}
          options={named(suspects)}
          first={t.notWritten}
          onChange={chooseMaterial}
        />
        <Pick
          label={t.ask.task}
          value={answers.task}
          options={tasks}
          first={text.form.choose}
          fault={gap(answers.task)}
          required
          onChange={(task) => set({ task })}
        />
        <Pick
          label={t.ask.room}
          value={answers.room}
          options={rooms}
          first={text.form.choose}
          fault={gap(answers.room)}
          required
          onChange={(room) => set({ room })}
        />
        <Pick
          label={t.ask.face}
          value={answers.face}
          options={faces}
          first={text.form.choose}
          fault={gap(answers.face)}
          required
          onChange={(face) => set({ face })}
        />
        {field("minutes", t.ask.minutes, "text", { inputMode: "decimal" })}
        <div className="field check">
          <input
            id={`${id}-imagined`}
            type="checkbox"
            checked={answers.imagined}
            onChange={(event) => set({ imagined: event.target.checked })}
          />
          <label htmlFor={`${id}-imagined`}>{t.ask.imagined}</label>
        </div>
      </fieldset>
      <fieldset>
        <legend>{t.partWho}</legend>
        <p className="quiet">{people.length === 0 ? t.nobody : t.minutesFrom}</p>
        {people.map((one) => {
          const who = whoIs(one.id);
          return (
            <div key={one.id} className="person-row" role="group" aria-label={one.name}>
              <h2>{one.name}</h2>
              <Pick
                label={t.ask.where}
                value={who.room}
                options={[...rooms, [AWAY, t.notIn]]}
                first={text.form.choose}
                fault={gap(who.room)}
                required
                onChange={(room) => setWho(one.id, { room })}
              />
              {who.room && who.room !== AWAY ? (
                <>
                  {(["from", "to"] as const).map((part) => (
                    <div key={part} className="field short">
                      <label htmlFor={`${id}-${one.id}-${part}`}>{part === "from" ? t.ask.from : t.ask.to}</label>
                      <input
                        id={`${id}-${one.id}-${part}`}
                        type="text"
                        inputMode="decimal"
                        value={who[part]}
                        onChange={(event) => setWho(one.id, { [part]: event.target.value })}
                      />
                    </div>
                  ))}
                  <Pick
                    label={t.ask.mask}
                    value={who.mask}
                    options={(words?.respirators ?? []).map((mask) => [mask.id, sentence(mask.name)] as const)}
                    onChange={(mask) => setWho(one.id, { mask })}
                  />
                  <div className="field check">
                    <input
                      id={`${id}-${one.id}-near`}
                      type="checkbox"
                      checked={who.near}
                      onChange={(event) => setWho(one.id, { near: event.target.checked })}
                    />
                    <label htmlFor={`${id}-${one.id}-near`}>{t.ask.near}</label>
                  </div>
                </>
              ) : null}
            </div>
          );
        })}
        <Button className="button" onPress={() => setPerson(true)}>
          {t.addPerson}
        </Button>
      </fieldset>
      <fieldset>
        <legend>{t.partAfter}</legend>
        <Pick
          label={t.ask.cleaning}
          value={answers.cleaning}
          options={tasks.filter(([task]) => CLEANING.includes(task))}
          first={t.notCleaned}
          onChange={(cleaning) => set({ cleaning })}
        />
        {answers.cleaning ? (
          <div className="pair">
            {field("cleanFrom", t.ask.from, "text", { inputMode: "decimal" })}
            {field("cleanTo", t.ask.to, "text", { inputMode: "decimal" })}
          </div>
        ) : null}
        <div className="field">
          <label htmlFor={`${id}-notes`}>{t.ask.notes}</label>
          <textarea
            id={`${id}-notes`}
            rows={3}
            maxLength={4000}
            value={answers.notes}
            onChange={(event) => set({ notes: event.target.value })}
          />
        </div>
      </fieldset>
      <FormActions onClose={onClose ?? (() => go({ place: "dust" }))} />
      {person ? (
        <EditDialog
          kind="person"
          verb="add"
          what="person"
          title={t.addPerson}
          fields={["name", "birth_year"]}
          more={["role", "sex", "smoker"]}
          labels={t.personFields}
          item={{}}
          onClose={() => setPerson(false)}
          onDone={() => setPerson(false)}
        />
      ) : null}
    </form>
  );
}
