// One face with what is on it, to tap, draw and drag on: a ceiling or floor as on the plan, a wall as an elevation.
import { useRef } from "react";
import type { ReactNode } from "react";
import type { Point, Room, Shape, WholeBook } from "./api";
import { useBook } from "./book";
import { ceilingLine } from "./ceilings";
import { area, boxOf, roomHeight } from "./geometry";
import type { Ring } from "./geometry";
import { GRIP_PX, under, useUnitsAPixel } from "./grips";
import { pointOn } from "./openings";
import { hatchClass } from "./plan";
import { text } from "./text";
import { tellLength } from "./units";
import type { Units } from "./units";
import "./face.css";

const t = text.draw;
const CM = 100;
const MARGIN_M = 0.25;
/** A finger that moves less than this has tapped. */
const TAP_PX = 6;

export type Tool = "hole" | "line" | "area" | "outline";

/** The outline of a face in its own metres: a ceiling or floor as on the plan, a wall along its foot and up. */
export function faceRing(room: Room, face: string, whole: Pick<WholeBook, "walls" | "book">): Ring {
  const wall = whole.walls[room.id]?.[face];
  if (!wall) return room.outline;
  const flat = roomHeight(
    room,
    whole.book.storeys?.find((storey) => storey.id === room.storey),
  );
  const height = Math.max(flat, ...(room.heights ?? []).map((zone) => zone.high_m));
  return [
    [0, 0],
    [wall.length_m, 0],
    [wall.length_m, height],
    [0, height],
  ];
}

/** The shape that these points make with this tool; undefined while one is wanting. */
export function shapeOf(tool: Tool, points: Point[]): Shape | undefined {
  const [first, second] = points;
  if (!first) return undefined;
  if (tool === "hole") return { point: first };
  if (tool === "outline") return points.length > 2 && area(points) > 0 ? { outline: points } : undefined;
  if (!second || (first[0] === second[0] && first[1] === second[1])) return undefined;
  if (tool === "line") return { line: [first, second] };
  const [x0, x1] = [Math.min(first[0], second[0]), Math.max(first[0], second[0])];
  const [y0, y1] = [Math.min(first[1], second[1]), Math.max(first[1], second[1])];
  if (x0 === x1 || y0 === y1) return undefined;
  return {
    outline: [
      [x0, y0],
      [x1, y0],
      [x1, y1],
      [x0, y1],
    ],
  };
}

/** How large a shape is, in words: "1.20 m × 0.85 m, 1.02 m²". */
export function sizeOf(shape: Shape | undefined, units: Units): string {
  const tell = (metres: number) => tellLength(metres, units);
  if (shape?.line) {
    const [a, b] = [shape.line[0]!, shape.line.at(-1)!];
    return tell(Math.hypot(b[0] - a[0], b[1] - a[1]));
  }
  if (!shape?.outline) return "";
  const { x0, y0, x1, y1 } = boxOf([shape.outline]);
  return text.face.size(tell(x1 - x0), tell(y1 - y0), area(shape.outline).toFixed(2));
}

/** From metres on the face to units of its drawing. */
export interface Drawn {
  x: (metres: number) => number;
  y: (metres: number) => number;
  path: (ring: Ring, closed?: boolean) => string;
  /** Units a pixel of the screen is wide. */
  pixel: number;
}

interface Props {
  room: Room;
  face: string;
  points?: Point[];
  shape?: Shape | undefined;
  onTap?: (point: Point) => void;
  /** Pressed at one point and dragged to another; `done` when let go. */
  onDraw?: (from: Point, to: Point, done: boolean) => void;
  onMove?: (i: number, to: Point) => void;
  /** Openings that are drawn by whoever asked for the face. */
  without?: string | undefined;
  /** Grips and the like, drawn over it; then its parts can be reached by the keyboard. */
  children?: (drawn: Drawn) => ReactNode;
}

export function Face({ room, face, points = [], shape, onTap, onDraw, onMove, without, children }: Props) {
  const whole = useBook();
  const svg = useRef<SVGSVGElement>(null);
  const press = useRef<{ at: Point; x: number; y: number; moved: boolean; point?: number } | null>(null);
  const pixel = useUnitsAPixel(svg);
  const ring = faceRing(room, face, whole);
  const box = boxOf([ring]);
  const [width, height] = [box.x1 - box.x0 + 2 * MARGIN_M, box.y1 - box.y0 + 2 * MARGIN_M];
  const x = (metres: number) => CM * (metres - box.x0 + MARGIN_M);
  const y = (metres: number) => CM * (box.y1 - metres + MARGIN_M);
  const path = (corners: Ring, closed = true) =>
    corners.map((at, i) => `${i === 0 ? "M" : "L"}${x(at[0])} ${y(at[1])}`).join("") + (closed ? "Z" : "");
  const metres = (event: React.PointerEvent): Point => {
    const at = under(event);
    return [at[0] / CM + box.x0 - MARGIN_M, box.y1 + MARGIN_M - at[1] / CM];
  };
  const wall = whole.walls[room.id]?.[face];
  const here = (whole.book.materials ?? []).filter(
    (material) => material.room === room.id && material.face === face && !material.removed_on,
  );
  const openings = Object.entries(whole.openings).flatMap(([id, on]) =>
    id === without ? [] : on.filter((one) => one.room === room.id && one.face === face).map((one) => ({ id, ...one })),
  );
  const kindOf = (id: string) => whole.book.openings?.find((one) => one.id === id)?.kind ?? "";
  const slope = wall ? ceilingLine(room, whole.book.storeys ?? [], (u) => pointOn(wall, u, 0.02), wall.length_m) : null;
  return (
    <svg
      ref={svg}
      className={onDraw ? "face-drawing drawable" : "face-drawing"}
      viewBox={`0 0 ${CM * width} ${CM * height}`}
      role={children ? "group" : "img"}
      aria-label={t.faceOf(text.faces(face), room.name)}
      onPointerDown={(event) => {
        if (!onTap && !onDraw) return;
        event.currentTarget.setPointerCapture(event.pointerId);
        const handle = (event.target as Element).getAttribute("data-point");
        press.current = {
          at: metres(event),
          x: event.clientX,
          y: event.clientY,
          moved: false,
          ...(handle !== null && onMove ? { point: Number(handle) } : {}),
        };
      }}
      onPointerMove={(event) => {
        const now = press.current;
        if (!now) return;
        now.moved ||= Math.hypot(event.clientX - now.x, event.clientY - now.y) > TAP_PX;
        if (!now.moved) return;
        if (now.point !== undefined) onMove?.(now.point, metres(event));
        else onDraw?.(now.at, metres(event), false);
      }}
      onPointerUp={(event) => {
        const was = press.current;
        press.current = null;
        if (!was) return;
        if (!was.moved) onTap?.(was.at);
        else if (was.point === undefined) onDraw?.(was.at, metres(event), true);
      }}
      onPointerCancel={() => {
        press.current = null;
      }}
    >
      <path className="face-edge" d={path(ring)} />
      {slope ? <path className="slope-line" d={path(slope, false)} /> : null}
      {here.map((material) => (
        <path
          key={material.id}
          className={`patch ${hatchClass(whole.materials[material.id])}`}
          d={path(materialRing(material.shape, ring))}
        >
          <title>{material.name}</title>
        </path>
      ))}
      {openings.map((one) => (
        <OpeningSeen
          key={one.id}
          kind={kindOf(one.id)}
          ring={one.outline}
          drawn={{ x, y, path, pixel }}
          title={one.id}
        />
      ))}
      {shape?.line ? <path className="cut-line" d={path(shape.line, false)} /> : null}
      {shape?.outline ? <path className="cut-area" d={path(shape.outline)} /> : null}
      {!shape && points.length > 1 ? <path className="cut-line thin" d={path(points, false)} /> : null}
      {points.map((at, i) => (
        <g key={i}>
          <circle className="cut-point" cx={x(at[0])} cy={y(at[1])} r={7 * pixel} strokeWidth={2.5 * pixel} />
          {onMove ? <circle data-point={i} className="touch" cx={x(at[0])} cy={y(at[1])} r={GRIP_PX * pixel} /> : null}
        </g>
      ))}
      {children?.({ x, y, path, pixel })}
    </svg>
  );
}

/** An opening as the trade draws it on an elevation: frame and panes, a door's leaf with its handing diagonal. */
export function OpeningSeen({
  kind,
  ring,
  drawn,
  title,
  chosen,
}: {
  kind: string;
  ring: Ring;
  drawn: Drawn;
  title?: string;
  chosen?: boolean;
}) {
  const { x0, y0, x1, y1 } = boxOf([ring]);
  const inner = Math.min(0.05, (x1 - x0) / 5, (y1 - y0) / 5);
  const pane: Ring = [
    [x0 + inner, y0 + (kind === "door" ? 0 : inner)],
    [x1 - inner, y0 + (kind === "door" ? 0 : inner)],
    [x1 - inner, y1 - inner],
    [x0 + inner, y1 - inner],
  ];
  const middle = (x0 + x1) / 2;
  return (
    <g className={`opening-seen ${kind}${chosen ? " chosen" : ""}`}>
      {title ? <title>{title}</title> : null}
      <path className="frame-line" d={drawn.path(ring)} />
      <path d={drawn.path(pane)} />
      {kind === "window" && x1 - x0 > 0.9 ? (
        <path
          d={drawn.path(
            [
              [middle, y0 + inner],
              [middle, y1 - inner],
            ],
            false,
          )}
        />
      ) : null}
      {kind === "hatch" || kind === "stair" || kind === "vent" ? (
        <path d={drawn.path([ring[0]!, ring[2]!], false) + drawn.path([ring[1]!, ring[3]!], false)} />
      ) : null}
    </g>
  );
}

/** What a material covers of its face, near enough to aim by; the program itself decides what is met. */
function materialRing(shape: Shape | undefined, face: Ring): Ring {
  if (shape?.outline) return shape.outline;
  const box = boxOf([face]);
  if (shape?.left_m !== undefined && shape.right_m !== undefined) {
    const [low, high] = [shape.low_m ?? box.y0, shape.high_m ?? box.y1];
    return [
      [shape.left_m, low],
      [shape.right_m, low],
      [shape.right_m, high],
      [shape.left_m, high],
    ];
  }
  if (shape?.line) {
    const around = boxOf([shape.line]);
    const half = (shape.width_m ?? 0.1) / 2;
    return [
      [around.x0 - half, around.y0 - half],
      [around.x1 + half, around.y0 - half],
      [around.x1 + half, around.y1 + half],
      [around.x0 - half, around.y1 + half],
    ];
  }
  if (shape?.point) {
    const [x, y] = shape.point;
    return [
      [x - 0.1, y - 0.1],
      [x + 0.1, y - 0.1],
      [x + 0.1, y + 0.1],
      [x - 0.1, y + 0.1],
    ];
  }
  return face;
}
