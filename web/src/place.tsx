// Where a material lies on its face: drawn on the ceiling, the floor or the wall's elevation, or typed.
import { useRef, useState } from "react";
import { Button } from "react-aria-components";
import type { Fault, Material, Point, Shape } from "./api";
import { useBook } from "./book";
import { Face, faceRing, shapeOf, sizeOf } from "./face";
import { boxOf } from "./geometry";
import type { Box } from "./geometry";
import { LengthField, UnitsSwitch } from "./lengthfield";
import { onGrid } from "./outlines";
import { FaultList, faultsOf, Panel } from "./parts";
import { text } from "./text";
import { useUnits } from "./units";

const words = text.place;
type Tool = "whole" | "area" | "outline" | "line" | "hole";
const TOOLS: Tool[] = ["whole", "area", "outline", "line", "hole"];
const USUAL_RUN_M = 0.1;
/** What is drawn this near the edge of the face is meant to reach it. */
const AT_EDGE_M = 0.07;

/** Where something drawn comes to rest: on the edge of the face when near it, else on the 5 cm grid. */
function resting([x, y]: Point, box: Box): Point {
  const rest = (at: number, least: number, most: number): number =>
    at - least < AT_EDGE_M ? least : most - at < AT_EDGE_M ? most : onGrid(at);
  return [rest(x, box.x0, box.x1), rest(y, box.y0, box.y1)];
}

/** The tool and points a shape was drawn with, for going on from it. */
function pointsOf(shape: Shape | undefined): { tool: Tool; points: Point[] } {
  if (shape?.point) return { tool: "hole", points: [shape.point] };
  if (shape?.line) return { tool: "line", points: [shape.line[0]!, shape.line.at(-1)!] };
  if (shape?.outline) {
    const box = boxOf([shape.outline]);
    const upright = shape.outline.every(([x, y]) => (x === box.x0 || x === box.x1) && (y === box.y0 || y === box.y1));
    if (!upright || shape.outline.length !== 4) return { tool: "outline", points: shape.outline };
    return {
      tool: "area",
      points: [
        [box.x0, box.y0],
        [box.x1, box.y1],
      ],
    };
  }
  if (shape?.left_m !== undefined && shape.right_m !== undefined)
    return {
      tool: "area",
      points: [
        [shape.left_m, shape.low_m ?? 0],
        [shape.right_m, shape.high_m ?? 0],
      ],
    };
  return { tool: "whole", points: [] };
}

export function PlaceDialog({ material, onClose }: { material: Material; onClose: () => void }) {
  const whole = useBook();
  const units = useUnits();
  const room = whole.roomOf(material.room)!;
  const begun = pointsOf(material.shape);
  const [tool, setTool] = useState<Tool>(begun.tool);
  const [points, setPoints] = useState<Point[]>(begun.points);
  const [width, setWidth] = useState(material.shape?.width_m ?? USUAL_RUN_M);
  const [touched, setTouched] = useState(false);
  const [faults, setFaults] = useState<Fault[]>([]);
  const drawn = tool === "whole" ? undefined : shapeOf(tool, points);
  const box = boxOf([faceRing(room, material.face, whole)]);
  // What nobody has touched stays as it is, corners and all.
  const shape = !touched ? material.shape : drawn?.line ? { ...drawn, width_m: width } : drawn;
  const put = (i: number, at: Point) => {
    setTouched(true);
    setPoints((now) => {
      const next = [...now];
      next[i] = at;
      return next;
    });
  };
  const save = async () => {
    if (tool !== "whole" && !shape) {
      setFaults([{ where: "", value: "", problem: words.wanting, allowed: "" }]);
      return;
    }
    try {
      await whole.edit("set", { what: material.id, fields: { shape: shape ?? null } });
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const many = tool === "hole" ? 1 : tool === "outline" ? points.length : 2;
  const tap = (at: Point) => {
    if (tool === "whole") return;
    const rest = resting(at, box);
    setTouched(true);
    setPoints((now) => (tool !== "outline" && now.length >= many ? [rest] : [...now, rest]));
  };
  // Where a drag of any outline began: a rectangle to go on from, but only before there are corners.
  const fresh = useRef(false);
  const drag = (from: Point, to: Point, done: boolean) => {
    if (tool === "whole") return;
    const [a, b] = [resting(from, box), resting(to, box)];
    if (tool === "outline" && points.length > 0 && !fresh.current) return;
    fresh.current = !done;
    setTouched(true);
    if (tool === "hole") setPoints([b]);
    else if (tool === "outline") setPoints([a, [b[0], a[1]], b, [a[0], b[1]]]);
    else setPoints([a, b]);
  };
  return (
    <Panel title={words.heading(material.name)} onClose={onClose} broad>
      <div className="tools-row" role="group" aria-label={words.tools}>
        {TOOLS.map((one) => (
          <Button
            key={one}
            className="button"
            aria-pressed={tool === one}
            onPress={() => {
              if (one === tool) return;
              setTool(one);
              setPoints([]);
              setTouched(true);
            }}
          >
            {words.tool[one]}
          </Button>
        ))}
      </div>
      <Face
        room={room}
        face={material.face}
        points={points}
        shape={shape}
        onTap={tap}
        {...(tool === "whole" ? {} : { onDraw: drag })}
        onMove={(i, at) => put(i, resting(at, box))}
      />
      <p className="drawn-size">{sizeOf(shape, units)}</p>
      <p className="hint">{words.hint[tool]}</p>
      {tool === "whole" ? null : (
        <>
          <UnitsSwitch />
          <div className="sizes">
            {Array.from({ length: many }, (_, i) => {
              const at: Point = points[i] ?? points[0] ?? [box.x0, box.y0];
              return [
                <LengthField
                  key={`x${i}`}
                  label={words.across(i, many)}
                  metres={at[0]}
                  onChange={(x) => put(i, [x, at[1]])}
                />,
                <LengthField
                  key={`y${i}`}
                  label={words.up(i, many)}
                  metres={at[1]}
                  onChange={(y) => put(i, [at[0], y])}
                />,
              ];
            })}
            {tool === "outline" && points.length > 0 ? (
              <Button
                className="button"
                onPress={() => {
                  setTouched(true);
                  setPoints(points.slice(0, -1));
                }}
              >
                {words.takeOut}
              </Button>
            ) : null}
            {tool === "line" ? (
              <LengthField
                label={words.width}
                metres={width}
                least={0.005}
                onChange={(to) => {
                  setWidth(to);
                  setTouched(true);
                }}
              />
            ) : null}
          </div>
        </>
      )}
      <FaultList title={text.form.faults} faults={faults} />
      <div className="actions">
        <Button className="button" onPress={onClose}>
          {text.cancel}
        </Button>
        <Button className="button strong" onPress={() => void save()}>
          {text.save}
        </Button>
      </div>
    </Panel>
  );
}
