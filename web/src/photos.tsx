// Photos of a material or a whole room: put in by choosing a file, shown by day, then and now beside each other.
import { useId, useState } from "react";
import { Button } from "react-aria-components";
import { Refused } from "./api";
import type { Edits, Fault } from "./api";
import { useBook } from "./book";
import { day } from "./format";
import { FaultList, faultsOf, FileIn, Section } from "./parts";
import { photoOf } from "./photo";
import "./photos.css";
import { text } from "./text";

const words = text.photos;

interface Props {
  what: "material" | "room";
  item: { id: string; name: string; photos?: string[] };
}

export function Photos({ what, item }: Props) {
  const { book, edit, today } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const [busy, setBusy] = useState(false);
  const listed = item.photos ?? [];
  const photos = (book.documents ?? [])
    .filter((one) => one.media_type.startsWith("image/") && (one[what] === item.id || listed.includes(one.id)))
    .sort((a, b) => (a.dated ?? "").localeCompare(b.dated ?? ""));
  const send = async (file: File) => {
    setBusy(true);
    try {
      const photo = await photoOf(file, item.name, today);
      await edit("photo", { ...(what === "room" ? { room: item.id } : { material: item.id }), ...photo });
      setFaults([]);
    } catch (error) {
      setFaults(faultsOf(error));
    }
    setBusy(false);
  };
  return (
    <Section title={words.title}>
      {photos.length > 1 ? (
        <ThenAndNow key={photos.map((one) => one.id).join()} photos={photos} name={item.name} />
      ) : null}
      {photos.length === 1 ? <Photo photo={photos[0]!} name={item.name} /> : null}
      {photos.length === 0 ? <p className="quiet">{what === "room" ? words.noneOfRoom : words.none}</p> : null}
      <FaultList title={words.notKept} faults={faults} />
      <FileIn
        label={busy ? words.sending : words.add}
        accept="image/jpeg,image/png"
        busy={busy}
        onFile={(file) => void send(file)}
      />
      {photos.length > 0 ? (
        <details className="tells">
          <summary>{words.list}</summary>
          <ul className="plain">
            {photos.map((one) => (
              <PhotoRow key={one.id} id={one.id} onFaults={setFaults} {...(one.dated ? { dated: one.dated } : {})} />
            ))}
          </ul>
        </details>
      ) : null}
    </Section>
  );
}

function PhotoRow({ id, dated, onFaults }: { id: string; dated?: string; onFaults: (faults: Fault[]) => void }) {
  const { edit } = useBook();
  const change = (verb: "set" | "remove", fields: Edits["set"]) =>
    edit(verb, { what: id, ...fields }).then(
      () => onFaults([]),
      (error: unknown) => onFaults(Refused.by(error).faults),
    );
  const field = useId();
  return (
    <li className="photo-row">
      <label htmlFor={field}>{words.dayOf(id)}</label>
      <input
        id={field}
        type="date"
        value={dated ?? ""}
        onChange={(event) => void change("set", { fields: { dated: event.target.value || null } })}
      />
      <Button className="button" aria-label={words.removeLabel(id)} onPress={() => void change("remove", {})}>
        {text.remove}
      </Button>
    </li>
  );
}

interface Shown {
  id: string;
  dated?: string;
}
const caption = (photo: Shown): string => (photo.dated ? day(photo.dated) : words.noDay);
const address = (photo: Shown): string => `/api/photo/${encodeURIComponent(photo.id)}`;

function Photo({ photo, name }: { photo: Shown; name: string }) {
  return (
    <figure className="photo">
      <img src={address(photo)} alt={words.alt(name, caption(photo))} />
      <figcaption>{caption(photo)}</figcaption>
    </figure>
  );
}

/** The earlier photo over the later one, uncovered by a slider. */
function ThenAndNow({ photos, name }: { photos: Shown[]; name: string }) {
  const [then, setThen] = useState(photos[0]!.id);
  const [now, setNow] = useState(photos.at(-1)!.id);
  const [share, setShare] = useState(50);
  const early = photos.find((one) => one.id === then) ?? photos[0]!;
  const late = photos.find((one) => one.id === now) ?? photos.at(-1)!;
  const slider = useId();
  const pick = (label: string, value: string, set: (id: string) => void) => (
    <label>
      {label}
      <select value={value} onChange={(event) => set(event.target.value)}>
        {photos.map((one) => (
          <option key={one.id} value={one.id}>
            {caption(one)} · {one.id}
          </option>
        ))}
      </select>
    </label>
  );
  return (
    <div className="then-now">
      <div className="over">
        <img src={address(late)} alt={words.alt(name, caption(late))} />
        <img
          src={address(early)}
          alt={words.alt(name, caption(early))}
          style={{ clipPath: `inset(0 ${100 - share}% 0 0)` }}
        />
        <span className="seam" style={{ left: `${share}%` }} aria-hidden="true" />
      </div>
      <label htmlFor={slider} className="slider">
        <span>{caption(early)}</span>
        <span>{caption(late)}</span>
        <span className="unseen">{words.slider}</span>
      </label>
      <input
        id={slider}
        type="range"
        min={0}
        max={100}
        value={share}
        onChange={(event) => setShare(Number(event.target.value))}
      />
      {photos.length > 2 ? (
        <div className="pair">
          {pick(words.then, early.id, setThen)}
          {pick(words.now, late.id, setNow)}
        </div>
      ) : null}
    </div>
  );
}
