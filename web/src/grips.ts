// What is taken hold of in a drawing: dragged with a pointer, nudged with the arrow keys.
import { useEffect, useLayoutEffect, useRef, useState } from "react";
import type { RefObject } from "react";
import type { Point } from "./api";
import { GRID_M } from "./outlines";

export const ARROWS: Record<string, Point> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};
/** How long arrow keys may rest before what they did is written down as one change. */
export const REST_MS = 600;
export const GRIP_PX = 22;

/** Where the pointer is in the units of the drawing. */
export function under(event: React.PointerEvent | React.MouseEvent): Point {
  const here = event.currentTarget as SVGElement;
  const svg = here instanceof SVGSVGElement ? here : here.ownerSVGElement!;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM()!.inverse());
  return [at.x, at.y];
}

/** How many units of its drawing one pixel of the screen is. */
export function useUnitsAPixel(inside: RefObject<SVGElement | null>): number {
  const [units, setUnits] = useState(1);
  // eslint-disable-next-line react-hooks/exhaustive-deps -- read after every drawing, and soon stays
  useLayoutEffect(() => {
    const here = inside.current;
    const scale = (here instanceof SVGSVGElement ? here : here?.ownerSVGElement)?.getScreenCTM()?.a;
    if (scale && Math.abs(1 / scale - units) > units * 0.02) setUnits(1 / scale);
  });
  return units;
}

interface Held<T> {
  now: T;
  show: (next: T) => void;
  write: (next: T) => void;
  back: () => void;
}

/**
 * Handlers for the grips of one thing. `toMetres` turns units of the drawing into metres; a grip says what becomes of
 * the thing when it is moved by some metres from where it was taken hold of.
 */
export function useGrips<T>(held: Held<T>, toMetres: (units: Point) => Point) {
  const drag = useRef<{ from: Point; start: T; now: T } | null>(null);
  const rest = useRef<number | undefined>(undefined);
  useEffect(() => () => window.clearTimeout(rest.current), []);
  return (moved: (start: T, dx: number, dy: number) => T) => ({
    "data-handle": true,
    onPointerDown: (event: React.PointerEvent) => {
      event.stopPropagation();
      event.currentTarget.setPointerCapture(event.pointerId);
      drag.current = { from: toMetres(under(event)), start: held.now, now: held.now };
    },
    onPointerMove: (event: React.PointerEvent) => {
      const now = drag.current;
      if (!now) return;
      const at = toMetres(under(event));
      now.now = moved(now.start, at[0] - now.from[0], at[1] - now.from[1]);
      held.show(now.now);
    },
    onPointerUp: () => {
      const was = drag.current;
      drag.current = null;
      if (was && JSON.stringify(was.start) !== JSON.stringify(was.now)) held.write(was.now);
    },
    onPointerCancel: () => {
      drag.current = null;
      held.back();
    },
    onClick: (event: React.MouseEvent) => event.stopPropagation(),
    onKeyDown: (event: React.KeyboardEvent) => {
      if (event.key === "Escape") held.back();
      const way = ARROWS[event.key];
      if (!way) return;
      event.preventDefault();
      event.stopPropagation();
      const next = moved(held.now, way[0] * GRID_M, way[1] * GRID_M);
      if (JSON.stringify(next) === JSON.stringify(held.now)) return;
      held.show(next);
      window.clearTimeout(rest.current);
      rest.current = window.setTimeout(() => held.write(next), REST_MS);
    },
  });
}
