// Sloping ceilings on the plan: the line where the slope begins, and how high it is at either end.
import type { HeightZone, Point, Room } from "./api";
import { slopeOf } from "./ceilings";
import { boxOf } from "./geometry";
import { outlinePath } from "./plan";
import { tellLength, useUnits } from "./units";
import "./ceilings.css";

const CM = 100;
const LETTERS_CM = 20;

/** The height written beside a line, off it by a letter's height. */
function Height({ at, metres }: { at: Point; metres: number }) {
  const units = useUnits();
  return (
    <text x={at[0] * CM} y={-at[1] * CM + LETTERS_CM * 0.35} fontSize={LETTERS_CM}>
      {tellLength(metres, units)}
    </text>
  );
}

function Zone({ zone, room, told }: { zone: HeightZone; room: Room; told: boolean }) {
  const slope = slopeOf(zone, room);
  const box = boxOf([zone.outline]);
  const middle: Point = [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
  const on = (share: number): Point => {
    if (!slope) return middle;
    const [[ax, ay], [bx, by]] = slope.low;
    // A third along, out of the way of the room's name.
    return [
      ax + (bx - ax) / 3 + slope.inwards[0] * slope.depth * share,
      ay + (by - ay) / 3 + slope.inwards[1] * slope.depth * share,
    ];
  };
  return (
    <g>
      <path d={outlinePath(zone.outline)} />
      {told ? (
        <>
          <Height at={on(0.16)} metres={zone.low_m} />
          {zone.high_m !== zone.low_m && slope ? <Height at={on(0.88)} metres={zone.high_m} /> : null}
        </>
      ) : null}
    </g>
  );
}

export function Ceilings({ rooms, chosen }: { rooms: Room[]; chosen?: string | undefined }) {
  return (
    <g className="slopes" aria-hidden="true">
      {rooms.flatMap((room) =>
        (room.heights ?? []).map((zone, i) => (
          <Zone key={`${room.id}-${i}`} zone={zone} room={room} told={room.id === chosen || room.kind === "loft"} />
        )),
      )}
    </g>
  );
}
