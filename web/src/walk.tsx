// A walk through one room: is there a … here? Only what its age and use make likely is asked.
import { useState } from "react";
import { Button } from "react-aria-components";
import { Refused, api } from "./api";
import type { Fault, LookAnswer, Room, WalkQuestion, Walks } from "./api";
import { useAnswer, useBook } from "./book";
import { day, percent, sentence } from "./format";
import { FaultList, NotAnswered, SourceOf } from "./parts";
import { href } from "./route";
import { text } from "./text";
import "./walk.css";

/** What is chosen in the address when it is the walks and no item. */
export const WALKS = "walk";

const words = text.walk;
const ANSWERS = Object.keys(words.answers) as LookAnswer[];

export interface Found {
  family: string;
  name: string;
  face: string;
  notes?: string;
}

export function WalkSheet({
  room,
  storey,
  onFound,
  onWalk,
  onClose,
}: {
  room: Room;
  storey: string;
  onFound: (found: Found) => void;
  /** On to another room. */
  onWalk: (room: string) => void;
  onClose: () => void;
}) {
  const { answer: walk, refused } = useAnswer(api.walk, room.id);
  const { edit } = useBook();
  const [faults, setFaults] = useState<Fault[]>([]);
  const answer = async (questions: WalkQuestion[], said: LookAnswer) => {
    try {
      await edit("look", { room: room.id, families: questions.map((one) => one.family), answer: said });
      setFaults([]);
    } catch (error) {
      setFaults(Refused.by(error).faults);
    }
  };
  const open = (walk?.questions ?? []).filter((one) => !one.answer && one.materials.length === 0);
  const settled = (walk?.questions ?? []).filter((one) => one.answer || one.materials.length > 0).length;
  return (
    <aside className="sheet" aria-label={words.heading(room.name)}>
      <div className="sheet-head">
        <h2>{words.heading(room.name)}</h2>
        <Button className="button quiet" onPress={onClose}>
          {words.done}
        </Button>
      </div>
      {refused ? <NotAnswered refused={refused} /> : null}
      {!walk ? (
        refused ? null : (
          <p className="waiting">{text.loading}</p>
        )
      ) : (
        <>
          <p>
            {walk.later_than_ban
              ? words.later
              : `${words.asked(walk.guessed ? words.anyRoom : walk.as.join(", "), ...walk.years)} ${words.releasesNothing}`}
          </p>
          {walk.questions.length > 0 ? (
            <p className="progress" role="status">
              {words.progress(settled, walk.questions.length)}
            </p>
          ) : null}
          <FaultList title={words.notKept} faults={faults} />
          <ul className="asked">
            {walk.questions.map((one) => (
              <Question
                key={one.family}
                question={one}
                storey={storey}
                onAnswer={(said) => void answer([one], said)}
                onFound={onFound}
              />
            ))}
          </ul>
          {open.length > 1 ? (
            <div className="rest-none">
              <p className="quiet">{words.restLead}</p>
              <Button className="button" onPress={() => void answer(open, "none seen")}>
                {words.restNone(open.length)}
              </Button>
            </div>
          ) : null}
          <WalksNext room={room.id} storey={storey} onWalk={onWalk} />
        </>
      )}
    </aside>
  );
}

function Question({
  question,
  storey,
  onAnswer,
  onFound,
}: {
  question: WalkQuestion;
  storey: string;
  onAnswer: (said: LookAnswer) => void;
  onFound: (found: Found) => void;
}) {
  const { materialOf } = useBook();
  const [again, setAgain] = useState(false);
  const here = question.materials.map(materialOf).filter((one) => one !== undefined);
  const open = again || (!question.answer && here.length === 0);
  // Which wall or roof slope is for the person to say.
  const only = question.faces.length === 1 ? question.faces[0]! : "";
  const face = only === "wall" || only === "roof" ? "" : only;
  const found = (notes?: string) =>
    onFound({ family: question.family, name: sentence(question.name), face, ...(notes ? { notes } : {}) });
  return (
    <li aria-label={question.name}>
      <h3>{sentence(question.name)}</h3>
      <p className="quiet">
        {sentence(question.where)}. {words.lookAt(question.faces.map((one) => words.faces[one] ?? one).join(", "))}
      </p>
      {here.map((one) => (
        <p key={one.id}>
          {words.writtenDown} <a href={href({ place: "house", storey, chosen: one.id })}>{one.name}</a>
        </p>
      ))}
      {question.answer && question.on && !again ? (
        <p>
          <strong>{words.answers[question.answer]}</strong>, {day(question.on)}.{" "}
          {question.answer === "none seen" ? null : words.counts}
        </p>
      ) : null}
      {open ? (
        <>
          <details className="tells">
            <summary>{words.tells}</summary>
            <ul>
              {question.look.map((one) => (
                <li key={one}>{one}</li>
              ))}
            </ul>
            <p>
              {words.chance(
                percent(question.probability),
                percent(question.low),
                percent(question.high),
                ...question.years,
              )}{" "}
              <SourceOf id={question.source} />
            </p>
          </details>
          <div className="answers" role="group" aria-label={words.isThere(question.name)}>
            <Button className="button" onPress={() => found()}>
              {words.yes}
            </Button>
            {ANSWERS.map((said) => (
              <Button
                key={said}
                className="button"
                onPress={() => {
                  setAgain(false);
                  onAnswer(said);
                }}
              >
                {words.answers[said]}
              </Button>
            ))}
          </div>
        </>
      ) : (
        <div className="answers">
          {question.answer && question.answer !== "none seen" && here.length === 0 ? (
            <Button
              className="button"
              aria-label={words.writeLabel(question.name)}
              onPress={() => found(question.answer === "cannot tell" ? words.notTold : words.notReached)}
            >
              {words.write}
            </Button>
          ) : null}
          <Button className="button quiet" aria-label={words.againLabel(question.name)} onPress={() => setAgain(true)}>
            {words.again}
          </Button>
        </div>
      )}
    </li>
  );
}

/** What is left of the walks: which room comes next, and how much is to be looked for at all. */
function leftOf(walks: Walks | null): { left: number; rooms: Walks["rooms"] } {
  const rooms = (walks?.rooms ?? []).filter((one) => one.asked > one.answered);
  return { left: rooms.reduce((sum, one) => sum + one.asked - one.answered, 0), rooms };
}

/** The way to the walks, from the house's heading. */
export function WalksLink({ storey }: { storey: string }) {
  const { answer } = useAnswer(api.walks);
  const { left } = leftOf(answer);
  if (!answer) return null;
  return (
    <a className="button" href={href({ place: "house", storey, chosen: WALKS })}>
      {text.walks.open(left)}
    </a>
  );
}

/** All rooms with what is left to walk in each, storey by storey. */
export function WalksSheet({ storey, onWalk }: { storey: string; onWalk: (room: string) => void }) {
  const { answer, refused } = useAnswer(api.walks);
  const { book, roomOf } = useBook();
  const { left, rooms } = leftOf(answer);
  const asked = (answer?.rooms ?? []).filter((one) => roomOf(one.room));
  const storeys = [...new Set(asked.map((one) => roomOf(one.room)!.storey))];
  const first = rooms[0] && roomOf(rooms[0].room);
  return (
    <aside className="sheet" aria-label={text.walks.heading}>
      <div className="sheet-head">
        <h2>{text.walks.heading}</h2>
        <a className="button quiet" href={href({ place: "house", storey })}>
          {text.close}
        </a>
      </div>
      <p>{text.walks.lead}</p>
      {refused ? <NotAnswered refused={refused} /> : null}
      {answer ? (
        <p className="progress" role="status">
          {text.walks.all(left, rooms.length)}
        </p>
      ) : refused ? null : (
        <p className="waiting">{text.loading}</p>
      )}
      {first ? (
        <div className="actions">
          <Button className="button strong" onPress={() => onWalk(first.id)}>
            {text.walks.begin(first.name)}
          </Button>
        </div>
      ) : null}
      {storeys.map((one) => (
        <section key={one} className="section">
          <h3>{book.storeys?.find((it) => it.id === one)?.name}</h3>
          <ul className="walks">
            {asked
              .filter((it) => roomOf(it.room)!.storey === one)
              .map((it) => (
                <li key={it.room}>
                  <Button className="button quiet" onPress={() => onWalk(it.room)}>
                    {roomOf(it.room)!.name}
                  </Button>
                  <small>{text.walks.left(it.asked, it.answered)}</small>
                </li>
              ))}
          </ul>
        </section>
      ))}
    </aside>
  );
}

/** After a room: the next one with something left, and the way back to all of them. */
function WalksNext({ room, storey, onWalk }: { room: string; storey: string; onWalk: (room: string) => void }) {
  const { answer } = useAnswer(api.walks);
  const { roomOf } = useBook();
  if (!answer) return null;
  const all = answer.rooms.map((one) => one.room);
  const here = all.indexOf(room);
  const { rooms } = leftOf(answer);
  const later = rooms.filter((one) => one.room !== room);
  const next = later.find((one) => all.indexOf(one.room) > here) ?? later[0];
  const after = next && roomOf(next.room);
  return (
    <div className="actions">
      {after ? (
        <Button className="button strong" onPress={() => onWalk(after.id)}>
          {text.walks.next(after.name)}
        </Button>
      ) : (
        <p>{text.walks.done}</p>
      )}
      <a className="button" href={href({ place: "house", storey, chosen: WALKS })}>
        {text.walks.toAll}
      </a>
    </div>
  );
}
