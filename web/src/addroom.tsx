// Adding a room beside others, and a storey above or below.
import { useId, useState } from "react";
import type { Edits, Fault, Room, Storey } from "./api";
import { useBook, useWords } from "./book";
import { fieldSchema } from "./form";
import { sentence } from "./format";
import { boxOf } from "./geometry";
import { LengthField } from "./lengthfield";
import { SIDES, beside, firstFree, onGrid, rectangle } from "./outlines";
import type { Part } from "./outlines";
import { faultsOf, FieldLabel, Panel, PanelForm, Pick } from "./parts";
import { Plan, outlinePath } from "./plan";
import { text } from "./text";

/** Writes parts down in one step; what was wrong is kept for showing. */
function useWrite(onDone: (changed: string[]) => void) {
  const { edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const [busy, setBusy] = useState(false);
  const write = async <V extends "add" | "several">(verb: V, body: Edits[V]) => {
    setBusy(true);
    try {
      onDone((await edit(verb, body)).changed);
    } catch (error) {
      setFaults(faultsOf(error));
      setBusy(false);
    }
  };
  return { faults, busy, write };
}

function Text({
  label,
  value,
  onChange,
  list,
  required,
}: {
  label: string;
  value: string;
  onChange: (value: string) => void;
  list?: readonly string[];
  required?: boolean;
}) {
  const id = useId();
  return (
    <div className="field">
      <FieldLabel htmlFor={id} required={required}>
        {label}
      </FieldLabel>
      <input
        id={id}
        aria-required={required || undefined}
        value={value}
        maxLength={80}
        list={list ? `${id}-list` : undefined}
        onChange={(event) => onChange(event.target.value)}
      />
      {list ? (
        <datalist id={`${id}-list`}>
          {list.map((one) => (
            <option key={one} value={one} />
          ))}
        </datalist>
      ) : null}
    </div>
  );
}

const words = text.addRoom;
const USUAL_M = { width: 3.6, depth: 3 };

export function AddRoom({
  storey,
  near,
  onClose,
  onDone,
}: {
  storey: Storey;
  near?: string;
  onClose: () => void;
  onDone: (id: string) => void;
}) {
  const whole = useBook();
  const known = useWords();
  const all = whole.book.rooms ?? [];
  const here = all.filter((room) => room.storey === storey.id);
  const phases = whole.book.phases ?? [];
  const [name, setName] = useState("");
  const [use, setUse] = useState("");
  const [kind, setKind] = useState("room");
  const [phase, setPhase] = useState(
    here.find((room) => room.id === near)?.phase ?? here[0]?.phase ?? phases[0]?.id ?? "",
  );
  const [size, setSize] = useState(USUAL_M);
  const [spot, setSpot] = useState(() => firstFree(here, near, USUAL_M.width, USUAL_M.depth));
  const { faults, busy, write } = useWrite((changed) => (changed[0] ? onDone(changed[0]) : onClose()));

  const beyond = (): Room["outline"] => {
    const room = spot ? here.find((one) => one.id === spot.room) : undefined;
    if (room && spot) return beside(boxOf([room.outline]), spot.side, size.width, size.depth);
    const others = all.length > 0 ? boxOf(all.map((one) => one.outline)) : { x0: 0, y0: 0 };
    return rectangle(
      onGrid(others.x0),
      onGrid(others.y0),
      onGrid(others.x0 + size.width),
      onGrid(others.y0 + size.depth),
    );
  };
  const outline = beyond();
  const kinds = known ? (fieldSchema(known.schema, "room", "kind").enum ?? []) : [kind];
  const send = () => {
    const fields = {
      storey: storey.id,
      outline,
      name: name.trim() || null,
      use: use.trim() || null,
      kind: kind === "room" ? null : kind,
      phase: phase || null,
    };
    void write("add", {
      what: "room",
      fields: Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== null)),
    });
  };
  return (
    <Panel title={words.heading(storey.name)} onClose={onClose}>
      <PanelForm title={words.faults} faults={faults} send={send} words={words.go} busy={busy} onClose={onClose}>
        <Text label={words.name} value={name} required onChange={setName} />
        <div className="pair">
          <Text label={words.use} value={use} onChange={setUse} list={words.uses} />
          <Pick label={words.kind} value={kind} onChange={setKind} options={kinds.map((one) => [one, sentence(one)])} />
          <LengthField
            live
            label={words.width}
            metres={size.width}
            least={0.3}
            onChange={(width) => setSize({ ...size, width })}
          />
          <LengthField
            live
            label={words.depth}
            metres={size.depth}
            least={0.3}
            onChange={(depth) => setSize({ ...size, depth })}
          />
          {spot ? (
            <>
              <Pick
                label={words.next}
                value={spot.room}
                onChange={(room) => setSpot({ ...spot, room })}
                options={here.map((one) => [one.id, one.name])}
              />
              <Pick
                label={words.side}
                value={spot.side}
                onChange={(side) => setSpot({ ...spot, side: side })}
                options={SIDES.map((side) => [side, words.sides[side]])}
              />
            </>
          ) : null}
        </div>
        <Pick
          label={words.phase}
          value={phase}
          onChange={setPhase}
          options={[
            ["", words.phaseUnknown],
            ...phases.map((one): [string, string] => [
              one.id,
              `${one.name}, ${one.years.from === one.years.to ? one.years.from : `${one.years.from} to ${one.years.to}`}`,
            ]),
          ]}
        />
        {here.length > 0 ? (
          <div className="small-plan">
            <Plan whole={whole} storey={storey} looking="both" also={[outline]}>
              <path className="draft" d={outlinePath(outline)} />
            </Plan>
          </div>
        ) : null}
        <p className="hint">{words.hint}</p>
      </PanelForm>
    </Panel>
  );
}

export function AddStorey({ onClose, onDone }: { onClose: () => void; onDone: (id: string) => void }) {
  const { book } = useBook();
  const storeys = [...(book.storeys ?? [])].sort((a, b) => a.floor_m - b.floor_m);
  const top = storeys.at(-1);
  const [name, setName] = useState("");
  const [floor, setFloor] = useState(top ? Math.round((top.floor_m + (top.height_m ?? 2.4) + 0.25) * 100) / 100 : 0);
  const [height, setHeight] = useState(2.4);
  const [like, setLike] = useState("");
  const { faults, busy, write } = useWrite((changed) => onDone(changed.find((id) => id.startsWith("L")) ?? ""));
  const rooms = (book.rooms ?? []).filter((room) => room.storey === like);
  const send = () => {
    const parts: Part[] = [
      {
        add: "storey",
        as: "@new",
        fields: { ...(name.trim() ? { name: name.trim() } : {}), floor_m: floor, height_m: height },
      },
      ...rooms.map((room): Part => ({
        add: "room",
        fields: {
          name: room.name,
          storey: "@new",
          outline: room.outline,
          ...(room.phase ? { phase: room.phase } : {}),
        },
      })),
    ];
    void write("several", {
      label: text.addStorey.label(name.trim() || text.addStorey.heading, rooms.length),
      parts,
    });
  };
  return (
    <Panel title={text.addStorey.heading} onClose={onClose}>
      <PanelForm
        title={words.faults}
        faults={faults}
        send={send}
        words={text.addStorey.go}
        busy={busy}
        onClose={onClose}
      >
        <Text label={text.addStorey.name} value={name} required onChange={setName} />
        <div className="pair">
          <LengthField live label={text.addStorey.floor} metres={floor} onChange={setFloor} />
          <LengthField live label={text.addStorey.height} metres={height} least={0.1} onChange={setHeight} />
        </div>
        <Pick
          label={text.addStorey.with}
          value={like}
          onChange={setLike}
          options={[
            ["", text.addStorey.empty],
            ...storeys.map((one): [string, string] => [one.id, text.addStorey.same(one.name)]),
          ]}
        />
      </PanelForm>
    </Panel>
  );
}
