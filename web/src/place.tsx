// Where a material lies on its face: drawn on the ceiling, the floor or the wall's elevation, or typed.
import { useState } from "react";
import { Button } from "react-aria-components";
import type { Fault, Material, Point, Shape } from "./api";
import { useBook } from "./book";
import { Face, faceRing, shapeOf } from "./draw_cut";
import { boxOf } from "./geometry";
import { LengthField, UnitsSwitch } from "./lengthfield";
import { onGrid } from "./outlines";
import { FaultList, faultsOf, Panel } from "./parts";
import { text } from "./text";

const words = text.place;
type Tool = "whole" | "area" | "line" | "hole";
const TOOLS: Tool[] = ["whole", "area", "line", "hole"];
const USUAL_RUN_M = 0.1;

/** The tool and points a shape was drawn with, for going on from it; an outline of more corners is kept by its box. */
export function pointsOf(shape: Shape | undefined): { tool: Tool; points: Point[] } {
  if (shape?.point) return { tool: "hole", points: [shape.point] };
  if (shape?.line) return { tool: "line", points: [shape.line[0]!, shape.line.at(-1)!] };
  if (shape?.outline) {
    const box = boxOf([shape.outline]);
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
  const many = tool === "hole" ? 1 : 2;
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
        onTap={([x, y]) => {
          if (tool === "whole") return;
          put(points.length >= many ? 0 : points.length, [onGrid(x), onGrid(y)]);
          if (points.length >= many) setPoints([[onGrid(x), onGrid(y)]]);
        }}
      />
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
