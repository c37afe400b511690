// Doors, windows and hatches on the plan, as the trade draws them: a door's leaf with its swing, a window as a double
// line, a hatch as a crossed dashed square, a stair as treads.
import type { Opening, Point, Room, WholeBook } from "./api";
import type { Ring } from "./geometry";
import { DEEP_M, gapOf, inWall, leavesOf, panesOf, pointOn, seatOf } from "./openings";
import type { Leaf, Seat } from "./openings";
import { outlinePath } from "./plan";
import { openingName } from "./openingwords";
import "./openings.css";

const CM = 100;
const TREADS = 7;

const to = ([x, y]: Point): string => `${(x * CM).toFixed(1)} ${(-y * CM).toFixed(1)}`;

function swing({ hinge, open, shut }: Leaf): string {
  const radius = Math.hypot(open[0] - hinge[0], open[1] - hinge[1]) * CM;
  // The shorter way round from open to shut.
  const cross = (open[0] - hinge[0]) * (shut[1] - hinge[1]) - (open[1] - hinge[1]) * (shut[0] - hinge[0]);
  return `M${to(open)}A${radius} ${radius} 0 0 ${cross > 0 ? 0 : 1} ${to(shut)}`;
}

function Crossed({ ring, kind }: { ring: Ring; kind: string }) {
  const [a, b, c, d] = ring as [Point, Point, Point, Point];
  const tread = (share: number): string => {
    const y = a[1] + (d[1] - a[1]) * share;
    return `M${to([a[0], y])}L${to([b[0], y])}`;
  };
  return (
    <>
      <path className="edge" d={outlinePath(ring)} />
      {kind === "stair" ? (
        <path d={Array.from({ length: TREADS - 1 }, (_, i) => tread((i + 1) / TREADS)).join("")} />
      ) : (
        <path d={`M${to(a)}L${to(c)}M${to(b)}L${to(d)}`} />
      )}
    </>
  );
}

interface Props {
  whole: WholeBook;
  rooms: Room[];
  looking: "ceiling" | "floor" | "both";
  /** The room or opening that is chosen: its openings can be chosen too. */
  chosen?: string | undefined;
  onChoose?: ((id: string) => void) | undefined;
  /** One that is being moved, where it is now. */
  moving?: { id: string; seat: Seat | null; at: Point } | undefined;
}

export function Openings({ whole, rooms, looking, chosen, onChoose, moving }: Props) {
  const here = new Set(rooms.map((room) => room.id));
  const drawn = (opening: Opening) => {
    if (!inWall(opening.kind)) {
      const on = (whole.openings[opening.id] ?? []).find(
        (one) => here.has(one.room) && (looking === "both" || opening.kind === "stair" || one.face === looking),
      );
      if (!on) return null;
      const by: Point =
        moving?.id === opening.id ? [moving.at[0] - opening.at![0], moving.at[1] - opening.at![1]] : [0, 0];
      return <Crossed kind={opening.kind} ring={on.outline.map(([x, y]): Point => [x + by[0], y + by[1]])} />;
    }
    const seat = moving?.id === opening.id ? moving.seat : seatIn(whole, opening, here);
    const wall = seat && whole.walls[seat.room]?.[seat.face];
    if (!seat || !wall) return null;
    if (opening.kind === "door") {
      const leaves = leavesOf(opening, seat, wall);
      return (
        <>
          <path className="gap" d={outlinePath(gapOf(seat, wall))} />
          {leaves.map((leaf, i) => (
            <g key={i}>
              <path className="arc" d={swing(leaf)} />
              <path className="leaf" d={`M${to(leaf.hinge)}L${to(leaf.open)}`} />
            </g>
          ))}
        </>
      );
    }
    const ends = panesOf(seat, wall);
    return (
      <>
        <path className="gap" d={outlinePath(gapOf(seat, wall))} />
        <path
          d={[
            ...ends,
            [pointOn(wall, seat.left, -DEEP_M / 2), pointOn(wall, seat.left, DEEP_M / 2)],
            [pointOn(wall, seat.right, -DEEP_M / 2), pointOn(wall, seat.right, DEEP_M / 2)],
          ]
            .map(([a, b]) => `M${to(a!)}L${to(b!)}`)
            .join("")}
        />
      </>
    );
  };
  return (
    <g className="openings">
      {(whole.book.openings ?? []).map((opening) => {
        const seen = drawn(opening);
        if (!seen) return null;
        const near = chosen !== undefined && [opening.id, opening.from, opening.to].includes(chosen);
        const named = `${opening.kind}${chosen === opening.id ? " chosen" : ""}`;
        if (!onChoose || !near || moving)
          return (
            <g key={opening.id} className={named} aria-hidden="true">
              {seen}
            </g>
          );
        const at = seatIn(whole, opening, here);
        const wall = at && whole.walls[at.room]?.[at.face];
        return (
          <g
            key={opening.id}
            className={`${named} near`}
            role="button"
            tabIndex={0}
            aria-label={openingName(whole.book, opening)}
            aria-pressed={chosen === opening.id}
            onClick={() => onChoose(opening.id)}
            onKeyDown={(event) => {
              if (event.key !== "Enter" && event.key !== " ") return;
              event.preventDefault();
              onChoose(opening.id);
            }}
          >
            {at && wall ? (
              <path className="touch" d={`M${to(pointOn(wall, at.left, 0))}L${to(pointOn(wall, at.right, 0))}`} />
            ) : null}
            {seen}
          </g>
        );
      })}
    </g>
  );
}

/** Its seat in a wall of this storey: of the room it leads from if that is here, else of the other. */
function seatIn(whole: WholeBook, opening: Opening, here: Set<string>): Seat | null {
  const on = (whole.openings[opening.id] ?? []).filter((one) => here.has(one.room));
  return seatOf({ openings: { [opening.id]: on } }, opening);
}
