// The house cut open through one room: what is over it, under it and behind its walls.
import { useState } from "react";
import { ToggleButton, ToggleButtonGroup } from "react-aria-components";
import { api } from "./api";
import type { Point, Room } from "./api";
import { useAnswer, useBook } from "./book";
import { labelPoint, lines } from "./geometry";
import { hatchClass } from "./plan";
import { cutThrough } from "./section";
import { text } from "./text";
import { tellLength, useUnits } from "./units";
import "./section.css";

const words = text.section;
const CM = 100;
const SHEET_M = 0.16;

export function SectionStrip({ room }: { room: Room }) {
  const { book, materials } = useBook();
  const [axis, setAxis] = useState<0 | 1>(1);
  const middle = labelPoint(room.outline).at;
  const cut = cutThrough(book, axis, middle[axis]);
  const x0 = Math.min(...cut.map((one) => one.from));
  const x1 = Math.max(...cut.map((one) => one.to));
  const y0 = Math.min(...cut.map((one) => one.floor), 0);
  const y1 = Math.max(...cut.flatMap((one) => one.top.map((at) => at[1])));
  const path = (corners: Point[]) => `M${corners.map(([u, v]) => `${u * CM} ${-v * CM}`).join("L")}Z`;
  return (
    <figure className="section-strip">
      <div className="list-head bare">
        <h2>{words.title}</h2>
        <ToggleButtonGroup
          className="looks"
          aria-label={words.way}
          selectionMode="single"
          disallowEmptySelection
          selectedKeys={[String(axis)]}
          onSelectionChange={(keys) => setAxis([...keys][0] === "0" ? 0 : 1)}
        >
          <ToggleButton id="1">{words.across}</ToggleButton>
          <ToggleButton id="0">{words.along}</ToggleButton>
        </ToggleButtonGroup>
      </div>
      <svg
        className="plan strip"
        role="img"
        aria-label={words.drawn(room.name)}
        viewBox={`${(x0 - 0.4) * CM} ${-(y1 + 0.3) * CM} ${(x1 - x0 + 0.8) * CM} ${(y1 - y0 + 0.6) * CM}`}
      >
        <line className="ground" x1={(x0 - 0.4) * CM} x2={(x1 + 0.4) * CM} y1="0" y2="0" />
        {cut.map((one) => {
          const here = (book.materials ?? []).filter(
            (it) => it.room === one.room.id && !it.removed_on && (it.face === "ceiling" || it.face === "floor"),
          );
          const size = Math.min(28, (one.ceiling - one.floor) * CM * 0.3, ((one.to - one.from) * CM) / 5);
          const parts = lines(one.room.name, Math.max(6, Math.floor(((one.to - one.from) * CM) / (size * 0.56))));
          const count = { ceiling: 0, floor: 0 };
          return (
            <g key={`${one.room.id}-${one.from}`}>
              <path
                className={one.room.id === room.id ? "cut chosen" : "cut"}
                d={path([[one.to, one.floor], [one.from, one.floor], ...one.top])}
              />
              {here.map((it) => {
                const nth = count[it.face as "ceiling" | "floor"]++;
                // Under the ceiling as it slopes; on the floor one upon the other.
                const upper: Point[] =
                  it.face === "ceiling"
                    ? one.top
                    : [
                        [one.from, one.floor],
                        [one.to, one.floor],
                      ];
                const sheet = (k: number): Point[] =>
                  upper.map(([u, v]) => [
                    Math.min(Math.max(u, one.from + 0.05), one.to - 0.05),
                    it.face === "ceiling" ? Math.max(v - SHEET_M * k, one.floor) : v + SHEET_M * k,
                  ]);
                return (
                  <path
                    key={it.id}
                    className={`patch ${hatchClass(materials[it.id])}`}
                    d={path([...sheet(nth), ...sheet(nth + 1).reverse()])}
                  />
                );
              })}
              {size > 9 ? (
                <text
                  x={((one.from + one.to) / 2) * CM}
                  y={(-(one.floor + one.ceiling) / 2) * CM - ((parts.length - 1) * size) / 2 + size * 0.35}
                  fontSize={size}
                >
                  {parts.map((part, i) => (
                    <tspan key={i} x={((one.from + one.to) / 2) * CM} dy={i === 0 ? 0 : size * 1.08}>
                      {part}
                    </tspan>
                  ))}
                </text>
              ) : null}
            </g>
          );
        })}
      </svg>
      <Neighbours room={room} />
    </figure>
  );
}

/** Of less than this nobody needs to be told. */
const LEAST_M2 = 0.05;

/** What backs on to each of its faces, as the program works it out for every job. */
function Neighbours({ room }: { room: Room }) {
  const { roomOf } = useBook();
  const { answer } = useAnswer(api.backs, room.id);
  const units = useUnits();
  if (!answer) return <p className="quiet">{text.loading}</p>;
  const title = (face: string): string =>
    face === "ceiling" ? words.above : face === "floor" ? words.below : words.wall(text.faces(face));
  const nothing = (face: string): string =>
    face === "ceiling" ? words.sky : face === "floor" ? words.earth : words.nothing;
  const order = (face: string): number => (face === "ceiling" ? 0 : face === "floor" ? 1 : 2);
  return (
    <dl className="backs">
      {[...answer.faces]
        .sort((a, b) => order(a.face) - order(b.face))
        .map((one) => (
          <div key={one.face}>
            <dt>{title(one.face)}</dt>
            <dd>
              {one.backs.length === 0
                ? nothing(one.face)
                : [
                    ...one.backs.map((back) =>
                      words.behind(
                        roomOf(back.room)?.name ?? back.room,
                        back.thickness_m > 0 ? tellLength(back.thickness_m, units) : "",
                      ),
                    ),
                    ...(one.bare_m2 >= LEAST_M2 ? [words.bare(one.bare_m2.toFixed(1))] : []),
                  ].join(", ")}
            </dd>
          </div>
        ))}
    </dl>
  );
}
