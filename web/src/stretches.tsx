// Days when nobody is there, and dry weather: written in the book, kept to by the order of work.
import { useId, useState } from "react";
import { Button } from "react-aria-components";
import type { Fault, Stretch } from "./api";
import { useBook } from "./book";
import { day } from "./format";
import { FaultList, FieldLabel, faultsOf, Section } from "./parts";
import { text } from "./text";

const words = text.stretches;
export type Which = "away" | "dry";

export function Stretches({ which }: { which: Which }) {
  const { book, edit } = useBook();
  const id = useId();
  const [faults, setFaults] = useState<Fault[]>([]);
  const [from, setFrom] = useState("");
  const [to, setTo] = useState("");
  const [why, setWhy] = useState("");
  const list = book.about[which] ?? [];
  const write = async (next: Stretch[]) => {
    try {
      await edit("set", { what: "about", fields: { [which]: next.length > 0 ? next : null } });
      setFaults([]);
      return true;
    } catch (error) {
      setFaults(faultsOf(error));
      return false;
    }
  };
  const add = async () => {
    if (!from) return setFaults([{ where: "", value: "", problem: words.wanting, allowed: "" }]);
    const one: Stretch = { from, to: to || from, ...(why.trim() ? { why: why.trim() } : {}) };
    const next = [...list, one].sort((a, b) => a.from.localeCompare(b.from));
    if (await write(next)) {
      setFrom("");
      setTo("");
      setWhy("");
    }
  };
  const field = (name: string, label: string, value: string, change: (value: string) => void, type = "date") => (
    <div className="field">
      <FieldLabel htmlFor={`${id}-${name}`} required={name === "from"}>
        {label}
      </FieldLabel>
      <input
        id={`${id}-${name}`}
        aria-required={name === "from" || undefined}
        type={type}
        maxLength={120}
        value={value}
        onChange={(event) => change(event.target.value)}
      />
    </div>
  );
  return (
    <Section title={words.title[which]}>
      <p className="hint">{words.hint[which]}</p>
      <ul className="plain stretches">
        {list.map((one, i) => {
          const name = `${day(one.from)} – ${day(one.to)}`;
          return (
            <li key={`${one.from}-${i}`}>
              <span>
                {name}
                {one.why ? <small> {one.why}</small> : null}
              </span>
              <Button
                className="button"
                aria-label={words.removeLabel(name)}
                onPress={() => void write(list.filter((_, k) => k !== i))}
              >
                {text.remove}
              </Button>
            </li>
          );
        })}
      </ul>
      <form
        noValidate
        className="stretch-add"
        aria-label={words.title[which]}
        onSubmit={(event) => {
          event.preventDefault();
          void add();
        }}
      >
        {field("from", words.from, from, setFrom)}
        {field("to", words.to, to, setTo)}
        {field("why", words.why, why, setWhy, "text")}
        <Button className="button" type="submit">
          {words.add[which]}
        </Button>
      </form>
      <FaultList title={text.form.faults} faults={faults} />
    </Section>
  );
}
