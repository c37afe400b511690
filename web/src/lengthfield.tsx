// A field for a length, in the units the person reads in.
import { useEffect, useId, useState } from "react";
import { text } from "./text";
import { readLength, setUnits, tellLength, useUnits } from "./units";
import type { Units } from "./units";

interface Props {
  label: string;
  metres: number;
  onChange: (metres: number) => void;
  /** Smallest length taken; none when negative ones make sense. */
  least?: number;
  /** Shown for short, where many stand in a row. */
  hideLabel?: boolean;
  /** Takes every readable state of typing at once, where nothing is written down yet. */
  live?: boolean;
}

const metresOf = (read: number): number => Math.round(read * 1e4) / 1e4;

/** Takes what is typed when the field is left or Enter is pressed; tells beside it what cannot be read. */
export function LengthField({ label, metres, onChange, least, hideLabel, live }: Props) {
  const units = useUnits();
  const id = useId();
  const [typed, setTyped] = useState<string | null>(null);
  const [bad, setBad] = useState(false);
  useEffect(() => {
    if (!live) setTyped(null);
    setBad(false);
  }, [metres, units, live]);
  const sound = (words: string): number | null => {
    const read = readLength(words, units);
    return read === null || (least !== undefined && read < least) ? null : metresOf(read);
  };
  const take = () => {
    if (typed === null) return;
    const read = sound(typed);
    setBad(read === null);
    if (read === null) return;
    setTyped(null);
    if (Math.abs(read - metres) > 1e-4) onChange(read);
  };
  const type = (words: string) => {
    setTyped(words);
    setBad(false);
    const read = live ? sound(words) : null;
    if (read !== null) onChange(read);
  };
  return (
    <div className="length">
      <label htmlFor={id} className={hideLabel ? "unseen" : undefined}>
        {label}
      </label>
      <input
        id={id}
        value={typed ?? tellLength(metres, units)}
        inputMode={units === "m" ? "decimal" : "text"}
        aria-invalid={bad || undefined}
        aria-describedby={bad ? `${id}-bad` : undefined}
        onChange={(event) => type(event.target.value)}
        onBlur={take}
        onKeyDown={(event) => event.key === "Enter" && (event.preventDefault(), take())}
      />
      {bad ? (
        <p className="fault" id={`${id}-bad`}>
          “{typed}” {text.begin.notLength} {text.lengths.example[units]}
        </p>
      ) : null}
    </div>
  );
}

export function UnitsSwitch() {
  const units = useUnits();
  return (
    <label className="units">
      <span>{text.lengths.label}</span>
      <select value={units} onChange={(event) => setUnits(event.target.value as Units)}>
        <option value="m">{text.lengths.m}</option>
        <option value="ft">{text.lengths.ft}</option>
      </select>
    </label>
  );
}
