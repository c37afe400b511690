// The plan of one storey: rooms in ink, materials as hatched patches, the storey below as a ghost.
import { useMemo, useRef } from "react";
import type { ReactNode } from "react";
import type { Cut, Known, Material, Point, Room, Spot, Standing, Storey, WholeBook } from "./api";
import { Ceilings } from "./ceilingsdrawn";
import { boxOf, footprint, inset, labelPoint, lines } from "./geometry";
import type { Ring } from "./geometry";
import { Openings } from "./openingsdrawn";
import type { Seat } from "./openings";
import { RouteDrawn } from "./routedrawn";
import { levelsOf } from "./section";
import { useNarrow } from "./narrow";
import { text } from "./text";
import { ViewFrame } from "./view";
import type { Frame } from "./view";

/** Drawing units a metre: the drawing is in centimetres, so that SVG's own defaults do not meet fractions. */
const CM = 100;

export type Looking = "ceiling" | "floor";

/** Our own hatches, one a standing; the words beside them say the same. */
const hatchOf: Record<Standing, string> = {
  identified: "hatch-identified",
  "strongly presumed": "hatch-strong",
  presumed: "hatch-presumed",
  "no asbestos detected": "hatch-clear",
  "proven later than the ban": "hatch-later",
};

export function Hatches() {
  return (
    <svg className="hatches" aria-hidden="true" width="0" height="0">
      <defs>
        <pattern
          id="hatch-identified"
          width="14"
          height="14"
          patternUnits="userSpaceOnUse"
          patternTransform="rotate(45)"
        >
          <path className="hatch-line" d="M0 0H14M0 0V14" strokeWidth="3.4" />
        </pattern>
        <pattern id="hatch-strong" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path className="hatch-line" d="M0 0V10" strokeWidth="4.4" />
        </pattern>
        <pattern id="hatch-presumed" width="22" height="22" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
          <path className="hatch-line" d="M0 0V22" strokeWidth="4" />
        </pattern>
        <pattern id="hatch-away" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">
          <path className="hatch-line" d="M0 0V6" strokeWidth="1.6" />
        </pattern>
        <pattern id="hatch-dry" width="7" height="7" patternUnits="userSpaceOnUse">
          <circle className="hatch-dot" cx="3.5" cy="3.5" r="1.1" />
        </pattern>
        <pattern id="hatch-clear" width="18" height="18" patternUnits="userSpaceOnUse">
          <circle className="hatch-dot" cx="4" cy="4" r="2.2" />
          <circle className="hatch-dot" cx="13" cy="13" r="2.2" />
        </pattern>
      </defs>
    </svg>
  );
}

export function hatchClass(known: Known | undefined): string {
  if (!known?.suspect || !known.standing) return "hatch-none";
  return hatchOf[known.standing];
}

export function Swatch({ known }: { known: Known | undefined }) {
  return (
    <svg className="swatch" viewBox="0 0 60 60" aria-hidden="true">
      <rect className={`patch ${hatchClass(known)}`} x="2" y="2" width="56" height="56" rx="4" />
    </svg>
  );
}

export function standingWords(known: Known | undefined): string {
  if (known?.standing && known.suspect) return text.standing[known.standing];
  return known && known.standing && !known.suspect ? text.gone : text.noSuspect;
}

interface Props {
  whole: WholeBook;
  storey: Storey;
  looking: Looking | "both";
  chosen?: string | undefined;
  onChoose?: (id: string) => void;
  /** Draw only these, with these called out by number. */
  only?: { rooms: Set<string>; materials: Map<string, number> };
  cuts?: Cut[];
  /** A way round for a cable or pipe. */
  route?: Spot[] | undefined;
  /** A door or window that is being moved, where it is now. */
  moving?: { id: string; seat: Seat | null; at: Point } | undefined;
  /** Outlines that have to be seen besides the rooms. */
  also?: Ring[];
  /** A room whose outline is being changed: its grips are drawn instead, and the frame stays as it is. */
  shaping?: string;
  /** Drawn over everything, in drawing units (`outlinePath`). */
  children?: ReactNode;
}

export const outlinePath = (ring: Ring): string =>
  `M${ring.map(([x, y]) => `${(x * CM).toFixed(1)} ${(-y * CM).toFixed(1)}`).join("L")}Z`;

interface Patch {
  material: Material;
  known: Known | undefined;
  rings: Ring[];
}

function patchesOf(whole: WholeBook, rooms: Room[], looking: Looking | "both"): Patch[] {
  const out: Patch[] = [];
  for (const room of rooms) {
    const here = (whole.book.materials ?? []).filter((material) => {
      if (material.room !== room.id || material.removed_on) return false;
      if (looking === "both" || material.face.startsWith("wall-") || material.face === "inside") return true;
      return looking === "ceiling" ? material.face !== "floor" : material.face === "floor";
    });
    // Whole faces lie as sheets on each other: the deeper the layer, the further in its sheet begins.
    here.sort((a, b) => (a.layer ?? 0) - (b.layer ?? 0));
    let sheets = 0;
    for (const material of here) {
      const wall = whole.walls[room.id]?.[material.face];
      let rings = footprint(material, room, wall);
      if (!material.face.startsWith("wall-") && !material.shape) rings = [inset(room.outline, 0.1 + 0.3 * sheets++)];
      out.push({ material, known: whole.materials[material.id], rings });
    }
  }
  // Sheets first, small pieces over them.
  return out.sort((a, b) => Number(!!a.material.shape) - Number(!!b.material.shape));
}

/** How large a room's name is written, and how much of the room it may take: on a phone larger, to be read. */
const NAME = { wide: { cm: 28, share: 0.42 }, narrow: { cm: 46, share: 0.62 } };
/** A shaft that ends this little over a floor does not run through its storey. */
const THROUGH_M = 0.3;

export function Plan({
  whole,
  storey,
  looking,
  chosen,
  onChoose,
  only,
  cuts = [],
  route,
  moving,
  also = [],
  shaping,
  children,
}: Props) {
  const rooms = (whole.book.rooms ?? []).filter((room) => room.storey === storey.id);
  // Neighbours that are only hinted at lie under the rooms meant.
  if (only) rooms.sort((a, b) => Number(only.rooms.has(a.id)) - Number(only.rooms.has(b.id)));
  const below = useMemo(() => {
    const lower = (whole.book.storeys ?? []).filter((other) => other.floor_m < storey.floor_m);
    const nearest = lower.sort((a, b) => b.floor_m - a.floor_m)[0];
    return nearest ? (whole.book.rooms ?? []).filter((room) => room.storey === nearest.id) : [];
  }, [whole, storey]);
  // eslint-disable-next-line react-hooks/exhaustive-deps -- rooms follow from the book and the storey
  const patches = useMemo(() => patchesOf(whole, rooms, looking), [whole, storey.id, looking]);

  // Shafts from below that run on through this storey.
  const through = (whole.book.rooms ?? []).filter((room) => {
    const { floor, ceiling } = levelsOf(room, whole.book.storeys ?? []);
    return room.kind === "shaft" && floor < storey.floor_m && ceiling > storey.floor_m + THROUGH_M;
  });

  const written = useNarrow() && !only ? NAME.narrow : NAME.wide;
  const svg = useRef<SVGSVGElement>(null);
  const still = useRef<Frame | null>(null);
  const framed = only ? rooms.filter((room) => only.rooms.has(room.id)) : [...rooms, ...below];
  if (rooms.length === 0) return null;
  const box = boxOf([...(framed.length > 0 ? framed : rooms).map((room) => room.outline), ...also]);
  const margin = only ? 0.7 : 0.3;
  const all_of_it: Frame = {
    x: (box.x0 - margin) * CM,
    y: (-box.y1 - margin) * CM,
    width: (box.x1 - box.x0 + 2 * margin) * CM,
    height: (box.y1 - box.y0 + 2 * margin) * CM,
  };
  // What is dragged must not move the ground under the pointer.
  if (!shaping) still.current = null;
  else
    still.current ??= {
      x: all_of_it.x - CM,
      y: all_of_it.y - CM,
      width: all_of_it.width + 2 * CM,
      height: all_of_it.height + 2 * CM,
    };
  const whole_frame = still.current ?? all_of_it;
  const shownPatches = only ? patches.filter((patch) => only.materials.has(patch.material.id)) : patches;
  const select = (id: string) =>
    onChoose
      ? {
          role: "button" as const,
          tabIndex: 0,
          onClick: () => onChoose(id),
          onKeyDown: (event: React.KeyboardEvent) => {
            if (event.key !== "Enter" && event.key !== " ") return;
            event.preventDefault();
            onChoose(id);
          },
          "aria-pressed": chosen === id,
        }
      : {};

  const drawing = (frame: Frame) => (
    <svg
      ref={svg}
      className="plan"
      viewBox={`${frame.x} ${frame.y} ${frame.width} ${frame.height}`}
      role={onChoose ? "group" : "img"}
      aria-label={text.house.planOf(storey.name)}
    >
      <g className="ghost" aria-hidden="true">
        {only ? null : below.map((room) => <path key={room.id} d={outlinePath(room.outline)} />)}
      </g>
      {rooms
        .filter((room) => room.id !== shaping)
        .map((room) => (
          <g
            key={room.id}
            className={`room${chosen === room.id ? " chosen" : ""}${only && !only.rooms.has(room.id) ? " aside" : ""}`}
            aria-label={onChoose ? room.name : undefined}
            {...select(room.id)}
          >
            <path d={outlinePath(room.outline)} />
            {room.kind === "shaft" || room.kind === "void" ? <Hollow room={room} /> : null}
          </g>
        ))}
      {through.map((room) => (
        <g key={room.id} className="room through" aria-hidden="true">
          <path d={outlinePath(room.outline)} />
          <Hollow room={room} />
        </g>
      ))}
      <Ceilings rooms={rooms} chosen={shaping ?? chosen} />
      {shownPatches.map(({ material, known, rings }) => (
        <g
          key={material.id}
          className={`piece${chosen === material.id ? " chosen" : ""}`}
          aria-label={onChoose ? `${material.name}: ${standingWords(known)}` : undefined}
          {...select(material.id)}
        >
          {rings.map((ring, i) => (
            <g key={i}>
              {known?.standing ? <path className="under" d={outlinePath(ring)} /> : null}
              <path className={`patch ${hatchClass(known)}`} d={outlinePath(ring)} />
            </g>
          ))}
        </g>
      ))}
      <Openings
        whole={whole}
        rooms={rooms}
        looking={looking}
        chosen={chosen}
        onChoose={shaping ? undefined : onChoose}
        moving={moving}
      />
      <g className="names" aria-hidden="true">
        {(only ? framed : rooms).map((room) => {
          const { at, clear } = labelPoint(room.outline);
          const width = boxOf([room.outline]).x1 - boxOf([room.outline]).x0;
          const size = Math.min(written.cm, clear * CM * written.share);
          const letters = Math.max(6, Math.floor((Math.min(width, clear * 3.2) * CM) / (size * 0.52)));
          const parts = lines(room.name, letters);
          return (
            <text key={room.id} x={at[0] * CM} y={-at[1] * CM - ((parts.length - 1) * size * 1.1) / 2} fontSize={size}>
              {parts.map((part, i) => (
                <tspan key={i} x={at[0] * CM} dy={i === 0 ? size * 0.35 : size * 1.1}>
                  {part}
                </tspan>
              ))}
            </text>
          );
        })}
      </g>
      <Cuts whole={whole} cuts={cuts} rooms={rooms} />
      {route ? <RouteDrawn whole={whole} storey={storey} path={route} /> : null}
      {only ? <Callouts patches={shownPatches} numbers={only.materials} /> : null}
      {children}
    </svg>
  );
  return onChoose ? (
    <ViewFrame whole={whole_frame} svg={svg}>
      {drawing}
    </ViewFrame>
  ) : (
    drawing(whole_frame)
  );
}

/** Nothing to stand on: crossed from corner to corner, as voids and shafts are drawn. */
function Hollow({ room }: { room: Room }) {
  const { x0, y0, x1, y1 } = boxOf([room.outline]);
  return (
    <path
      className="hollow"
      d={`M${x0 * CM} ${-y0 * CM}L${x1 * CM} ${-y1 * CM}M${x0 * CM} ${-y1 * CM}L${x1 * CM} ${-y0 * CM}`}
    />
  );
}

function Cuts({ whole, cuts, rooms }: { whole: WholeBook; cuts: Cut[]; rooms: Room[] }) {
  return (
    <g className="cuts" aria-hidden="true">
      {cuts.map((cut, i) => {
        const room = rooms.find((one) => one.id === cut.room);
        if (!room) return null;
        const whole_face = !cut.shape && !cut.face.startsWith("wall-");
        if (cut.shape?.point) {
          // On a wall the hole is seen from above, in the middle of what it takes of the wall's length.
          const wall = footprint(cut, room, whole.walls[room.id]?.[cut.face])[0];
          const box = wall && boxOf([wall]);
          const [x, y] =
            cut.face.startsWith("wall-") && box ? [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2] : cut.shape.point;
          return <path key={i} d={`M${x * CM - 16} ${-y * CM - 16}l32 32m0 -32l-32 32`} />;
        }
        return footprint(cut, room, whole.walls[room.id]?.[cut.face]).map((ring, j) => (
          <path key={`${i}-${j}`} className="area" d={outlinePath(whole_face ? inset(ring, 0.04) : ring)} />
        ));
      })}
    </g>
  );
}

function Callouts({ patches, numbers }: { patches: Patch[]; numbers: Map<string, number> }) {
  // Sheets of one room share its best spot: their numbers stand side by side.
  const taken: Point[] = [];
  return (
    <g className="callouts" aria-hidden="true">
      {patches.map(({ material, rings }) => {
        const ring = rings[0];
        if (!ring) return null;
        const box = boxOf([ring]);
        const { at } = labelPoint(ring);
        // Beside the name rather than on it.
        let x = at[0] * CM;
        const y = -Math.min(at[1] + 0.75, Math.max(at[1], box.y1 - 0.3)) * CM;
        while (taken.some(([tx, ty]) => Math.hypot(tx - x, ty - y) < 44)) x += 46;
        taken.push([x, y]);
        return (
          <g key={material.id}>
            <circle cx={x} cy={y} r="19" />
            <text x={x} y={y + 8} fontSize="24">
              {numbers.get(material.id)}
            </text>
          </g>
        );
      })}
    </g>
  );
}
