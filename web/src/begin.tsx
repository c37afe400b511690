// The first thing a new book asks: what house is it? From a typical outline to a plan in one step.
import { useMemo, useState } from "react";
import { Button } from "react-aria-components";
import type { Fault } from "./api";
import "./begin.css";
import { useBook, useWords } from "./book";
import { CountryFields, fieldsOf, rulesOf } from "./country";
import type { Rules } from "./country";
import { boxOf, labelPoint, lines } from "./geometry";
import { LengthField, UnitsSwitch } from "./lengthfield";
import { TYPICAL, draw, partsOf } from "./outlines";
import type { Choice, DrawnStorey, HouseKind, PhaseName, Years } from "./outlines";
import { FaultList, faultsOf } from "./parts";
import { go } from "./route";
import { text } from "./text";
import { WALKS } from "./walk";

const KINDS = Object.keys(TYPICAL) as HouseKind[];
const words = text.begin;

/** What two fields say of years; null = nothing, undefined = not a range. */
function yearsOf(from: string, to: string): Years | null | undefined {
  const first = from.trim() || to.trim();
  const last = to.trim() || from.trim();
  if (!first) return null;
  if (!/^\d{4}$/.test(first) || !/^\d{4}$/.test(last)) return undefined;
  return { from: Number(first), to: Number(last) };
}

/** A storey as plain ink, for choosing and looking ahead. */
/** A storey in outline; `scale`: its largest storey, when several are drawn beside each other at one scale. */
function Sketch({ storey, named, scale }: { storey: DrawnStorey; named?: boolean; scale?: DrawnStorey[] }) {
  const box = boxOf((scale ?? [storey]).flatMap((one) => one.rooms.map((room) => room.outline)));
  const margin = 0.12;
  return (
    <svg
      className="sketch"
      viewBox={`${(box.x0 - margin) * 100} ${(-box.y1 - margin) * 100} ${(box.x1 - box.x0 + 2 * margin) * 100} ${(box.y1 - box.y0 + 2 * margin) * 100}`}
      aria-hidden="true"
    >
      {storey.rooms.map((room, i) => {
        const { at, clear } = labelPoint(room.outline);
        const parts = lines(words.rooms[room.name], 10);
        const longest = Math.max(...parts.map((part) => part.length));
        const { x0, x1 } = boxOf([room.outline]);
        const size = Math.min(52, clear * 62, ((x1 - x0) * 100) / (longest * 0.56));
        return (
          <g key={i}>
            <path d={`M${room.outline.map(([x, y]) => `${x * 100} ${-y * 100}`).join("L")}Z`} />
            {named ? (
              <text x={at[0] * 100} y={-at[1] * 100 + size * 0.35 - ((parts.length - 1) * size) / 2} fontSize={size}>
                {parts.map((part, j) => (
                  <tspan key={j} x={at[0] * 100} dy={j === 0 ? 0 : size * 1.05}>
                    {part}
                  </tspan>
                ))}
              </text>
            ) : null}
          </g>
        );
      })}
    </svg>
  );
}

function YearFields({
  label,
  hint,
  value,
  onChange,
  bad,
}: {
  label: string;
  hint?: string;
  value: [string, string];
  onChange: (value: [string, string]) => void;
  bad: boolean;
}) {
  return (
    <fieldset className="years">
      <legend>{label}</legend>
      {hint ? <p className="hint">{hint}</p> : null}
      {([words.from, words.to] as const).map((part, i) => (
        <label key={part}>
          {part}
          <input
            inputMode="numeric"
            maxLength={4}
            value={value[i]}
            aria-invalid={bad || undefined}
            onChange={(event) => onChange(i === 0 ? [event.target.value, value[1]] : [value[0], event.target.value])}
          />
        </label>
      ))}
      {bad ? <p className="fault">{words.notYear}</p> : null}
    </fieldset>
  );
}

type PartSize = { width_m: number; depth_m: number; years: [string, string] };

export function Begin() {
  const { book, edit } = useBook();
  const countries = useWords()?.countries ?? [];
  const was = rulesOf(book.about);
  const [rules, setRules] = useState<Rules>(was);
  const [title, setTitle] = useState(book.about.title);
  const [years, setYears] = useState<[string, string]>(["", ""]);
  const [kind, setKind] = useState<HouseKind>("semi");
  const [size, setSize] = useState({ width_m: TYPICAL.semi.width_m, depth_m: TYPICAL.semi.depth_m });
  const [floors, setFloors] = useState(2);
  const [loft, setLoft] = useState(true);
  const [conversion, setConversion] = useState<[string, string] | null>(null);
  const [cellar, setCellar] = useState(false);
  const [extension, setExtension] = useState<PartSize | null>(null);
  const [garage, setGarage] = useState<PartSize | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const [busy, setBusy] = useState(false);
  const tall = TYPICAL[kind].upper !== undefined;
  const choice: Choice = {
    kind,
    ...size,
    upper: tall ? floors - 1 : 0,
    loft: loft && kind !== "flat",
    conversion: conversion !== null,
    cellar: cellar && kind !== "flat",
    extension,
    garage,
  };
  const asked = JSON.stringify(choice); // a choice is small
  const storeys = useMemo(() => draw(JSON.parse(asked) as Choice), [asked]);
  const rooms = storeys.reduce((sum, storey) => sum + storey.rooms.length, 0);
  const spans = {
    house: yearsOf(...years),
    extension: extension ? yearsOf(...extension.years) : null,
    garage: garage ? yearsOf(...garage.years) : null,
    conversion: choice.loft && conversion ? yearsOf(...conversion) : null,
  };
  const sound = Object.values(spans).every((span) => span !== undefined);

  const write = async (alone: boolean) => {
    if (!sound) return;
    setBusy(true);
    const about = {
      ...(title.trim() && title.trim() !== book.about.title ? { title: title.trim() } : {}),
      ...fieldsOf(rules, was, countries),
    };
    const span = spans as Record<PhaseName, Years | null>;
    const drawn: DrawnStorey[] = alone ? [{ level: 0, floor_m: 0, height_m: 2.4, rooms: [] }] : storeys;
    try {
      const { changed } = await edit("several", {
        label: alone ? words.labelAlone : words.label(words.kinds[kind].toLowerCase(), rooms),
        parts: [
          ...(Object.keys(about).length > 0 ? [{ set: "about", fields: about }] : []),
          ...partsOf(
            drawn,
            alone ? { house: span.house, extension: null, garage: null, conversion: null } : span,
            words,
          ),
        ],
      });
      // A drawn house leads straight into the walk through its rooms.
      const ground = changed.filter((id) => /^L\d+$/.test(id))[drawn.findIndex((storey) => storey.level === 0)];
      go(alone || !ground ? { place: "house" } : { place: "house", storey: ground, chosen: WALKS });
    } catch (error) {
      setFaults(faultsOf(error));
      setBusy(false);
    }
  };

  const part = (
    name: "extension" | "garage",
    value: PartSize | null,
    set: (value: PartSize | null) => void,
    usual: [number, number],
  ) => (
    <div className="part">
      <label className="tick">
        <input
          type="checkbox"
          checked={value !== null}
          onChange={(event) =>
            set(event.target.checked ? { width_m: usual[0], depth_m: usual[1], years: ["", ""] } : null)
          }
        />
        {words[name]}
      </label>
      {value ? (
        <div className="part-size">
          <LengthField
            live
            label={words.partWidth(words.phases[name])}
            metres={value.width_m}
            least={0.5}
            onChange={(width_m) => set({ ...value, width_m })}
          />
          <LengthField
            live
            label={words.partDepth(words.phases[name])}
            metres={value.depth_m}
            least={0.5}
            onChange={(depth_m) => set({ ...value, depth_m })}
          />
          <YearFields
            label={words.partYears(words.phases[name])}
            value={value.years}
            bad={spans[name] === undefined && faults.length > 0}
            onChange={(changed) => set({ ...value, years: changed })}
          />
        </div>
      ) : null}
    </div>
  );

  return (
    <div className="view begin">
      <header className="heading">
        <h1>{words.heading}</h1>
        <p className="lead">{words.lead}</p>
      </header>
      <form
        className="begin-grid"
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          if (!sound) setFaults([{ where: "", value: "", problem: words.notYear, allowed: "" }]);
          else void write(false);
        }}
      >
        <div className="asks">
          <section>
            <h2>{words.name}</h2>
            <p className="hint">{words.nameHint}</p>
            <input
              aria-label={words.name}
              maxLength={120}
              value={title}
              onChange={(event) => setTitle(event.target.value)}
            />
          </section>
          <section>
            <h2>{text.country.heading}</h2>
            <p className="hint">{text.country.hint}</p>
            <CountryFields countries={countries} value={rules} onChange={setRules} />
          </section>
          <section>
            <h2>{words.when}</h2>
            <p className="hint">{words.whenHint}</p>
            <YearFields
              label={words.phases.house}
              value={years}
              onChange={setYears}
              bad={spans.house === undefined && faults.length > 0}
            />
          </section>
          <section>
            <h2 id="begin-like">{words.like}</h2>
            <div className="kinds" role="radiogroup" aria-labelledby="begin-like">
              {KINDS.map((one) => (
                <label key={one} className="kind">
                  <input
                    type="radio"
                    name="kind"
                    checked={kind === one}
                    onChange={() => {
                      setKind(one);
                      setSize({ width_m: TYPICAL[one].width_m, depth_m: TYPICAL[one].depth_m });
                    }}
                  />
                  <Sketch
                    storey={
                      draw({
                        kind: one,
                        ...TYPICAL[one],
                        upper: 0,
                        loft: false,
                        conversion: false,
                        cellar: false,
                        extension: null,
                        garage: null,
                      })[0]!
                    }
                  />
                  <span>{words.kinds[one]}</span>
                </label>
              ))}
            </div>
          </section>
          <section>
            <div className="list-head bare">
              <h2>{words.size}</h2>
              <UnitsSwitch />
            </div>
            <div className="sizes">
              <LengthField
                live
                label={words.width}
                metres={size.width_m}
                least={2}
                onChange={(width_m) => setSize({ ...size, width_m })}
              />
              <LengthField
                live
                label={words.depth}
                metres={size.depth_m}
                least={2}
                onChange={(depth_m) => setSize({ ...size, depth_m })}
              />
              {tall ? (
                <label className="length">
                  {words.floors}
                  <select value={floors} onChange={(event) => setFloors(Number(event.target.value))}>
                    {[1, 2, 3].map((n) => (
                      <option key={n}>{n}</option>
                    ))}
                  </select>
                </label>
              ) : null}
            </div>
          </section>
          <section>
            <h2>{words.also}</h2>
            {kind === "flat" ? null : (
              <>
                <label className="tick">
                  <input type="checkbox" checked={loft} onChange={(event) => setLoft(event.target.checked)} />
                  {words.loft}
                </label>
                {loft ? (
                  <div className="part-size">
                    <label className="tick">
                      <input
                        type="checkbox"
                        checked={conversion !== null}
                        onChange={(event) => setConversion(event.target.checked ? ["", ""] : null)}
                      />
                      {words.conversion}
                    </label>
                    {conversion ? (
                      <YearFields
                        label={words.partYears(words.phases.conversion)}
                        value={conversion}
                        bad={spans.conversion === undefined && faults.length > 0}
                        onChange={setConversion}
                      />
                    ) : null}
                  </div>
                ) : null}
                <label className="tick">
                  <input type="checkbox" checked={cellar} onChange={(event) => setCellar(event.target.checked)} />
                  {words.cellar}
                </label>
              </>
            )}
            {part("extension", extension, setExtension, [3.6, 2.8])}
            {part("garage", garage, setGarage, [2.6, 5])}
          </section>
        </div>
        <div className="ahead">
          <h2>{words.preview}</h2>
          <p className="hint">{words.previewHint}</p>
          <ul className="sketches" aria-label={words.preview}>
            {[...storeys].reverse().map((storey) => (
              <li key={storey.level}>
                <Sketch storey={storey} named scale={storeys} />
                <p>
                  <strong>{words.storey(storey.level)}</strong>
                  <small>{storey.rooms.map((room) => words.rooms[room.name]).join(", ")}</small>
                </p>
              </li>
            ))}
          </ul>
          <FaultList title={words.notYet} faults={faults} />
          <div className="actions">
            <Button className="button strong" type="submit" isDisabled={busy}>
              {words.go(rooms)}
            </Button>
            <Button className="button quiet" isDisabled={busy || !sound} onPress={() => void write(true)}>
              {words.alone}
            </Button>
          </div>
        </div>
      </form>
    </div>
  );
}
