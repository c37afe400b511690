// Letting a phone in, on the laptop's page: the square to point it at, the code to type there, the phones that are in.
import { useEffect, useState } from "react";
import { Button } from "react-aria-components";
import { api } from "./api";
import type { Fault, PhoneDesk } from "./api";
import { day } from "./format";
import { onPhone } from "./keep";
import { FaultList, Panel, faultsOf } from "./parts";
import "./phone.css";
import { text } from "./text";

const words = text.phone;
const LOOK_AGAIN_MS = 2000;

/** A button, where the program lets phones in at all; nothing on the phone itself. */
export function Phones() {
  const [on, setOn] = useState(false);
  const [open, setOpen] = useState(false);
  useEffect(() => {
    if (onPhone()) return;
    let wanted = true;
    api.phone().then(
      (desk) => wanted && setOn(desk.on),
      () => undefined,
    );
    return () => {
      wanted = false;
    };
  }, []);
  if (!on) return null;
  return (
    <>
      <Button className="button quiet" onPress={() => setOpen(true)}>
        {words.button}
      </Button>
      {open ? (
        <Panel title={words.title} onClose={() => setOpen(false)}>
          <Desk />
          <Button className="button" onPress={() => setOpen(false)}>
            {text.close}
          </Button>
        </Panel>
      ) : null}
    </>
  );
}

function Desk() {
  const [desk, setDesk] = useState<PhoneDesk | null>(null);
  const [faults, setFaults] = useState<Fault[]>([]);
  const show = (asked: Promise<PhoneDesk>) =>
    asked.then(
      (next) => {
        setDesk(next);
        setFaults([]);
      },
      (error: unknown) => setFaults(faultsOf(error)),
    );
  useEffect(() => {
    const look = () => void show(api.phone());
    look();
    const timer = window.setInterval(look, LOOK_AGAIN_MS);
    return () => window.clearInterval(timer);
  }, []);
  if (!desk) return faults.length > 0 ? <FaultList title={words.failed} faults={faults} /> : <p>{text.loading}</p>;
  return (
    <>
      <FaultList title={words.failed} faults={faults} />
      <div className="phone-in">
        <div>
          <h3>{words.first}</h3>
          <p>{words.point}</p>
          <Square rows={desk.qr ?? []} />
          <p>
            {words.orOpen} <strong className="phone-address">{desk.address}</strong>
          </p>
        </div>
        <div>
          <h3>{words.code}</h3>
          {desk.code ? (
            <div role="group" aria-label={words.code}>
              <p className="phone-code">{desk.code}</p>
              <p className="quiet">{words.left(desk.seconds_left ?? 0)}</p>
            </div>
          ) : (
            <p>{words.noCode}</p>
          )}
          {desk.wrong ? <p role="alert">{words.wrong(desk.wrong)}</p> : null}
          <Button className="button" onPress={() => void show(api.newPhoneCode())}>
            {words.newCode}
          </Button>
        </div>
      </div>
      <h3>{words.compare}</h3>
      <p>{words.warns}</p>
      <p className="fingerprint">
        <code>{desk.fingerprint}</code>
      </p>
      <h3>{words.paired}</h3>
      {desk.phones.length === 0 ? <p>{words.none}</p> : null}
      <ul className="phones">
        {desk.phones.map((one) => (
          <li key={one.id}>
            <span>
              {one.name} <small>{words.since(one.id, day(one.paired_on))}</small>
            </span>
            <Button
              className="button quiet"
              aria-label={`${words.revoke}: ${one.name}`}
              onPress={() => void show(api.revokePhone(one.id))}
            >
              {words.revoke}
            </Button>
          </li>
        ))}
      </ul>
    </>
  );
}

/** Always dark on white: a camera reads it by that. */
function Square({ rows }: { rows: readonly string[] }) {
  const path = rows
    .flatMap((row, y) => [...row].map((module, x) => (module === "1" ? `M${x} ${y}h1v1h-1z` : "")))
    .join("");
  return (
    <svg className="phone-square" viewBox={`0 0 ${rows.length} ${rows.length}`} role="img" aria-label={words.square}>
      <path d={path} shapeRendering="crispEdges" />
    </svg>
  );
}
