// What happened, asked in plain questions. Minutes count from the start, as people remember them.
import { useId, useState } from "react";
import { Button } from "react-aria-components";
import type { Event, Fault } from "./api";
import { useBook, useWords } from "./book";
import { EditDialog } from "./form";
import { sentence } from "./format";
import { sideOf } from "./geometry";
import { FaultList, FormActions, Pick, faultsOf, named } from "./parts";
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

const number = (words: string) => Number(words.replace(",", "."));
const NOBODY: Who = { room: "", from: "0", to: "60", near: false, mask: "none" };

/** The answers as the book writes an event down. Exported for its test. */
export function eventOf(answers: Answers): Partial<Event> {
  const present = Object.entries(answers.who).filter(([, who]) => who.room !== "");
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
        count: 1,
        minutes: number(answers.minutes),
        depth: "layer",
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

export function EventForm() {
  const { book, walls, today, edit, materialOf, materials } = useBook();
  const words = useWords();
  const id = useId();
  const [faults, setFaults] = useState<Fault[]>([]);
  const [person, setPerson] = useState(false);
  const [answers, setAnswers] = useState<Answers>({
    title: "",
    started: `${today}T10:00`,
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
  });
  const set = (change: Partial<Answers>) => setAnswers((now) => ({ ...now, ...change }));
  const whoIs = (one: string) => answers.who[one] ?? NOBODY;
  const setWho = (one: string, change: Partial<Who>) =>
    setAnswers((now) => ({ ...now, who: { ...now.who, [one]: { ...NOBODY, ...now.who[one], ...change } } }));
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
  const save = async () => {
    const missing = (
      [
        [answers.title, t.ask.title],
        [answers.task, t.ask.task],
        [answers.room, t.ask.room],
        [answers.face, t.ask.face],
      ] as const
    ).filter(([value]) => value.trim() === "");
    if (missing.length > 0) {
      setFaults(missing.map(([, where]) => ({ where, value: "", problem: t.missing, allowed: "" })));
      return;
    }
    try {
      const { changed } = await edit("add", { what: "event", fields: eventOf(answers) });
      if (changed[0]) go({ place: "dust", one: changed[0] });
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const field = (name: keyof Answers, label: string, type: string, extra: Record<string, unknown> = {}) => (
    <div className="field">
      <label htmlFor={`${id}-${name}`}>{label}</label>
      <input
        id={`${id}-${name}`}
        type={type}
        value={String(answers[name])}
        onChange={(event) => set({ [name]: event.target.value })}
        {...extra}
      />
    </div>
  );

  return (
    <form
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
          onChange={(task) => set({ task })}
        />
        <Pick
          label={t.ask.room}
          value={answers.room}
          options={rooms}
          first={text.form.choose}
          onChange={(room) => set({ room })}
        />
        <Pick
          label={t.ask.face}
          value={answers.face}
          options={faces}
          first={text.form.choose}
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
        {people.length === 0 ? <p className="quiet">{t.nobody}</p> : null}
        {people.map((one) => {
          const who = whoIs(one.id);
          return (
            <div key={one.id} className="person-row" role="group" aria-label={one.name}>
              <h2>{one.name}</h2>
              <Pick
                label={t.ask.where}
                value={who.room}
                options={rooms}
                first={t.notIn}
                onChange={(room) => setWho(one.id, { room })}
              />
              {who.room ? (
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
      <FormActions onClose={() => go({ place: "dust" })} />
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
