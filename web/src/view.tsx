// A frame round a drawing that can be looked at closer: buttons, wheel with Ctrl, pinch, dragging, arrow keys.
import { useEffect, useRef, useState } from "react";
import type { ReactNode, RefObject } from "react";
import { Button } from "react-aria-components";
import { text } from "./text";
import "./view.css";

export interface Frame {
  x: number;
  y: number;
  width: number;
  height: number;
}

interface View {
  zoom: number;
  /** Middle of what is seen, as shares of the whole frame. */
  at: [number, number];
}
export const WHOLE: View = { zoom: 1, at: [0.5, 0.5] };
const MOST = 8;

/** A view kept within the whole. */
export function kept({ zoom, at }: View): View {
  const z = Math.min(MOST, Math.max(1, zoom));
  const half = 0.5 / z;
  const hold = (share: number) => Math.min(1 - half, Math.max(half, share));
  return { zoom: z, at: [hold(at[0]), hold(at[1])] };
}

/** Closer by a factor, with the share of the whole under `pin` staying where it is. */
export function closer(view: View, factor: number, pin: [number, number] = view.at): View {
  const zoom = Math.min(MOST, Math.max(1, view.zoom * factor));
  const by = view.zoom / zoom;
  return kept({ zoom, at: [pin[0] + (view.at[0] - pin[0]) * by, pin[1] + (view.at[1] - pin[1]) * by] });
}

export function seen(whole: Frame, { zoom, at }: View): Frame {
  const width = whole.width / zoom;
  const height = whole.height / zoom;
  return {
    x: whole.x + at[0] * whole.width - width / 2,
    y: whole.y + at[1] * whole.height - height / 2,
    width,
    height,
  };
}

const STEP = 1.5;

export function ViewFrame({
  whole,
  svg,
  children,
}: {
  whole: Frame;
  svg: RefObject<SVGSVGElement | null>;
  children: (frame: Frame) => ReactNode;
}) {
  const [view, setView] = useState<View>(WHOLE);
  const fingers = useRef(new Map<number, { x: number; y: number }>());
  const moved = useRef(false);
  const frame = seen(whole, view);

  /** Where on the whole something on the screen is, as shares. */
  const share = (x: number, y: number): [number, number] => {
    const matrix = svg.current?.getScreenCTM();
    if (!matrix) return [0.5, 0.5];
    const at = new DOMPoint(x, y).matrixTransform(matrix.inverse());
    return [(at.x - whole.x) / whole.width, (at.y - whole.y) / whole.height];
  };

  // A wheel that zooms must keep the page from doing so, which a passive listener cannot.
  useEffect(() => {
    const drawing = svg.current;
    const turned = (event: WheelEvent) => {
      if (!event.ctrlKey && !event.metaKey) return;
      event.preventDefault();
      const pin = share(event.clientX, event.clientY);
      setView((now) => closer(now, Math.exp(-event.deltaY / 300), pin));
    };
    drawing?.addEventListener("wheel", turned, { passive: false });
    return () => drawing?.removeEventListener("wheel", turned);
  });

  const move = (event: React.PointerEvent) => {
    const before = fingers.current.get(event.pointerId);
    if (!before) return;
    const all = [...fingers.current.values()];
    const now = { x: event.clientX, y: event.clientY };
    if (all.length === 2) {
      const other = all.find((one) => one !== before)!;
      const was = Math.hypot(before.x - other.x, before.y - other.y);
      const is = Math.hypot(now.x - other.x, now.y - other.y);
      const pin = share((now.x + other.x) / 2, (now.y + other.y) / 2);
      if (was > 0) setView((at) => closer(at, is / was, pin));
      moved.current = true;
    } else if (view.zoom > 1) {
      const from = share(before.x, before.y);
      const to = share(now.x, now.y);
      setView((at) => kept({ zoom: at.zoom, at: [at.at[0] + from[0] - to[0], at.at[1] + from[1] - to[1]] }));
      if (Math.hypot(now.x - before.x, now.y - before.y) > 3) moved.current = true;
    }
    fingers.current.set(event.pointerId, now);
  };
  const lift = (event: React.PointerEvent) => fingers.current.delete(event.pointerId);

  return (
    // eslint-disable-next-line jsx-a11y/no-static-element-interactions -- it moves what it holds; the buttons do so too
    <div
      className={`framed${view.zoom > 1 ? " near" : ""}`}
      onPointerDown={(event) => {
        if ((event.target as Element).closest("[data-handle], .nearer")) return;
        moved.current = false;
        fingers.current.set(event.pointerId, { x: event.clientX, y: event.clientY });
      }}
      onPointerMove={move}
      onPointerUp={lift}
      onPointerCancel={lift}
      onPointerLeave={lift}
      onClickCapture={(event) => {
        // The end of a drag chooses nothing.
        if (moved.current) event.stopPropagation();
        moved.current = false;
      }}
      onKeyDown={(event) => {
        const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
        if (!way || view.zoom === 1 || event.defaultPrevented) return;
        event.preventDefault();
        setView((now) =>
          kept({
            zoom: now.zoom,
            at: [now.at[0] + (way[0]! * 0.2) / now.zoom, now.at[1] + (way[1]! * 0.2) / now.zoom],
          }),
        );
      }}
    >
      {children(frame)}
      <div className="nearer" role="group" aria-label={text.view.label}>
        <Button
          className="button"
          aria-label={text.view.closer}
          isDisabled={view.zoom >= MOST}
          onPress={() => setView(closer(view, STEP))}
        >
          +
        </Button>
        <Button
          className="button"
          aria-label={text.view.further}
          isDisabled={view.zoom <= 1}
          onPress={() => setView(closer(view, 1 / STEP))}
        >
          –
        </Button>
        {view.zoom > 1 ? (
          <Button className="button" onPress={() => setView(WHOLE)}>
            {text.view.whole}
          </Button>
        ) : null}
      </div>
    </div>
  );
}
