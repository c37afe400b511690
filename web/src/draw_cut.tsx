// Where does it cut? Drawn on the face itself, with the verdict following at every change; nothing is written down before
// it is saved. Every place can be typed instead.
import { useEffect, useId, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Cut, Fault, FullJobAnswer, Job, Point, Room, Shape, WholeBook } from "./api";
import { useBook, useWords } from "./book";
import { sentence } from "./format";
import { boxOf, roomHeight } from "./geometry";
import type { Ring } from "./geometry";
import { onlyLatest } from "./latest";
import { FaultList, faultsOf, Panel } from "./parts";
import { hatchClass } from "./plan";
import { text } from "./text";
import "./draw_cut.css";

const t = text.draw;
type Tool = "hole" | "line" | "area";
const TOOLS: Tool[] = ["hole", "line", "area"];
const STEP_M = 0.05;

const snap = (value: number) => Math.round(value / STEP_M) * STEP_M;
const tidy = ([x, y]: Point): Point => [Number(snap(x).toFixed(2)), Number(snap(y).toFixed(2))];

/** The outline of a face in its own metres: a ceiling or floor as on the plan, a wall along its foot and up. */
export function faceRing(room: Room, face: string, whole: Pick<WholeBook, "walls" | "book">): Ring {
  const wall = whole.walls[room.id]?.[face];
  if (!wall) return room.outline;
  const height = roomHeight(
    room,
    whole.book.storeys?.find((storey) => storey.id === room.storey),
  );
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

export function DrawCut({ job, onClose }: { job: Job; onClose: () => void }) {
  const whole = useBook();
  const words = useWords();
  const id = useId();
  const [task, setTask] = useState("drill");
  const [room, setRoom] = useState(job.cuts?.[0]?.room ?? whole.book.rooms?.[0]?.id ?? "");
  const [face, setFace] = useState("ceiling");
  const [depth, setDepth] = useState<NonNullable<Cut["depth"]>>("layer");
  const [count, setCount] = useState("1");
  const [minutes, setMinutes] = useState("20");
  const [tool, setTool] = useState<Tool>("hole");
  const [points, setPoints] = useState<Point[]>([]);
  const [faults, setFaults] = useState<Fault[]>([]);
  const [answer, setAnswer] = useState<FullJobAnswer | null>(null);
  const [judged, setJudged] = useState("");
  const place = whole.book.rooms?.find((one) => one.id === room);
  const shape = shapeOf(tool, points);
  const number = (value: string) => Number(value.replace(",", "."));
  const cut: Cut = {
    task,
    room,
    face,
    depth,
    minutes: number(minutes),
    ...(Number(count) > 1 ? { count: Number(count) } : {}),
    ...(shape ? { shape } : {}),
  };
  const asked = JSON.stringify(cut);
  const [judging] = useState(onlyLatest);
  useEffect(() => {
    let wanted = true;
    judging.want(async () => {
      try {
        const tried = await api.tryJob({ ...job, cuts: [...(job.cuts ?? []), JSON.parse(asked) as Cut] });
        if (!wanted) return;
        setAnswer(tried);
        setJudged(asked);
        setFaults([]);
      } catch (error) {
        if (!wanted) return;
        setAnswer(null);
        setJudged(asked);
        setFaults(faultsOf(error));
      }
    });
    return () => {
      wanted = false;
    };
  }, [asked, job, judging]);

  const save = async () => {
    try {
      await whole.edit("add", { what: `${job.id}/cuts`, fields: cut });
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const tap = (point: Point) =>
    setPoints((now) => (tool === "hole" || now.length >= 2 ? [tidy(point)] : [...now, tidy(point)]));
  const pick = <T extends string>(
    name: string,
    label: string,
    value: T,
    choose: (value: T) => void,
    options: { id: T; name: string }[],
  ) => (
    <div className="field">
      <label htmlFor={`${id}-${name}`}>{label}</label>
      <select id={`${id}-${name}`} value={value} onChange={(event) => choose(event.target.value as T)}>
        {options.map((one) => (
          <option key={one.id} value={one.id}>
            {one.name}
          </option>
        ))}
      </select>
    </div>
  );
  const typed = (name: string, label: string, value: string, change: (value: string) => void) => (
    <div className="field">
      <label htmlFor={`${id}-${name}`}>{label}</label>
      <input
        id={`${id}-${name}`}
        type="text"
        inputMode="decimal"
        value={value}
        onChange={(event) => change(event.target.value)}
      />
    </div>
  );
  const fields = text.jobs.cutFields;
  return (
    <Panel title={text.jobs.cutTitle(job.title)} onClose={onClose} broad>
      <form
        noValidate
        onSubmit={(event) => {
          event.preventDefault();
          void save();
        }}
      >
        <FaultList faults={faults} title={text.form.faults} />
        <div className="draw">
          <div>
            {pick(
              "task",
              fields.task!,
              task,
              setTask,
              (words?.tasks ?? []).map((one) => ({ id: one.id, name: sentence(one.name) })),
            )}
            {pick(
              "room",
              fields.room!,
              room,
              (value) => {
                setRoom(value);
                setPoints([]);
                setFace("ceiling");
              },
              whole.book.rooms ?? [],
            )}
            {pick(
              "face",
              fields.face!,
              face,
              (value) => {
                setFace(value);
                setPoints([]);
              },
              ["ceiling", "floor", ...Object.keys(whole.walls[room] ?? {})].map((one) => ({
                id: one,
                name: sentence(text.faces(one)),
              })),
            )}
            {pick(
              "depth",
              fields.depth!,
              depth,
              setDepth,
              (["surface", "layer", "through"] as const).map((one) => ({ id: one, name: t.depth[one] ?? one })),
            )}
            <div className="pair">
              {typed("count", fields.count!, count, setCount)}
              {typed("minutes", fields.minutes!, minutes, setMinutes)}
            </div>
          </div>
          <div>
            <div className="tools-row" role="group" aria-label={t.tools}>
              {TOOLS.map((one) => (
                <Button
                  key={one}
                  className="button"
                  aria-pressed={tool === one}
                  onPress={() => {
                    setTool(one);
                    setPoints([]);
                  }}
                >
                  {t.tool[one]}
                </Button>
              ))}
            </div>
            {place ? <Face room={place} face={face} points={points} shape={shape} onTap={tap} /> : null}
            <p className="quiet">{points.length === 0 ? t.wholeFace : t.hint[tool]}</p>
            <div className="pair">
              {[0, 1].slice(0, tool === "hole" ? 1 : 2).map((i) =>
                (["x", "y"] as const).map((axis) =>
                  typed(
                    `${axis}${i}`,
                    t.at(axis, i, tool),
                    points[i] ? String(points[i][axis === "x" ? 0 : 1]) : "",
                    (value) => {
                      const meant = number(value);
                      if (Number.isNaN(meant) || value.trim() === "") return;
                      setPoints((now) => {
                        const next = [...now];
                        const before: Point = next[i] ?? next[0] ?? [0, 0];
                        next[i] = axis === "x" ? [meant, before[1]] : [before[0], meant];
                        return i === 1 && next.length < 2 ? [before, next[1]!] : next;
                      });
                    },
                  ),
                ),
              )}
            </div>
          </div>
        </div>
        <div className="verdict live" role="status" aria-busy={judged !== asked}>
          {answer ? (
            <>
              <h3>{sentence(answer.verdict)}</h3>
              <p>{answer.sentence}</p>
              {answer.touches.length > 0 ? (
                <ul className="plain moves">
                  {answer.touches.map((touch) => (
                    <li key={touch.material}>
                      {touch.name}{" "}
                      <small>
                        {[
                          whole.roomOf(touch.room)?.name,
                          text.jobs.side[touch.side],
                          text.jobs.certainty[touch.certainty],
                        ]
                          .filter(Boolean)
                          .join(" · ")}
                      </small>
                    </li>
                  ))}
                </ul>
              ) : null}
            </>
          ) : (
            <p className="quiet">{t.judging}</p>
          )}
        </div>
        <div className="actions">
          <Button className="button" onPress={onClose}>
            {text.cancel}
          </Button>
          <Button className="button strong" type="submit">
            {t.save}
          </Button>
        </div>
      </form>
    </Panel>
  );
}

/** One face with what is on it, to tap on. */
export function Face({
  room,
  face,
  points,
  shape,
  onTap,
}: {
  room: Room;
  face: string;
  points: Point[];
  shape: Shape | undefined;
  onTap: (point: Point) => void;
}) {
  const whole = useBook();
  const ring = faceRing(room, face, whole);
  const box = boxOf([ring]);
  const margin = 0.25;
  const [width, height] = [box.x1 - box.x0 + 2 * margin, box.y1 - box.y0 + 2 * margin];
  const px = (x: number) => 100 * (x - box.x0 + margin);
  const py = (y: number) => 100 * (box.y1 - y + margin);
  const path = (corners: Ring, closed = true) =>
    corners.map(([x, y], i) => `${i === 0 ? "M" : "L"}${px(x)} ${py(y)}`).join("") + (closed ? "Z" : "");
  const here = (whole.book.materials ?? []).filter(
    (material) => material.room === room.id && material.face === face && !material.removed_on,
  );
  return (
    <svg
      className="face-drawing"
      viewBox={`0 0 ${100 * width} ${100 * height}`}
      role="img"
      aria-label={t.faceOf(text.faces(face), room.name)}
      onClick={(event) => {
        const frame = event.currentTarget.getBoundingClientRect();
        const scale = Math.min(frame.width / (100 * width), frame.height / (100 * height));
        const x =
          (event.clientX - frame.left - (frame.width - 100 * width * scale) / 2) / scale / 100 + box.x0 - margin;
        const y =
          box.y1 + margin - (event.clientY - frame.top - (frame.height - 100 * height * scale) / 2) / scale / 100;
        onTap([x, y]);
      }}
    >
      <path className="face-edge" d={path(ring)} />
      {here.map((material) => {
        const outline = materialRing(material.shape, ring);
        return (
          <path key={material.id} className={`patch ${hatchClass(whole.materials[material.id])}`} d={path(outline)}>
            <title>{material.name}</title>
          </path>
        );
      })}
      {shape?.line ? <path className="cut-line" d={path(shape.line, false)} /> : null}
      {shape?.outline ? <path className="cut-area" d={path(shape.outline)} /> : null}
      {points.map(([x, y], i) => (
        <circle key={i} className="cut-point" cx={px(x)} cy={py(y)} r={7} />
      ))}
    </svg>
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
