// A way round for a cable or pipe on the plan of one storey: its run, and where it leaves for another.
import type { Point, Spot, Storey, WholeBook } from "./api";
import { boxOf } from "./geometry";
import { pointOn } from "./openings";
import { text } from "./text";
import "./routedrawn.css";

const CM = 100;
/** How far inside a wall's line a run on it is drawn. */
const OFF_M = 0.09;

/** Where a spot is on the plan. */
function onPlan(whole: Pick<WholeBook, "walls">, spot: Spot): Point {
  const wall = whole.walls[spot.room]?.[spot.face];
  return wall ? pointOn(wall, spot.point[0], OFF_M) : spot.point;
}

/** The stretches of a path that lie on one storey, and the places where it comes from or goes to another. */
function onStorey(
  whole: Pick<WholeBook, "walls" | "book">,
  storey: string,
  path: Spot[],
): { runs: Point[][]; leaves: { at: Point; to: string }[] } {
  const storeyOf = (spot: Spot) => whole.book.rooms?.find((room) => room.id === spot.room)?.storey ?? "";
  const runs: Point[][] = [];
  const leaves: { at: Point; to: string }[] = [];
  path.forEach((spot, i) => {
    const before = path[i - 1];
    if (before && storeyOf(before) !== storeyOf(spot)) {
      if (storeyOf(before) === storey) leaves.push({ at: onPlan(whole, before), to: storeyOf(spot) });
      if (storeyOf(spot) === storey) leaves.push({ at: onPlan(whole, spot), to: storeyOf(before) });
    }
    if (storeyOf(spot) !== storey) return;
    const here = onPlan(whole, spot);
    if (before && storeyOf(before) === storey) runs.at(-1)!.push(here);
    else runs.push([here]);
  });
  return { runs, leaves };
}

export function RouteDrawn({ whole, storey, path }: { whole: WholeBook; storey: Storey; path: Spot[] }) {
  const { runs, leaves } = onStorey(whole, storey.id, path);
  const ends = [path[0], path.at(-1)].filter(
    (spot): spot is Spot => !!spot && whole.book.rooms?.find((room) => room.id === spot.room)?.storey === storey.id,
  );
  // Words on the side where there is room for them.
  const box = boxOf([runs.flat()]);
  const middle = (box.x0 + box.x1) / 2;
  const name = (id: string) => whole.book.storeys?.find((one) => one.id === id)?.name ?? id;
  const d = (points: Point[]) => `M${points.map(([x, y]) => `${x * CM} ${-y * CM}`).join("L")}`;
  return (
    <g className="way-round" aria-hidden="true">
      {runs.map((run, i) => (
        <g key={i}>
          <path className="halo" d={d(run)} />
          <path d={d(run)} />
        </g>
      ))}
      {ends.map((spot, i) => {
        const [x, y] = onPlan(whole, spot);
        return <circle key={i} cx={x * CM} cy={-y * CM} r="9" />;
      })}
      {leaves.map(({ at: [x, y], to }, i) => (
        <g key={i}>
          <rect x={x * CM - 10} y={-y * CM - 10} width="20" height="20" />
          <text
            x={x * CM + (x > middle ? -16 : 16)}
            y={-y * CM - 16}
            fontSize="22"
            textAnchor={x > middle ? "end" : "start"}
          >
            {text.jobs.toStorey(name(to))}
          </text>
        </g>
      ))}
    </g>
  );
}
