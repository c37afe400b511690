// One door, window or hatch: moved and sized on the plan and on its wall's elevation, by dragging, arrow keys or typing.
import { useRef, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Backs, Fault, Opening, Point, Room, Wall } from "./api";
import { useAnswer, useBook } from "./book";
import { Face, OpeningSeen, faceRing } from "./face";
import type { Drawn } from "./face";
import { boxOf } from "./geometry";
import { GRIP_PX, useGrips, useUnitsAPixel } from "./grips";
import { useInTurn } from "./in_turn";
import { LengthField, UnitsSwitch } from "./lengthfield";
import { changes, freest, inWall, pointOn, raised, roomBehind, seatOf, slid, stretched, USUAL } from "./openings";
import type { Seat } from "./openings";
import { openingName } from "./openingwords";
import { onGrid } from "./outlines";
import { FaultList, Panel, Pick, Section, faultsOf } from "./parts";
import { go, href } from "./route";
import { text } from "./text";
import { tellLength, useUnits } from "./units";
import "./openings.css";

const words = text.openings;
const CM = 100;

/** Where an opening is while it is being moved. */
export interface Draft {
  seat: Seat | null;
  at: Point;
}

interface Moving extends Draft {
  opening: Opening;
  wall: Wall | undefined;
  /** How high the wall is. */
  height: number;
  faults: Fault[];
  show: (draft: Draft) => void;
  write: (draft: Draft) => void;
  back: () => void;
}

/** An opening as it is being moved; what is written is written on the book as it is then, one change after another. */
export function useMoving(opening: Opening | undefined): Moving | null {
  const whole = useBook();
  const { edit, roomOf } = whole;
  const was = opening ? seatOf(whole, opening) : null;
  const room = roomOf(was?.room ?? opening?.from ?? "");
  const wall = was ? whole.walls[was.room]?.[was.face] : undefined;
  const send = async (opening: Opening, next: Draft) => {
    const fields = next.seat && was && wall ? changes(opening, was, next.seat, wall) : { at: next.at };
    if (next.seat && was?.room === opening.from) {
      // Moved on, it may lead elsewhere.
      const backs = await api.backs(was.room);
      const behind = roomBehind(backs, next.seat.face, middleOf(next.seat));
      if (behind !== opening.to && "at" in fields) fields.to = behind ?? null;
    }
    if (Object.keys(fields).length > 0) await edit("set", { what: opening.id, fields });
  };
  const turns = useInTurn<Draft, Draft>(opening?.id, opening && ((next) => send(opening, next)), false);
  if (!opening || !room) return null;
  const { draft, faults, show, back } = turns;
  return {
    opening,
    seat: draft ? draft.seat : was,
    at: draft?.at ?? opening.at ?? [0, 0],
    wall,
    height: was ? boxOf([faceRing(room, was.face, whole)]).y1 : 0,
    faults,
    show,
    write: (next) => turns.write(next, next),
    back,
  };
}

const middleOf = (seat: Seat): Point => [(seat.left + seat.right) / 2, (seat.low + seat.high) / 2];

const handsOf = (moving: Moving) => ({
  now: { seat: moving.seat, at: moving.at },
  show: moving.show,
  write: moving.write,
  back: moving.back,
});

const toMetres = ([x, y]: Point): Point => [x / CM, -y / CM];

/** Its grips on the plan: one to slide it, one at each end. */
export function OpeningGrips({ moving }: { moving: Moving }) {
  const group = useRef<SVGGElement>(null);
  const pixel = useUnitsAPixel(group);
  const grip = useGrips(handsOf(moving), toMetres);
  const units = useUnits();
  const { seat, wall, at } = moving;
  const dot = (
    label: string,
    [x, y]: Point,
    change: (start: Draft, dx: number, dy: number) => Draft,
    cross = false,
  ) => (
    <g className="grip" role="button" tabIndex={0} aria-label={label} {...grip(change)}>
      <circle className="touch" cx={x * CM} cy={-y * CM} r={GRIP_PX * pixel} />
      <circle className="dot" cx={x * CM} cy={-y * CM} r={(cross ? 11 : 8) * pixel} strokeWidth={2.5 * pixel} />
      {cross ? (
        <path
          d={`M${x * CM - 6 * pixel} ${-y * CM}h${12 * pixel}m${-6 * pixel} ${-6 * pixel}v${12 * pixel}`}
          strokeWidth={2 * pixel}
        />
      ) : null}
    </g>
  );
  if (!seat || !wall)
    return (
      <g className="grips opening-grips" ref={group}>
        {dot(
          words.moveGrip,
          at,
          (start, dx, dy) => ({ ...start, at: [onGrid(start.at[0] + dx), onGrid(start.at[1] + dy)] }),
          true,
        )}
      </g>
    );
  const along = (dx: number, dy: number) => dx * wall.along[0] + dy * wall.along[1];
  const on = (change: (seat: Seat, by: number) => Seat) => (start: Draft, dx: number, dy: number) =>
    start.seat ? { ...start, seat: change(start.seat, along(dx, dy)) } : start;
  // Off the ends by a thumb's breadth, so that three grips find room at a narrow door.
  const off = (26 * pixel) / CM;
  const middle = (seat.left + seat.right) / 2;
  const label = pointOn(wall, middle, -off * 1.5);
  return (
    <g className="grips opening-grips" ref={group}>
      <path
        className="track"
        d={`M${[seat.left, seat.right]
          .map((u) => pointOn(wall, u, 0))
          .map(([x, y]) => `${x * CM} ${-y * CM}`)
          .join("L")}`}
        strokeWidth={4 * pixel}
      />
      <g className="sizes-drawn" aria-hidden="true">
        <text x={label[0] * CM} y={-label[1] * CM + 5 * pixel} fontSize={14 * pixel} strokeWidth={4 * pixel}>
          {tellLength(seat.right - seat.left, units)}
        </text>
      </g>
      {dot(
        words.leftGrip,
        pointOn(wall, seat.left - off, 0),
        on((one, by) => stretched(one, "left", by, wall.length_m)),
      )}
      {dot(
        words.rightGrip,
        pointOn(wall, seat.right + off, 0),
        on((one, by) => stretched(one, "right", by, wall.length_m)),
      )}
      {dot(
        words.slideGrip,
        pointOn(wall, middle, off * 1.4),
        on((one, by) => slid(one, by, wall.length_m)),
        true,
      )}
    </g>
  );
}

/** The same on its wall's elevation, with its upper and lower edge. */
function ElevationGrips({ moving, drawn }: { moving: Moving; drawn: Drawn }) {
  const grip = useGrips(handsOf(moving), toMetres);
  const { seat, wall, opening, height } = moving;
  if (!seat || !wall) return null;
  const { x, y, pixel } = drawn;
  const on = (change: (seat: Seat, dx: number, dy: number) => Seat) => (start: Draft, dx: number, dy: number) =>
    start.seat ? { ...start, seat: change(start.seat, dx, dy) } : start;
  const dot = (label: string, u: number, v: number, change: (seat: Seat, dx: number, dy: number) => Seat) => (
    <g className="grip" role="button" tabIndex={0} aria-label={label} {...grip(on(change))}>
      <circle className="touch" cx={x(u)} cy={y(v)} r={GRIP_PX * pixel} />
      <circle className="dot" cx={x(u)} cy={y(v)} r={8 * pixel} strokeWidth={2.5 * pixel} />
    </g>
  );
  const [middle, mid] = middleOf(seat);
  const ring: Point[] = [
    [seat.left, seat.low],
    [seat.right, seat.low],
    [seat.right, seat.high],
    [seat.left, seat.high],
  ];
  const lifted = (one: Seat, by: number): Seat => {
    const tall = one.high - one.low;
    const low = Math.min(Math.max(onGrid(one.low + by), 0), Math.max(0, height - tall));
    return { ...one, low, high: low + tall };
  };
  return (
    <g className="opening-grips">
      <g
        className="grip"
        role="button"
        tabIndex={0}
        aria-label={words.bodyGrip}
        {...grip(
          on((one, dx, dy) => {
            const next = slid(one, dx, wall.length_m);
            return opening.kind === "door" ? next : lifted(next, dy);
          }),
        )}
      >
        <OpeningSeen kind={opening.kind} chosen ring={ring} drawn={drawn} />
      </g>
      {dot(words.leftGrip, seat.left, mid, (one, dx) => stretched(one, "left", dx, wall.length_m))}
      {dot(words.rightGrip, seat.right, mid, (one, dx) => stretched(one, "right", dx, wall.length_m))}
      {dot(words.topGrip, middle, seat.high, (one, _, dy) => raised(one, "high", dy, height))}
      {opening.kind === "door"
        ? null
        : dot(words.bottomGrip, middle, seat.low, (one, _, dy) => raised(one, "low", dy, height))}
    </g>
  );
}

export function OpeningSheet({ moving, storey }: { moving: Moving; storey: string }) {
  const { book, roomOf, edit } = useBook();
  const { opening, seat, wall, height, at } = moving;
  const [refused, setRefused] = useState<Fault[]>([]);
  const room = roomOf(seat?.room ?? opening.from);
  const set = (fields: Record<string, unknown>) =>
    edit("set", { what: opening.id, fields }).then(
      () => setRefused([]),
      (error: unknown) => setRefused(faultsOf(error)),
    );
  const remove = () =>
    edit("remove", { what: opening.id }).then(
      () => go({ place: "house", storey, chosen: opening.from }),
      (error: unknown) => setRefused(faultsOf(error)),
    );
  const name = openingName(book, opening);
  const write = (next: Seat) => moving.write({ seat: next, at });
  const wide = seat ? seat.right - seat.left : (opening.width_m ?? 0.8);
  const others = (book.rooms ?? []).filter((one) => one.id !== opening.from);
  const choices = (table: Record<string, string>): [string, string][] => Object.entries(table);
  return (
    <aside className="sheet" aria-label={name}>
      <div className="sheet-head">
        <h2>
          {name} <small>{opening.id}</small>
        </h2>
        <a className="button quiet" href={href({ place: "house", storey, chosen: opening.from })}>
          {words.done}
        </a>
      </div>
      <p className="hint">{words.hint}</p>
      <FaultList title={words.notKept} faults={[...moving.faults, ...refused]} />
      {seat && wall && room ? (
        <figure className="elevation">
          <Face room={room} face={seat.face} without={opening.id}>
            {(drawn) => <ElevationGrips moving={moving} drawn={drawn} />}
          </Face>
          <figcaption>{words.seenFrom(text.faces(seat.face), room.name)}</figcaption>
        </figure>
      ) : null}
      <UnitsSwitch />
      <div className="sizes">
        {seat && wall ? (
          <>
            <LengthField
              label={words.fromLeft}
              metres={seat.left}
              least={0}
              onChange={(left) => write({ ...seat, left, right: left + wide })}
            />
            <LengthField
              label={words.width}
              metres={wide}
              least={0.05}
              onChange={(to) => write({ ...seat, right: seat.left + to })}
            />
            <LengthField
              label={words.height}
              metres={seat.high - seat.low}
              least={0.05}
              onChange={(to) => write({ ...seat, high: Math.min(seat.low + to, Math.max(height, to)) })}
            />
            {opening.kind === "door" ? null : (
              <LengthField
                label={words.sill}
                metres={seat.low}
                least={0}
                onChange={(low) => write({ ...seat, low, high: low + seat.high - seat.low })}
              />
            )}
          </>
        ) : (
          <>
            <LengthField
              label={words.across}
              metres={at[0]}
              onChange={(x) => moving.write({ seat: null, at: [x, at[1]] })}
            />
            <LengthField
              label={words.up}
              metres={at[1]}
              onChange={(y) => moving.write({ seat: null, at: [at[0], y] })}
            />
            <LengthField label={words.width} metres={wide} least={0.05} onChange={(width_m) => void set({ width_m })} />
          </>
        )}
      </div>
      <Pick
        label={words.kind}
        value={opening.kind}
        options={choices(words.kinds).filter(([kind]) => inWall(kind) === inWall(opening.kind))}
        onChange={(kind) => void set({ kind })}
      />
      <Pick
        label={words.leadsTo}
        value={opening.to ?? ""}
        options={[["", words.outdoors], ...others.map((one): [string, string] => [one.id, one.name])]}
        onChange={(to) => void set({ to: to || null })}
      />
      <Pick
        label={words.usual}
        value={opening.usual ?? "closed"}
        options={choices(words.states)}
        onChange={(usual) => void set({ usual })}
      />
      {opening.kind === "door" ? (
        <>
          <Pick
            label={words.hung}
            value={opening.hung ?? ""}
            options={choices(words.hangs)}
            onChange={(hung) => void set({ hung: hung || null })}
          />
          <Pick
            label={words.opens}
            value={opening.opens ?? ""}
            options={choices(words.ways)}
            onChange={(opens) => void set({ opens: opens || null })}
          />
        </>
      ) : null}
      <div className="actions">
        <Button className="button" onPress={() => void remove()}>
          {words.remove}
        </Button>
      </div>
    </aside>
  );
}

/** The doors and windows of a room, in its sheet. */
export function OpeningList({ room, storey, onAdd }: { room: Room; storey: string; onAdd: () => void }) {
  const whole = useBook();
  const units = useUnits();
  const here = (whole.book.openings ?? []).filter((one) => one.from === room.id || one.to === room.id);
  return (
    <Section title={words.title}>
      {here.length === 0 ? <p className="quiet">{words.none}</p> : null}
      <ul className="opening-list">
        {here.map((one) => (
          <li key={one.id}>
            <a href={href({ place: "house", storey, chosen: one.id })}>
              <span>
                {openingName(whole.book, one)}
                <small>
                  {tellLength(one.width_m ?? 0.8, units)}
                  {whole.openings[one.id]?.length ? "" : ` · ${words.unplaced}`}
                </small>
              </span>
            </a>
          </li>
        ))}
      </ul>
      <div className="actions">
        <Button className="button" onPress={onAdd}>
          {words.add}
        </Button>
      </div>
    </Section>
  );
}

/** A new one: drawn along the wall, or typed. */
export function AddOpening({
  room,
  onClose,
  onDone,
}: {
  room: Room;
  onClose: () => void;
  onDone: (id: string) => void;
}) {
  const whole = useBook();
  const { answer: backs } = useAnswer(api.backs, room.id);
  const walls = Object.keys(whole.walls[room.id] ?? {});
  const [kind, setKind] = useState("door");
  const [face, setFace] = useState(walls[0] ?? "wall-1");
  const [drawn, setDrawn] = useState<Seat | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const usual = USUAL[kind]!;
  const on = inWall(kind) ? face : "ceiling";
  const box = boxOf([faceRing(room, on, whole)]);
  const seat = drawn ?? begun();
  function begun(): Seat {
    const wide = usual.width_m;
    if (!inWall(kind)) {
      const [x, y] = [onGrid((box.x0 + box.x1) / 2), onGrid((box.y0 + box.y1) / 2)];
      return {
        room: room.id,
        face: on,
        left: x - wide / 2,
        right: x + wide / 2,
        low: y - wide / 2,
        high: y + wide / 2,
      };
    }
    const taken = Object.values(whole.openings)
      .flat()
      .filter((one) => one.room === room.id && one.face === on)
      .map((one): [number, number] => [one.outline[0]![0], one.outline[1]![0]]);
    const free = freest(box.x1, taken);
    const left = onGrid(free.middle - Math.min(wide, free.length) / 2);
    const low = kind === "door" ? 0 : Math.max(0, Math.min(2.1, box.y1) - usual.height_m);
    return { room: room.id, face: on, left, right: left + wide, low, high: low + usual.height_m };
  }
  const behind = (spot: Point) => roomBehind(backs, on, spot);
  const named = (id: string | undefined) => (id ? (whole.roomOf(id)?.name ?? id) : words.outdoors);
  const namesBehind = (wall: string, all: Backs | null) => {
    const found = all?.faces.find((one) => one.face === wall)?.backs.map((one) => named(one.room)) ?? [];
    return found.length > 0 ? found.join(", ") : words.outdoors;
  };
  const save = async () => {
    const wall = whole.walls[room.id]?.[on];
    const at = wall ? pointOn(wall, (seat.left + seat.right) / 2, 0) : middleOf(seat);
    const to = behind(middleOf(seat));
    try {
      const edited = await whole.edit("add", {
        what: "opening",
        fields: {
          kind,
          from: room.id,
          ...(to ? { to } : {}),
          at: at.map((one) => Math.round(one * 1000) / 1000),
          width_m: Math.round((seat.right - seat.left) * 1000) / 1000,
          height_m: Math.round((wall ? seat.high - seat.low : usual.height_m) * 1000) / 1000,
          ...(wall && kind !== "door" ? { sill_m: Math.round(seat.low * 1000) / 1000 } : {}),
        },
      });
      onDone(edited.changed[0]!);
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const put = (change: Partial<Seat>) => setDrawn({ ...seat, ...change });
  const wide = seat.right - seat.left;
  return (
    <Panel title={words.addTitle(room.name)} onClose={onClose} broad>
      <div className="draw">
        <div>
          <Pick
            label={words.kind}
            value={kind}
            options={Object.entries(words.kinds)}
            onChange={(next) => {
              setKind(next);
              setDrawn(null);
            }}
          />
          {inWall(kind) ? (
            <Pick
              label={words.inWhich}
              value={face}
              options={walls.map((wall): [string, string] => [
                wall,
                words.wallTo(text.faces(wall), namesBehind(wall, backs)),
              ])}
              onChange={(next) => {
                setFace(next);
                setDrawn(null);
              }}
            />
          ) : null}
          <Face
            room={room}
            face={on}
            onTap={([u, v]) => {
              const left = onGrid(u - wide / 2);
              const low = inWall(kind) ? seat.low : onGrid(v - wide / 2);
              put({ left, right: left + wide, low, high: low + seat.high - seat.low });
            }}
            onDraw={([u0, v0], [u1, v1]) => {
              const [left, right] = [onGrid(Math.min(u0, u1)), onGrid(Math.max(u0, u1))];
              if (right - left < 0.1) return;
              if (!inWall(kind)) {
                const low = onGrid(Math.min(v0, v1));
                put({ left, right, low, high: low + right - left });
              } else put({ left: Math.max(0, left), right: Math.min(box.x1, right) });
            }}
          >
            {(map) => (
              <OpeningSeen
                kind={kind}
                chosen
                drawn={map}
                ring={[
                  [seat.left, seat.low],
                  [seat.right, seat.low],
                  [seat.right, seat.high],
                  [seat.left, seat.high],
                ]}
              />
            )}
          </Face>
          <p className="hint">{inWall(kind) ? words.drawHint : words.drawOverhead}</p>
          <p>{words.willLead(named(behind(middleOf(seat))))}</p>
        </div>
        <div>
          <UnitsSwitch />
          <div className="sizes">
            <LengthField
              label={inWall(kind) ? words.fromLeft : words.across}
              metres={seat.left}
              onChange={(left) => put({ left, right: left + wide })}
            />
            <LengthField
              label={words.width}
              metres={wide}
              least={0.05}
              onChange={(to) =>
                put(inWall(kind) ? { right: seat.left + to } : { right: seat.left + to, high: seat.low + to })
              }
            />
            {inWall(kind) ? (
              <LengthField
                label={words.height}
                metres={seat.high - seat.low}
                least={0.05}
                onChange={(to) => put({ high: seat.low + to })}
              />
            ) : null}
            {kind === "door" ? null : (
              <LengthField
                label={inWall(kind) ? words.sill : words.up}
                metres={seat.low}
                onChange={(low) => put({ low, high: low + seat.high - seat.low })}
              />
            )}
          </div>
        </div>
      </div>
      <FaultList title={text.form.faults} faults={faults} />
      <div className="actions">
        <Button className="button" onPress={onClose}>
          {text.cancel}
        </Button>
        <Button className="button strong" onPress={() => void save()}>
          {words.addIt(words.kinds[kind] ?? kind)}
        </Button>
      </div>
    </Panel>
  );
}
