// What is kept in this browser until the program has written it: told under the header, listed and decided on in a panel.
import { useState } from "react";
import { Button } from "react-aria-components";
import { useBook } from "./book";
import { moment } from "./format";
import type { Waiting } from "./outbox";
import { outbox, useWaiting } from "./outbox_here";
import { FaultList, Panel } from "./parts";
import { text } from "./text";
import "./waits.css";

const words = text.waits;

export function Waits() {
  const waiting = useWaiting();
  const [open, setOpen] = useState(false);
  const refused = waiting.filter((one) => one.refused).length;
  return (
    <>
      <div role="status" aria-label={words.title}>
        {waiting.length > 0 ? (
          <div className="waits">
            <p>
              {refused > 0 ? <strong>{words.refused(refused)} </strong> : null}
              {waiting.length > refused ? words.count(waiting.length - refused) : null}
            </p>
            <Button className="button quiet" onPress={() => setOpen(true)}>
              {words.see}
            </Button>
          </div>
        ) : null}
      </div>
      {open && waiting.length > 0 ? (
        <Panel title={words.title} onClose={() => setOpen(false)}>
          <p>{words.intro}</p>
          <ol className="waits-list">
            {waiting.map((one) => (
              <One key={one.seq} one={one} />
            ))}
          </ol>
          <Button className="button" onPress={() => setOpen(false)}>
            {text.close}
          </Button>
        </Panel>
      ) : null}
    </>
  );
}

/** A photo that waits; what it is, its first bytes say. */
const pictureOf = (base64: string) => `data:image/${base64.startsWith("iVBOR") ? "png" : "jpeg"};base64,${base64}`;

function One({ one }: { one: Waiting }) {
  const { book_id, revision } = useBook();
  const here = one.book === book_id;
  const act = (what: "giveUp" | "offerAgain") =>
    void outbox.then((box) => (what === "giveUp" ? box.giveUp(one.seq) : box.offerAgain(one.seq, revision)));
  return (
    <li>
      <strong>{one.words}</strong>
      {one.verb === "photo" ? <img src={pictureOf(one.body.base64)} alt="" /> : null}
      <p className="quiet">
        {words.made(moment(one.at))}{" "}
        {one.refused ? null : !here ? words.another(one.house) : one.tried ? words.mayBe : words.unsent}
      </p>
      {one.refused ? <FaultList title={words.because} faults={one.refused} /> : null}
      <div className="actions">
        {one.refused && here ? (
          <Button className="button" aria-label={`${words.again}: ${one.words}`} onPress={() => act("offerAgain")}>
            {words.again}
          </Button>
        ) : null}
        {one.refused || !one.tried ? (
          <Button className="button quiet" aria-label={`${words.giveUp}: ${one.words}`} onPress={() => act("giveUp")}>
            {words.giveUp}
          </Button>
        ) : null}
      </div>
    </li>
  );
}
