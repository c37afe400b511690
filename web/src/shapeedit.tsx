// Changing a room's outline: grips on the plan, and the same by typing in the sheet beside it.
import { useEffect, useRef, useState } from "react";
import { Button } from "react-aria-components";
import { Refused } from "./api";
import type { Fault, Point, Room } from "./api";
import { useBook } from "./book";
import { CeilingGrips, CeilingSection } from "./ceilingedit";
import { boxOf, labelPoint, roomHeight } from "./geometry";
import type { Ring } from "./geometry";
import { ARROWS, GRIP_PX, REST_MS, under, useUnitsAPixel } from "./grips";
import { useInTurn } from "./in_turn";
import { LengthField, UnitsSwitch } from "./lengthfield";
import { GRID_M, onGrid } from "./outlines";
import { FaultList } from "./parts";
import { outlinePath } from "./plan";
import {
  afterCorner,
  afterNoCorner,
  anticlockwise,
  carried,
  moved,
  openingsCarried,
  renumbered,
  snap,
  wallLength,
  withCorner,
  withCornerAt,
  withWallLength,
  withWallMoved,
  withoutCorner,
} from "./shape";
import type { Renumber } from "./shape";
import { text } from "./text";
import "./shape.css";
import { tellLength, useUnits } from "./units";

const words = text.shape;
const CM = 100;

type How = { what: "shape" } | { what: "move" } | { what: "corners"; renumber: Renumber };
interface Asked {
  ring: Ring;
  how: How;
}

interface Shaping {
  ring: Ring;
  faults: Fault[];
  /** Shows an outline without writing it down. */
  show: (ring: Ring) => void;
  write: (ring: Ring, how: How) => void;
  back: () => void;
}

/** The outline of a room as it is being changed; changes are written one after another, each on the book as it is then. */
export function useShaping(room: Room | undefined): Shaping | null {
  const { book, edit } = useBook();
  const send = async (room: Room, { ring, how }: Asked) => {
    const now = anticlockwise(room.outline);
    const { parts, stuck } =
      how.what === "move"
        ? { parts: carried(book, room, ring[0]![0] - now[0]![0], ring[0]![1] - now[0]![1]), stuck: [] }
        : how.what === "corners"
          ? renumbered(book, room.id, how.renumber)
          : { parts: openingsCarried(book, room.id, now, ring), stuck: [] };
    if (stuck.length > 0) return [{ where: "", value: "", problem: words.stuck(stuck.join(", ")), allowed: "" }];
    await edit("several", {
      label: how.what === "move" ? words.labelMove(room.name) : words.label(room.name),
      parts: [{ set: room.id, fields: { outline: ring } }, ...parts],
    });
    return [];
  };
  const turns = useInTurn<Ring, Asked>(room?.id, room && ((asked) => send(room, asked)), true);
  if (!room) return null;
  const { draft, faults, show, back } = turns;
  return {
    ring: draft ?? anticlockwise(room.outline),
    faults,
    show,
    write: (ring, how) => turns.write(ring, { ring, how }),
    back,
  };
}

/** The plan point under the pointer. */
function planPoint(event: React.PointerEvent): Point {
  const [x, y] = under(event);
  return [x / CM, -y / CM];
}

type Grip = { what: "corner"; i: number } | { what: "wall"; i: number } | { what: "room" };

/** The grips, drawn over the plan. */
export function ShapeGrips({ room, shaping, others }: { room: Room; shaping: Shaping; others: Ring[] }) {
  const units = useUnits();
  const { ring } = shaping;
  const group = useRef<SVGGElement>(null);
  const unitsAPixel = useUnitsAPixel(group);
  const drag = useRef<{ from: Point; start: Ring } | null>(null);
  const rest = useRef<number | undefined>(undefined);
  useEffect(() => () => window.clearTimeout(rest.current), []);
  const reach = (10 * unitsAPixel) / CM;

  const changed = (start: Ring, grip: Grip, dx: number, dy: number, free: boolean): Ring => {
    const hold = free
      ? (at: Point): Point => [onGrid(at[0]), onGrid(at[1])]
      : (at: Point, own: Point[]) => snap(at, others, own, reach);
    if (grip.what === "room") {
      const [x, y] = start[0]!;
      const corners = start.map((one): Point => [one[0] + dx, one[1] + dy]);
      // The corner that finds a hold leads; the room keeps its shape.
      let best: Point = [onGrid(x + dx) - x, onGrid(y + dy) - y];
      let nearest = Infinity;
      corners.forEach((corner, i) => {
        const [hx, hy] = hold(corner, []);
        const off = Math.hypot(hx - corner[0], hy - corner[1]);
        if (off < nearest && others.flat().some(([ox, oy]) => ox === hx || oy === hy)) {
          nearest = off;
          best = [hx - start[i]![0], hy - start[i]![1]];
        }
      });
      return moved(start, best[0], best[1]);
    }
    const [x, y] = start[grip.i]!;
    if (grip.what === "corner")
      return withCornerAt(
        start,
        grip.i,
        hold(
          [x + dx, y + dy],
          start.filter((_, i) => i !== grip.i),
        ),
      );
    const next = (grip.i + 1) % start.length;
    const [nx, ny] = start[next]!;
    const length = Math.hypot(nx - x, ny - y) || 1;
    const out: Point = [(ny - y) / length, -(nx - x) / length];
    const by = dx * out[0] + dy * out[1];
    const rests = hold(
      [x + out[0] * by, y + out[1] * by],
      start.filter((_, i) => i !== grip.i && i !== next),
    );
    return withWallMoved(start, grip.i, (rests[0] - x) * out[0] + (rests[1] - y) * out[1]);
  };
  const how = (grip: Grip): How => (grip.what === "room" ? { what: "move" } : { what: "shape" });

  const handlers = (grip: Grip) => ({
    "data-handle": true,
    onPointerDown: (event: React.PointerEvent) => {
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = { from: planPoint(event), start: ring };
    },
    onPointerMove: (event: React.PointerEvent) => {
      if (!drag.current) return;
      const at = planPoint(event);
      shaping.show(
        changed(drag.current.start, grip, at[0] - drag.current.from[0], at[1] - drag.current.from[1], event.altKey),
      );
    },
    onPointerUp: () => {
      const was = drag.current;
      drag.current = null;
      if (was && JSON.stringify(was.start) !== JSON.stringify(ring)) shaping.write(ring, how(grip));
    },
    onPointerCancel: () => {
      drag.current = null;
      shaping.back();
    },
    onClick: (event: React.MouseEvent) => event.stopPropagation(),
    onKeyDown: (event: React.KeyboardEvent) => {
      if (event.key === "Escape") shaping.back();
      const way = ARROWS[event.key];
      if (!way) return;
      event.preventDefault();
      event.stopPropagation();
      let next: Ring;
      if (grip.what === "corner") {
        const [x, y] = ring[grip.i]!;
        next = withCornerAt(ring, grip.i, moved([[x, y]], way[0] * GRID_M, way[1] * GRID_M)[0]!);
      } else if (grip.what === "room") next = moved(ring, way[0] * GRID_M, way[1] * GRID_M);
      else {
        const [x, y] = ring[grip.i]!;
        const [nx, ny] = ring[(grip.i + 1) % ring.length]!;
        const by = way[0] * (ny - y) - way[1] * (nx - x);
        if (Math.abs(by) < 1e-9) return;
        next = withWallMoved(ring, grip.i, Math.sign(by) * GRID_M);
      }
      shaping.show(next);
      window.clearTimeout(rest.current);
      rest.current = window.setTimeout(() => shaping.write(next, how(grip)), REST_MS);
    },
  });

  const px = unitsAPixel;
  const centre = labelPoint(ring).at;
  const tell = (metres: number) => tellLength(metres, units);
  return (
    <g className="grips" ref={group}>
      <path className={shaping.faults.length > 0 ? "shape wrong" : "shape"} d={outlinePath(ring)} />
      <g className="sizes-drawn" aria-hidden="true">
        {ring.map(([x, y], i) => {
          const [nx, ny] = ring[(i + 1) % ring.length]!;
          const length = Math.hypot(nx - x, ny - y);
          if (length === 0) return null;
          const out = 26 * px;
          return (
            <text
              key={i}
              fontSize={14 * px}
              strokeWidth={4 * px}
              x={((x + nx) / 2) * CM + ((ny - y) / length) * out}
              y={-((y + ny) / 2) * CM + ((nx - x) / length) * out + 5 * px}
            >
              {tell(length)}
            </text>
          );
        })}
      </g>
      {ring.map(([x, y], i) => {
        const [nx, ny] = ring[(i + 1) % ring.length]!;
        const length = Math.hypot(nx - x, ny - y) || 1;
        const ux = (nx - x) / length;
        const uy = (ny - y) / length;
        const at: Point = [((x + nx) / 2) * CM, -((y + ny) / 2) * CM];
        return (
          <g
            key={`wall${i}`}
            className="grip wall"
            role="button"
            tabIndex={0}
            aria-label={words.wallGrip(i + 1, tell(length))}
            {...handlers({ what: "wall", i })}
          >
            <circle className="touch" cx={at[0]} cy={at[1]} r={GRIP_PX * px * 0.8} />
            <line
              x1={at[0] - ux * 12 * px}
              y1={at[1] + uy * 12 * px}
              x2={at[0] + ux * 12 * px}
              y2={at[1] - uy * 12 * px}
              strokeWidth={7 * px}
            />
          </g>
        );
      })}
      <g
        className="grip whole"
        role="button"
        tabIndex={0}
        aria-label={`${words.whole}: ${room.name}`}
        {...handlers({ what: "room" })}
      >
        <circle className="touch" cx={centre[0] * CM} cy={-centre[1] * CM + 34 * px} r={GRIP_PX * px} />
        <path
          d={`M${centre[0] * CM} ${-centre[1] * CM + 34 * px}m${-11 * px} 0h${22 * px}m${-11 * px} ${-11 * px}v${22 * px}`}
          strokeWidth={3 * px}
        />
      </g>
      <CeilingGrips room={room} />
      {ring.map(([x, y], i) => (
        <g
          key={`corner${i}`}
          className="grip corner"
          role="button"
          tabIndex={0}
          aria-label={words.corner(i + 1, tell(x), tell(y))}
          {...handlers({ what: "corner", i })}
        >
          <circle className="touch" cx={x * CM} cy={-y * CM} r={GRIP_PX * px} />
          <circle className="dot" cx={x * CM} cy={-y * CM} r={9 * px} strokeWidth={2.5 * px} />
          <text x={x * CM} y={-y * CM + 4 * px} fontSize={11 * px}>
            {i + 1}
          </text>
        </g>
      ))}
    </g>
  );
}

export function ShapeSheet({
  room,
  shaping,
  onClose,
  onRemoved,
}: {
  room: Room;
  shaping: Shaping;
  onClose: () => void;
  onRemoved: () => void;
}) {
  const { edit, book } = useBook();
  const { ring } = shaping;
  const box = boxOf([ring]);
  const [leaning, setLeaning] = useState<Fault[]>([]);
  const remove = async (all: boolean) => {
    try {
      await edit("remove", { what: room.id, ...(all ? { with_what_leans_on_it: true } : {}) });
      onRemoved();
    } catch (error) {
      setLeaning(Refused.by(error).faults);
    }
  };
  const height = roomHeight(
    room,
    book.storeys?.find((one) => one.id === room.storey),
  );
  return (
    <aside className="sheet" aria-label={words.heading(room.name)}>
      <div className="sheet-head">
        <h2>{words.heading(room.name)}</h2>
        <Button className="button quiet" onPress={onClose}>
          {words.done}
        </Button>
      </div>
      <p className="hint">{words.hint}</p>
      {shaping.faults.length > 0 ? (
        <>
          <FaultList title={words.kept} faults={shaping.faults} />
          <Button className="button" onPress={shaping.back}>
            {words.back}
          </Button>
        </>
      ) : null}
      <UnitsSwitch />
      <section className="section">
        <h3>{words.walls}</h3>
        <ul className="walls">
          {ring.map((_, i) => (
            <li key={i}>
              <LengthField
                label={words.wall(i + 1)}
                metres={Math.round(wallLength(ring, i) * 1000) / 1000}
                least={0.1}
                onChange={(length) => shaping.write(withWallLength(ring, i, length), { what: "shape" })}
              />
              <Button
                className="button"
                aria-label={words.part(i + 1)}
                onPress={() => shaping.write(withCorner(ring, i), { what: "corners", renumber: afterCorner(i) })}
              >
                {words.partShort}
              </Button>
            </li>
          ))}
        </ul>
      </section>
      <section className="section">
        <h3>{words.whole}</h3>
        <div className="pair">
          <LengthField
            label={words.left}
            metres={box.x0}
            onChange={(x) => shaping.write(moved(ring, x - box.x0, 0), { what: "move" })}
          />
          <LengthField
            label={words.near}
            metres={box.y0}
            onChange={(y) => shaping.write(moved(ring, 0, y - box.y0), { what: "move" })}
          />
          <LengthField
            label={words.height}
            metres={height}
            least={0.1}
            onChange={(height_m) => void edit("set", { what: room.id, fields: { height_m } }).catch(() => undefined)}
          />
        </div>
      </section>
      <CeilingSection room={room} height={height} />
      <details className="section corners">
        <summary>{words.corners}</summary>
        <ul className="walls">
          {ring.map(([x, y], i) => (
            <li key={i}>
              <LengthField
                label={words.across(i + 1)}
                metres={x}
                onChange={(to) => shaping.write(withCornerAt(ring, i, [to, y]), { what: "shape" })}
              />
              <LengthField
                label={words.up(i + 1)}
                metres={y}
                onChange={(to) => shaping.write(withCornerAt(ring, i, [x, to]), { what: "shape" })}
              />
              {ring.length > 3 ? (
                <Button
                  className="button"
                  aria-label={words.drop(i + 1)}
                  onPress={() =>
                    shaping.write(withoutCorner(ring, i), { what: "corners", renumber: afterNoCorner(i, ring.length) })
                  }
                >
                  {words.dropShort}
                </Button>
              ) : null}
            </li>
          ))}
        </ul>
      </details>
      <FaultList title={text.material.notRemoved} faults={leaning} />
      <div className="actions">
        <Button className="button" onPress={() => void remove(leaning.length > 0)}>
          {leaning.length > 0 ? words.removeAll : words.remove}
        </Button>
      </div>
    </aside>
  );
}
