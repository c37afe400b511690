// Sloping ceilings and the void over a room: added along a wall, their reach dragged on the plan, their heights typed.
import { useId, useRef, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Fault, HeightZone, Point, Room } from "./api";
import { useAnswer, useBook } from "./book";
import { reachOf, slopeOf, stripAlong, usualSlope, wallOf } from "./ceilings";
import { GRIP_PX, useGrips, useUnitsAPixel } from "./grips";
import { LengthField } from "./lengthfield";
import { onGrid } from "./outlines";
import { FaultList, faultsOf, Section } from "./parts";
import { levelsOf } from "./section";
import { text } from "./text";
import { tellLength, useUnits } from "./units";

const words = text.ceilings;
const CM = 100;
const LEAST_M = 0.1;

/** A zone that reaches so far into the room from its eaves. */
function reaching(zone: HeightZone, room: Room, depth: number): HeightZone {
  const slope = slopeOf(zone, room);
  if (!slope) return zone;
  const wall = wallOf(slope, room.outline);
  const held = Math.min(Math.max(depth, LEAST_M), reachOf(room.outline, wall));
  return { ...zone, outline: stripAlong(room.outline, wall, held) };
}

function useCeiling(room: Room) {
  const { edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const write = (heights: HeightZone[]) =>
    edit("set", { what: room.id, fields: { heights: heights.length > 0 ? heights : null } }).then(
      () => setFaults([]),
      (error: unknown) => setFaults(faultsOf(error)),
    );
  return { faults, write };
}

/** The upper line of each slope, to be dragged in and out. */
export function CeilingGrips({ room }: { room: Room }) {
  const { write } = useCeiling(room);
  const zones = room.heights ?? [];
  const [draft, setDraft] = useState<HeightZone[] | null>(null);
  const group = useRef<SVGGElement>(null);
  const pixel = useUnitsAPixel(group);
  const units = useUnits();
  const now = draft ?? zones;
  const grip = useGrips<HeightZone[]>(
    {
      now,
      show: setDraft,
      write: (next) => void write(next).then(() => setDraft(null)),
      back: () => setDraft(null),
    },
    ([x, y]) => [x / CM, -y / CM],
  );
  return (
    <g ref={group}>
      {now.map((zone, i) => {
        const slope = slopeOf(zone, room);
        if (!slope) return null;
        const { low, inwards, depth } = slope;
        // Off the middle, where the room's own grip is.
        const on = (share: number): Point => [
          low[0][0] + (low[1][0] - low[0][0]) * share + inwards[0] * depth,
          low[0][1] + (low[1][1] - low[0][1]) * share + inwards[1] * depth,
        ];
        const at = on(0.72);
        const [ux, uy] = [-inwards[1], inwards[0]];
        return (
          <g key={i}>
            {draft ? (
              <path
                className="slope-now"
                d={`M${on(0)
                  .map((v, k) => v * (k ? -CM : CM))
                  .join(" ")}L${on(1)
                  .map((v, k) => v * (k ? -CM : CM))
                  .join(" ")}`}
              />
            ) : null}
            <g
              className="grip slope"
              role="button"
              tabIndex={0}
              aria-label={words.grip(i + 1, tellLength(depth, units))}
              {...grip((start, dx, dy) =>
                start.map((one, k) => {
                  if (k !== i) return one;
                  const was = slopeOf(one, room);
                  return was ? reaching(one, room, onGrid(was.depth + dx * was.inwards[0] + dy * was.inwards[1])) : one;
                }),
              )}
            >
              <circle className="touch" cx={at[0] * CM} cy={-at[1] * CM} r={GRIP_PX * pixel} />
              <circle className="dot" cx={at[0] * CM} cy={-at[1] * CM} r={9 * pixel} strokeWidth={2.5 * pixel} />
              <line
                x1={at[0] * CM - ux * 16 * pixel}
                y1={-at[1] * CM + uy * 16 * pixel}
                x2={at[0] * CM + ux * 16 * pixel}
                y2={-at[1] * CM - uy * 16 * pixel}
                strokeWidth={4 * pixel}
              />
            </g>
          </g>
        );
      })}
    </g>
  );
}

export function CeilingSection({ room, height }: { room: Room; height: number }) {
  const { walls } = useBook();
  const { faults, write } = useCeiling(room);
  const units = useUnits();
  const names = Object.keys(walls[room.id] ?? {});
  const [along, setAlong] = useState(names[0] ?? "wall-1");
  const id = useId();
  const zones = room.heights ?? [];
  const put = (i: number, zone: HeightZone) => void write(zones.map((one, k) => (k === i ? zone : one)));
  return (
    <Section title={words.title}>
      {zones.length === 0 ? <p>{words.flat(tellLength(height, units))}</p> : null}
      <FaultList title={text.shape.kept} faults={faults} />
      <div className="slope-list">
        {zones.map((zone, i) => {
          const slope = slopeOf(zone, room);
          return (
            <fieldset key={i}>
              <legend>
                {slope ? words.slope(i + 1, text.faces(`wall-${wallOf(slope, room.outline) + 1}`)) : words.part(i + 1)}
              </legend>
              <LengthField
                label={words.low}
                metres={zone.low_m}
                least={0}
                onChange={(low_m) => put(i, { ...zone, low_m })}
              />
              <LengthField
                label={words.high}
                metres={zone.high_m}
                least={0}
                onChange={(high_m) => put(i, { ...zone, high_m })}
              />
              {slope ? (
                <LengthField
                  label={words.depth}
                  metres={slope.depth}
                  least={LEAST_M}
                  onChange={(depth) => put(i, reaching(zone, room, depth))}
                />
              ) : null}
              <Button className="button" onPress={() => void write(zones.filter((_, k) => k !== i))}>
                {words.drop(i + 1)}
              </Button>
            </fieldset>
          );
        })}
      </div>
      <div className="slope-add field">
        <label htmlFor={id}>{words.along}</label>
        <select id={id} value={along} onChange={(event) => setAlong(event.target.value)}>
          {names.map((wall) => (
            <option key={wall} value={wall}>
              {text.faces(wall)}
            </option>
          ))}
        </select>
        <div className="actions">
          <Button
            className="button"
            onPress={() => void write([...zones, usualSlope(room, Number(along.slice(5)) - 1, height)])}
          >
            {words.add}
          </Button>
        </div>
      </div>
      {room.kind === "void" || room.kind === "shaft" ? null : <VoidOver room={room} />}
    </Section>
  );
}

const USUAL_VOID_M = 0.25;

/** A void over the whole ceiling, on a storey of its own when there is none at that level yet. */
function VoidOver({ room }: { room: Room }) {
  const { book, edit, roomOf } = useBook();
  const { answer } = useAnswer(api.backs, room.id);
  const storeys = book.storeys ?? [];
  const { ceiling } = levelsOf(room, storeys);
  const over = answer?.faces.find((one) => one.face === "ceiling")?.backs ?? [];
  const there = over.some((one) => roomOf(one.room)?.kind === "void");
  const floors = over
    .map((one) => levelsOf(roomOf(one.room) ?? room, storeys).floor - ceiling)
    .filter((gap) => gap > 0.02);
  const [typed, setTyped] = useState<number | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const height = typed ?? (floors.length > 0 ? Math.min(...floors) : USUAL_VOID_M);
  if (!answer || there) return null;
  const draw = async () => {
    const level = storeys.find((one) => Math.abs(one.floor_m - ceiling) < 0.01);
    const height_m = Math.round(height * 1000) / 1000;
    try {
      await edit("several", {
        label: words.overLabel(room.name),
        parts: [
          ...(level
            ? []
            : [
                {
                  add: "storey",
                  as: "@between",
                  fields: { name: words.overStorey, floor_m: Math.round(ceiling * 1000) / 1000, height_m },
                },
              ]),
          {
            add: "room",
            fields: {
              name: words.overName(room.name),
              storey: level?.id ?? "@between",
              kind: "void",
              ...(room.phase ? { phase: room.phase } : {}),
              outline: room.outline,
              height_m,
            },
          },
        ],
      });
      setFaults([]);
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  return (
    <div className="slope-add">
      <p className="hint">{words.overHint}</p>
      <LengthField label={words.overHeight} metres={height} least={0.01} onChange={setTyped} />
      <FaultList title={text.shape.kept} faults={faults} />
      <div className="actions">
        <Button className="button" onPress={() => void draw()}>
          {words.overAdd}
        </Button>
      </div>
    </div>
  );
}
