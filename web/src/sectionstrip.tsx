// The house cut open through one room: what is over it, under it and behind its walls.
import { useState } from "react";
import { ToggleButton, ToggleButtonGroup } from "react-aria-components";
import type { Room } from "./api";
import { useBook } from "./book";
import { labelPoint, lines } from "./geometry";
import { hatchClass } from "./plan";
import { cutThrough, neighbours } from "./section";
import { text } from "./text";
import "./section.css";

const words = text.section;
const CM = 100;
const SHEET_M = 0.16;

export function SectionStrip({ room }: { room: Room }) {
  const { book, materials, roomOf } = useBook();
  const [axis, setAxis] = useState<0 | 1>(1);
  const middle = labelPoint(room.outline).at;
  const cut = cutThrough(book, axis, middle[axis]);
  const { above, below, beside } = neighbours(book, room);
  const named = (ids: (string | null)[], otherwise: string) =>
    ids
      .map((id) => (id ? (roomOf(id)?.name ?? id) : otherwise))
      .sort()
      .join(", ");
  const x0 = Math.min(...cut.map((one) => one.from));
  const x1 = Math.max(...cut.map((one) => one.to));
  const y0 = Math.min(...cut.map((one) => one.floor), 0);
  const y1 = Math.max(...cut.map((one) => one.ceiling));
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
              <rect
                className={one.room.id === room.id ? "cut chosen" : "cut"}
                x={one.from * CM}
                y={-one.ceiling * CM}
                width={(one.to - one.from) * CM}
                height={(one.ceiling - one.floor) * CM}
              />
              {here.map((it) => {
                const nth = count[it.face as "ceiling" | "floor"]++;
                const top = it.face === "ceiling" ? one.ceiling - SHEET_M * nth : one.floor + SHEET_M * (nth + 1);
                return (
                  <rect
                    key={it.id}
                    className={`patch ${hatchClass(materials[it.id])}`}
                    x={one.from * CM + 5}
                    y={-top * CM}
                    width={(one.to - one.from) * CM - 10}
                    height={SHEET_M * CM}
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
      <dl className="backs">
        <div>
          <dt>{words.above}</dt>
          <dd>{named(above, words.sky)}</dd>
        </div>
        <div>
          <dt>{words.below}</dt>
          <dd>{named(below, words.earth)}</dd>
        </div>
        <div>
          <dt>{words.beside}</dt>
          <dd>{named(beside, words.outdoors)}</dd>
        </div>
      </dl>
    </figure>
  );
}
