// House: what is my house made of?
import { useEffect, useRef, useState } from "react";
import { Button, ToggleButton, ToggleButtonGroup } from "react-aria-components";
import { Alike } from "./alike";
import { FORMS } from "./brought_in";
import { api } from "./api";
import type { Material, Room, Standing, Storey } from "./api";
import { AddRoom, AddStorey } from "./addroom";
import { Begin } from "./begin";
import { useAnswer, useBook } from "./book";
import { RulesLine } from "./country";
import { EditDialog } from "./form";
import { day, oneDecimal, percent, sentence } from "./format";
import { area } from "./geometry";
import { AddOpening, OpeningGrips, OpeningList, OpeningSheet, useMoving } from "./openingsheet";
import { lastSeen } from "./looks";
import { MATERIAL_FIELDS, MATERIAL_MORE } from "./materialfields";
import { FaultList, Reasons, Section } from "./parts";
import { Photos } from "./photos";
import { Periods } from "./periods";
import { PlaceDialog } from "./place";
import { Plan, Swatch, standingWords } from "./plan";
import type { Looking } from "./plan";
import { go, href } from "./route";
import { SectionStrip } from "./sectionstrip";
import { ShapeGrips, ShapeSheet, useShaping } from "./shapeedit";
import { text } from "./text";
import { WALKS, WalkSheet, WalksLink, WalksSheet } from "./walk";
import type { Found } from "./walk";

const ROOM_FIELDS = ["name", "use", "kind", "phase", "storey", "height_m", "notes"];

type Editing = { verb: "add"; room: string; found?: Found } | { verb: "set"; material: Material } | null;

export function House({ storey: wanted, chosen }: { storey?: string; chosen?: string }) {
  const whole = useBook();
  const { book, roomOf, materialOf } = whole;
  const [looking, setLooking] = useState<Looking>("ceiling");
  const [editing, setEditing] = useState<Editing>(null);
  const [doing, setDoing] = useState<{ what: "walk" | "shape"; room: string } | null>(null);
  const [renaming, setRenaming] = useState<Room | null>(null);
  const [adding, setAdding] = useState<"room" | "storey" | "opening" | "period" | null>(null);
  const storeys = [...(book.storeys ?? [])].sort((a, b) => b.floor_m - a.floor_m);
  const drawn = (one: Storey) => (book.rooms ?? []).some((other) => other.storey === one.id);
  const room = chosen ? roomOf(chosen) : undefined;
  const material = chosen ? materialOf(chosen) : undefined;
  const opening = book.openings?.find((one) => one.id === chosen);
  // A stair is in two storeys: it is looked at in the one it was chosen in.
  const joined = [opening?.from, opening?.to].map((id) => (id ? roomOf(id)?.storey : undefined));
  const seenIn = joined.find((one) => one === wanted) ?? joined[0];
  const storey =
    storeys.find((one) => one.id === ((room ?? (material ? roomOf(material.room) : undefined))?.storey ?? seenIn)) ??
    storeys.find((one) => one.id === wanted) ??
    // Else the one people live on: the drawn one nearest the ground.
    [...storeys]
      .sort((a, b) => Math.abs(a.floor_m) - Math.abs(b.floor_m))
      .sort((a, b) => Number(drawn(b)) - Number(drawn(a)))[0];

  // Where the plan stands over the sheet, what is begun down in the sheet is brought into sight. After the frame's own
  // way to the top of a new place, which comes later than this effect.
  const walking = doing?.what === "walk" || chosen === WALKS;
  useEffect(() => {
    if (!(doing || walking) || !window.matchMedia("(max-width: 56rem)").matches) return;
    const frame = requestAnimationFrame(() => {
      if (doing?.what === "shape") window.scrollTo(0, 0);
      else document.querySelector(".house > .sheet")?.scrollIntoView();
    });
    return () => cancelAnimationFrame(frame);
  }, [doing, walking, chosen]);

  const shaping = useShaping(room && doing?.room === room.id && doing.what === "shape" ? room : undefined);
  const moving = useMoving(opening);
  if (!storey) return <Begin />;

  const choose = (id: string) => go({ place: "house", storey: storey.id, chosen: id });
  const here = (book.rooms ?? []).filter((one) => one.storey === storey.id);
  // What is chosen has to be seen: a floor's piece turns the look down.
  const look: Looking =
    material && !material.face.startsWith("wall-") && material.face !== "inside"
      ? material.face === "floor"
        ? "floor"
        : "ceiling"
      : looking;

  const walk = (id: string) => {
    setDoing({ what: "walk", room: id });
    go({ place: "house", storey: roomOf(id)?.storey ?? storey.id, chosen: id });
  };
  const sheet =
    room && doing?.room === room.id && doing.what === "walk" ? (
      <WalkSheet
        room={room}
        storey={storey.id}
        onFound={(found) => setEditing({ verb: "add", room: room.id, found })}
        onWalk={walk}
        onClose={() => setDoing(null)}
      />
    ) : room && shaping ? (
      <ShapeSheet
        room={room}
        shaping={shaping}
        onClose={() => setDoing(null)}
        onRemoved={() => {
          setDoing(null);
          go({ place: "house", storey: storey.id });
        }}
      />
    ) : room ? (
      <RoomSheet
        room={room}
        storey={storey.id}
        onAdd={() => setEditing({ verb: "add", room: room.id })}
        onOpening={() => setAdding("opening")}
        onWalk={() => setDoing({ what: "walk", room: room.id })}
        onShape={() => setDoing({ what: "shape", room: room.id })}
        onDetails={() => setRenaming(room)}
      />
    ) : material ? (
      <MaterialSheet material={material} storey={storey.id} onEdit={() => setEditing({ verb: "set", material })} />
    ) : moving ? (
      <OpeningSheet moving={moving} storey={storey.id} />
    ) : chosen === WALKS ? (
      <WalksSheet storey={storey.id} onWalk={walk} />
    ) : null;
  return (
    <div className={`view split house${sheet ? " open" : ""}`}>
      <div className="main">
        <header className="heading">
          <h1>{text.house.heading(book.about.title)}</h1>
          <p className="lead">{text.house.counts((book.rooms ?? []).length, Object.keys(whole.materials).length)}</p>
          <RulesLine />
          {chosen === WALKS || (book.rooms ?? []).length === 0 ? null : (
            <p>
              <WalksLink storey={storey.id} />
            </p>
          )}
        </header>
        <div className="switches">
          <Storeys storeys={storeys} here={storey.id} />
          <ToggleButtonGroup
            className="looks"
            aria-label={text.house.looking}
            selectionMode="single"
            disallowEmptySelection
            selectedKeys={[look]}
            onSelectionChange={(keys) => {
              setLooking([...keys][0] as Looking);
              if (material) go({ place: "house", storey: storey.id, chosen: material.room });
            }}
          >
            <ToggleButton id="ceiling">{text.house.looks.ceiling}</ToggleButton>
            <ToggleButton id="floor">{text.house.looks.floor}</ToggleButton>
          </ToggleButtonGroup>
        </div>
        {here.length > 0 ? (
          <Plan
            whole={whole}
            storey={storey}
            looking={look}
            chosen={chosen}
            onChoose={choose}
            {...(shaping && room ? { shaping: room.id } : {})}
            moving={moving ? { id: moving.opening.id, seat: moving.seat, at: moving.at } : undefined}
          >
            {moving ? <OpeningGrips moving={moving} /> : null}
            {shaping && room ? (
              <ShapeGrips
                room={room}
                shaping={shaping}
                others={here.filter((one) => one.id !== room.id).map((one) => one.outline)}
              />
            ) : null}
          </Plan>
        ) : (
          <div className="empty">
            <h2>{text.house.emptyTitle}</h2>
            <p>{text.addRoom.noRooms}</p>
          </div>
        )}
      </div>
      {sheet}
      <div className="rest">
        <div className="extra">
          <Button className={here.length > 0 ? "button" : "button strong"} onPress={() => setAdding("room")}>
            {text.addRoom.open}
          </Button>
          <Button className="button" onPress={() => setAdding("storey")}>
            {text.addStorey.open}
          </Button>
          <Button className="button" onPress={() => setAdding("period")}>
            {text.periods.open}
          </Button>
        </div>
        {room && here.length > 0 ? <SectionStrip room={room} /> : null}
        {here.length > 0 ? <Legend /> : null}
        {here.length > 0 ? (
          <section className="list" aria-labelledby="also">
            <div className="list-head">
              <h2 id="also">{text.house.alsoHere}</h2>
              <Button className="button" onPress={() => setEditing({ verb: "add", room: room?.id ?? "" })}>
                {text.house.add}
              </Button>
            </div>
            <ul className="rooms">
              {here.map((one) => (
                <li key={one.id}>
                  <a className="room-link" href={href({ place: "house", storey: storey.id, chosen: one.id })}>
                    {one.name}
                  </a>
                  <MaterialLinks room={one} storey={storey.id} />
                </li>
              ))}
            </ul>
          </section>
        ) : null}
      </div>
      {adding === "opening" && room ? (
        <AddOpening
          room={room}
          onClose={() => setAdding(null)}
          onDone={(id) => {
            setAdding(null);
            choose(id);
          }}
        />
      ) : null}
      {adding === "room" ? (
        <AddRoom
          storey={storey}
          {...(room ? { near: room.id } : {})}
          onClose={() => setAdding(null)}
          onDone={(id) => {
            setAdding(null);
            choose(id);
          }}
        />
      ) : null}
      {adding === "period" ? <Periods onClose={() => setAdding(null)} /> : null}
      {adding === "storey" ? (
        <AddStorey
          onClose={() => setAdding(null)}
          onDone={(id) => {
            setAdding(null);
            go({ place: "house", storey: id });
          }}
        />
      ) : null}
      {renaming ? (
        <EditDialog
          kind="room"
          title={text.shape.change(renaming.name)}
          verb="set"
          what={renaming.id}
          item={renaming}
          fields={ROOM_FIELDS}
          labels={text.shape.fields}
          onClose={() => setRenaming(null)}
          onDone={() => setRenaming(null)}
        />
      ) : null}
      {editing ? (
        <EditDialog
          kind="material"
          title={
            editing.verb === "add"
              ? editing.room
                ? text.form.addTitle(roomOf(editing.room)?.name ?? "")
                : text.house.add
              : text.form.changeTitle(editing.material.name)
          }
          verb={editing.verb}
          what={editing.verb === "add" ? "material" : editing.material.id}
          item={
            editing.verb === "add"
              ? { room: editing.room, last_inspected: whole.today, ...editing.found }
              : editing.material
          }
          fields={MATERIAL_FIELDS}
          more={MATERIAL_MORE}
          labels={text.form.fields}
          onClose={() => setEditing(null)}
          onDone={(changed) => {
            setEditing(null);
            // On a walk one stays on it: the question shows what was written down.
            if (changed[0] && !doing) choose(changed[0]);
          }}
        />
      ) : null}
    </div>
  );
}

/** The storeys from the top; where they do not all fit, the one looked at is moved into sight. */
function Storeys({ storeys, here }: { storeys: Storey[]; here: string }) {
  const row = useRef<HTMLElement>(null);
  useEffect(() => {
    const current = row.current?.querySelector<HTMLElement>("[aria-current]");
    if (!row.current || !current) return;
    row.current.scrollLeft = current.offsetLeft - row.current.offsetLeft - 8;
  }, [here]);
  return (
    <nav ref={row} aria-label={text.house.storeys} className="storeys">
      {storeys.map((one) => (
        <a
          key={one.id}
          href={href({ place: "house", storey: one.id })}
          aria-current={one.id === here ? "true" : undefined}
        >
          {one.name}
        </a>
      ))}
    </nav>
  );
}

function Legend() {
  const standings = Object.keys(text.standing) as Standing[];
  return (
    <details className="legend">
      <summary>{text.house.legend}</summary>
      <dl>
        {standings.map((standing) => (
          <div key={standing}>
            <dt>
              <Swatch
                known={{ id: "", name: "", family: "", room: "", face: "", suspect: true, released: false, standing }}
              />
              {text.standing[standing]}
            </dt>
            <dd>{text.standingTells[standing]}</dd>
          </div>
        ))}
      </dl>
    </details>
  );
}

function MaterialLinks({ room, storey }: { room: Room; storey: string }) {
  const { book, materials } = useBook();
  const here = (book.materials ?? []).filter((one) => one.room === room.id);
  if (here.length === 0) return <p className="quiet none">{text.house.nothingHere}</p>;
  return (
    <ul className="pieces">
      {here.map((one) => (
        <li key={one.id}>
          <a href={href({ place: "house", storey, chosen: one.id })}>
            <Swatch known={materials[one.id]} />
            <span>
              {one.name}
              <small>
                {standingWords(materials[one.id])} · {text.faces(one.face)}
              </small>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}

function SheetHead({ title, storey, id }: { title: string; storey: string; id: string }) {
  return (
    <div className="sheet-head">
      <h2>
        {title} <small>{id}</small>
      </h2>
      <a className="button quiet" href={href({ place: "house", storey })}>
        {text.close}
      </a>
    </div>
  );
}

interface RoomSheetProps {
  room: Room;
  storey: string;
  onAdd: () => void;
  onOpening: () => void;
  onWalk: () => void;
  onShape: () => void;
  onDetails: () => void;
}

function RoomSheet({ room, storey, onAdd, onOpening, onWalk, onShape, onDetails }: RoomSheetProps) {
  const { book, room_years: years } = useBook();
  const built = years[room.id];
  const any = (book.materials ?? []).some((one) => one.room === room.id);
  return (
    <aside className="sheet" aria-label={room.name}>
      <SheetHead title={room.name} id={room.id} storey={storey} />
      <p>
        {built ? text.house.built(...built) : text.house.unknownYears} ·{" "}
        {text.house.area(oneDecimal(area(room.outline)))}
      </p>
      {any ? <MaterialLinks room={room} storey={storey} /> : <p>{text.house.emptyMaterials}</p>}
      <div className="actions">
        <Button className="button strong" onPress={onWalk}>
          {text.walk.open}
        </Button>
        <Button className="button" onPress={onAdd}>
          {text.house.addHere}
        </Button>
        <Button className="button" onPress={onShape}>
          {text.shape.open}
        </Button>
        <Button className="button" onPress={onDetails}>
          {text.shape.details}
        </Button>
      </div>
      <OpeningList room={room} storey={storey} onAdd={onOpening} />
      <Photos what="room" item={room} />
      {room.notes ? (
        <Section title={text.material.notes}>
          <p className="notes">{room.notes}</p>
        </Section>
      ) : null}
    </aside>
  );
}

/** The belief as a mark on a line with its range: a place on a scale, not a verdict. */
function BeliefLine({ p, low, high }: { p: number; low: number; high: number }) {
  return (
    <svg className="belief" viewBox="0 0 204 22" aria-hidden="true">
      <line className="scale" x1="2" x2="202" y1="14" y2="14" />
      {[0, 0.25, 0.5, 0.75, 1].map((tick) => (
        <line key={tick} className="scale" x1={2 + tick * 200} x2={2 + tick * 200} y1="11" y2="17" />
      ))}
      <line className="range" x1={2 + low * 200} x2={2 + high * 200} y1="14" y2="14" />
      <path className="mark" d={`M${2 + p * 200} 11l-4 -8h8z`} />
    </svg>
  );
}

function MaterialSheet({ material, storey, onEdit }: { material: Material; storey: string; onEdit: () => void }) {
  const { book, roomOf, jobs, edit, today } = useBook();
  const { answer: known } = useAnswer(api.material, material.id);
  const [trouble, setTrouble] = useState<string[]>([]);
  const [placing, setPlacing] = useState(false);
  const [deciding, setDeciding] = useState(false);
  const [looked, setLooked] = useState(false);
  const decided = (book.actions ?? []).filter((action) => action.material === material.id);
  const score = known?.material_score;
  const meets = jobs.filter((job) => job.touches.some((touch) => touch.material === material.id));
  const remove = async () => {
    try {
      await edit("remove", { what: material.id });
      go({ place: "house", storey, chosen: material.room });
    } catch (error) {
      setTrouble([error instanceof Error ? error.message : String(error)]);
    }
  };
  return (
    <aside className="sheet" aria-label={material.name}>
      <SheetHead title={material.name} id={material.id} storey={storey} />
      <p>
        <a href={href({ place: "house", storey, chosen: material.room })}>{roomOf(material.room)?.name}</a>,{" "}
        {text.faces(material.face)}
      </p>
      {known ? (
        <>
          <Section title={text.material.standing}>
            <p className="standing">
              <Swatch known={known} /> <strong>{standingWords(known)}</strong>
            </p>
            <p>{known.standing ? `${sentence(text.standingTells[known.standing])}.` : text.material.notSuspect}</p>
          </Section>
          {known.probability !== undefined && known.low !== undefined && known.high !== undefined ? (
            <Section title={text.material.belief}>
              <BeliefLine p={known.probability} low={known.low} high={known.high} />
              <p className="figures">
                {sentence(
                  text.material.beliefSentence(percent(known.probability), percent(known.low), percent(known.high)),
                )}
                .
              </p>
              {known.released || known.standing === "identified" ? null : (
                <p className="quiet">{text.material.notRelease}</p>
              )}
              {known.samples_needed !== undefined && !known.released && known.standing !== "identified" ? (
                <p>{text.material.samples(known.clear_samples ?? 0, known.samples_needed)}</p>
              ) : null}
            </Section>
          ) : null}
          {known.advice ? (
            <Section title={text.material.advice}>
              <p>{text.advice[known.advice] ?? known.advice}</p>
              {known.next_look ? (
                <p>
                  {text.material.nextLook(day(known.next_look))}{" "}
                  <Button className="button" onPress={() => setLooked(true)}>
                    {text.look.done}
                  </Button>
                </p>
              ) : null}
              {decided.map((action) => (
                <p key={action.id}>
                  {text.material.decided(
                    action.kind,
                    action.done_on
                      ? text.broughtIn.doneOn(day(action.done_on))
                      : action.due_on
                        ? text.broughtIn.dueOn(day(action.due_on))
                        : "",
                  )}{" "}
                  <a href={href({ place: "jobs", one: "brought-in" })}>{text.material.toDecided}</a>
                </p>
              ))}
              <Button className="button quiet" onPress={() => setDeciding(true)}>
                {text.broughtIn.decide}
              </Button>
            </Section>
          ) : null}
          {score ? (
            <Section title={text.material.score}>
              <p className="figures">
                {text.material.scoreSentence(score.total, score.band)}
                <br />
                <span className="quiet">
                  {text.material.scoreParts(score.product, score.damage, score.surface, score.fibre)}
                </span>
              </p>
            </Section>
          ) : null}
          {meets.length > 0 ? (
            <Section title={text.material.jobsHere}>
              <ul className="plain">
                {meets.map((job) => (
                  <li key={job.job}>
                    <a href={href({ place: "jobs", one: job.job })}>{job.title}</a>: {job.verdict}
                  </li>
                ))}
              </ul>
            </Section>
          ) : null}
          <Reasons title={text.material.reasons} reasons={known.reasons ?? []} />
        </>
      ) : (
        <p className="waiting">{text.loading}</p>
      )}
      {known?.suspect ? <Alike material={material} storey={storey} /> : null}
      <Photos what="material" item={material} />
      {material.notes ? (
        <Section title={text.material.notes}>
          <p>{material.notes}</p>
        </Section>
      ) : null}
      <FaultList
        title={text.material.notRemoved}
        faults={trouble.map((problem) => ({ where: "", value: "", problem, allowed: "" }))}
      />
      <div className="actions">
        <Button className="button" onPress={() => void remove()}>
          {text.material.takeOut}
        </Button>
        {/^(floor|ceiling|wall-\d+)$/.test(material.face) ? (
          <Button className="button" onPress={() => setPlacing(true)}>
            {text.place.open}
          </Button>
        ) : null}
        <Button className="button strong" onPress={onEdit}>
          {text.material.edit}
        </Button>
      </div>
      {deciding ? (
        <EditDialog
          kind="action"
          verb="add"
          what="action"
          title={text.broughtIn.decide}
          fields={FORMS.action.fields.filter((field) => field !== "material")}
          more={["material", ...FORMS.action.more]}
          labels={text.broughtIn.fields}
          item={{ material: material.id }}
          onClose={() => setDeciding(false)}
          onDone={() => setDeciding(false)}
        />
      ) : null}
      {looked ? (
        <EditDialog
          kind="inspection"
          verb="add"
          what="inspection"
          title={text.look.title(material.name)}
          fields={["damage", "on"]}
          more={["surface", "notes", "material"]}
          labels={text.look.fields}
          item={{ material: material.id, on: today, damage: lastSeen(material, book.inspections) }}
          onClose={() => setLooked(false)}
          onDone={() => setLooked(false)}
        />
      ) : null}
      {placing ? <PlaceDialog material={material} onClose={() => setPlacing(false)} /> : null}
    </aside>
  );
}
