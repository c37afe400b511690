// One box that finds rooms, materials and jobs by name or id.
import { useId, useState } from "react";
import type { WholeBook } from "./api";
import { useBook } from "./book";
import "./find.css";
import { go } from "./route";
import type { Route } from "./route";
import { text } from "./text";

const words = text.find;

interface Hit {
  id: string;
  name: string;
  what: "room" | "material" | "job";
  where: string;
  to: Route;
}
const MOST = 8;

/** What every word of the search begins a word of, ids first, then names that begin with it. */
export function hits({ book }: Pick<WholeBook, "book">, search: string): Hit[] {
  const wanted = search.toLowerCase().split(/\s+/).filter(Boolean);
  if (wanted.length === 0) return [];
  const roomOf = (id: string) => book.rooms?.find((room) => room.id === id);
  const storeyOf = (id: string | undefined) => book.storeys?.find((storey) => storey.id === id);
  const all: Hit[] = [
    ...(book.rooms ?? []).map((room): Hit => ({
      id: room.id,
      name: room.name,
      what: "room",
      where: storeyOf(room.storey)?.name ?? "",
      to: { place: "house", storey: room.storey, chosen: room.id },
    })),
    ...(book.materials ?? []).map((material): Hit => {
      const storey = roomOf(material.room)?.storey;
      return {
        id: material.id,
        name: material.name,
        what: "material",
        where: roomOf(material.room)?.name ?? "",
        to: { place: "house", ...(storey ? { storey } : {}), chosen: material.id },
      };
    }),
    ...(book.jobs ?? []).map((job): Hit => ({
      id: job.id,
      name: job.title,
      what: "job",
      where: "",
      to: { place: "jobs", one: job.id },
    })),
  ];
  const rank = (hit: Hit): number => {
    const parts = [hit.id, ...hit.name.split(/[\s,]+/)].map((part) => part.toLowerCase());
    if (!wanted.every((word) => parts.some((part) => part.startsWith(word)))) return -1;
    if (hit.id.toLowerCase() === wanted[0]) return 0;
    return hit.name.toLowerCase().startsWith(wanted[0]!) ? 1 : 2;
  };
  return all
    .map((hit, i) => ({ hit, i, rank: rank(hit) }))
    .filter((one) => one.rank >= 0)
    .sort((a, b) => a.rank - b.rank || a.i - b.i)
    .slice(0, MOST)
    .map((one) => one.hit);
}

export function Find() {
  const whole = useBook();
  const id = useId();
  const [search, setSearch] = useState("");
  const [at, setAt] = useState(0);
  const [open, setOpen] = useState(false);
  const found = hits(whole, search);
  const shown = open && search.trim() !== "";
  const leave = () => {
    setSearch("");
    setOpen(false);
  };
  return (
    <div className="find" onBlur={(event) => event.currentTarget.contains(event.relatedTarget) || setOpen(false)}>
      <input
        type="text"
        role="combobox"
        aria-label={words.label}
        aria-expanded={shown}
        aria-controls={`${id}-list`}
        aria-autocomplete="list"
        {...(shown && found[at] ? { "aria-activedescendant": `${id}-${found[at].id}` } : {})}
        autoComplete="off"
        placeholder={words.placeholder}
        value={search}
        onFocus={() => setOpen(true)}
        onChange={(event) => {
          setSearch(event.target.value);
          setAt(0);
          setOpen(true);
        }}
        onKeyDown={(event) => {
          if (event.key === "Escape") leave();
          if (event.key === "ArrowDown" || event.key === "ArrowUp") {
            event.preventDefault();
            setAt((now) => Math.max(0, Math.min(found.length - 1, now + (event.key === "ArrowDown" ? 1 : -1))));
          }
          const hit = found[at];
          if (event.key === "Enter" && hit) {
            leave();
            go(hit.to);
          }
        }}
      />
      {shown ? (
        <ul id={`${id}-list`} role="listbox" aria-label={words.found}>
          {found.map((hit, i) => (
            // eslint-disable-next-line jsx-a11y/click-events-have-key-events -- the keys are the field's above the list
            <li
              key={hit.id}
              id={`${id}-${hit.id}`}
              role="option"
              aria-selected={i === at}
              onPointerDown={(event) => event.preventDefault()}
              onClick={() => {
                leave();
                go(hit.to);
              }}
            >
              <span>{hit.name}</span>
              <small>{[words.what[hit.what], hit.id, hit.where].filter(Boolean).join(" · ")}</small>
            </li>
          ))}
          {found.length === 0 ? (
            <li role="option" aria-selected={false} className="quiet">
              {words.nothing}
            </li>
          ) : null}
        </ul>
      ) : null}
    </div>
  );
}
