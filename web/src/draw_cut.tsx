// Where does it cut? Drawn on the face itself, with the verdict following at every change; nothing is written down before
// it is saved. Every place can be typed instead.
import { useEffect, useId, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Cut, Fault, FullJobAnswer, Job, Point } from "./api";
import { useBook, useWords } from "./book";
import { sideOf } from "./geometry";
import { Face, shapeOf, sizeOf } from "./face";
import { sentence, told } from "./format";
import { onlyLatest } from "./latest";
import { faultsOf, named, Panel, PanelForm, Pick, verdictWords } from "./parts";
import { text } from "./text";
import { useUnits } from "./units";
import "./draw_cut.css";

const t = text.draw;
const TOOLS = ["hole", "line", "area"] as const;
type Tool = (typeof TOOLS)[number];
const STEP_M = 0.05;

const snap = (value: number) => Math.round(value / STEP_M) * STEP_M;
const tidy = ([x, y]: Point): Point => [Number(snap(x).toFixed(2)), Number(snap(y).toFixed(2))];

export function DrawCut({ job, onClose }: { job: Job; onClose: () => void }) {
  const whole = useBook();
  const words = useWords();
  const units = useUnits();
  const id = useId();
  const [task, setTask] = useState("drill");
  const [room, setRoom] = useState(job.cuts?.[0]?.room ?? "");
  const [face, setFace] = useState("ceiling");
  const [depth, setDepth] = useState<NonNullable<Cut["depth"]>>("layer");
  const [count, setCount] = useState("1");
  const [minutes, setMinutes] = useState("20");
  const [tool, setTool] = useState<Tool>("hole");
  const [points, setPoints] = useState<Point[]>([]);
  const [faults, setFaults] = useState<Fault[]>([]);
  const [answer, setAnswer] = useState<FullJobAnswer | null>(null);
  const [judged, setJudged] = useState("");
  /** Sent without a room. */
  const [wanting, setWanting] = useState<unknown[]>([]);
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
  // Without a room there is nothing to judge: a verdict on a room that nobody chose could be taken for the job's.
  const asked = place ? JSON.stringify(cut) : "";
  const [judging] = useState(onlyLatest);
  useEffect(() => {
    let wanted = true;
    if (asked === "") return;
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
    if (!place) {
      setWanting([{}]);
      return;
    }
    try {
      await whole.edit("add", { what: `${job.id}/cuts`, fields: cut });
      onClose();
    } catch (error) {
      setFaults(faultsOf(error));
    }
  };
  const tap = (point: Point) =>
    setPoints((now) => (tool === "hole" || now.length >= 2 ? [tidy(point)] : [...now, tidy(point)]));
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
      <PanelForm
        faults={faults}
        beside={place ? [] : wanting}
        send={() => void save()}
        words={t.save}
        onClose={onClose}
      >
        <div className="draw">
          <div>
            <Pick
              label={fields.task!}
              value={task}
              options={(words?.tasks ?? []).map((one) => [one.id, sentence(one.name)] as const)}
              onChange={setTask}
            />
            <Pick
              label={fields.room!}
              value={room}
              options={named(whole.book.rooms ?? [])}
              {...(place ? {} : { first: text.form.choose })}
              fault={place || wanting.length === 0 ? undefined : text.form.chooseOne}
              required
              onChange={(value) => {
                setRoom(value);
                setPoints([]);
                setFace("ceiling");
              }}
            />
            <Pick
              label={fields.face!}
              value={face}
              options={["ceiling", "floor", ...Object.keys(whole.walls[room] ?? {})].map((one) => {
                const wall = whole.walls[room]?.[one];
                return [one, text.faceChoice(one, wall && sideOf(wall))] as const;
              })}
              onChange={(value) => {
                setFace(value);
                setPoints([]);
              }}
            />
            <Pick
              label={fields.depth!}
              value={depth}
              options={(["surface", "layer", "through"] as const).map((one) => [one, t.depth[one] ?? one] as const)}
              onChange={setDepth}
            />
            <div className="pair">
              {typed("count", fields.count!, count, setCount)}
              {typed("minutes", fields.minutes!, minutes, setMinutes)}
            </div>
          </div>
          {place ? (
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
              <Face
                room={place}
                face={face}
                points={points}
                shape={shape}
                onTap={tap}
                onDraw={(from, to) => setPoints(tool === "hole" ? [tidy(to)] : [tidy(from), tidy(to)])}
              />
              <p className="drawn-size">{sizeOf(shape, units)}</p>
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
          ) : null}
        </div>
        <div className="verdict live" role="status" aria-busy={judged !== asked}>
          {answer ? (
            <>
              <h3>{verdictWords(answer)}</h3>
              <p>{told(answer.sentence)}</p>
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
            <p className="quiet">{place ? t.judging : t.chooseRoom}</p>
          )}
        </div>
      </PanelForm>
    </Panel>
  );
}
