// The one outbox of this window, and what waits in it: other windows of the browser share the shelf and tell of it.
import { useEffect, useState } from "react";
import { api } from "./api";
import { Outbox } from "./outbox";
import type { Waiting } from "./outbox";
import { openShelf, overWindows } from "./shelf";

const listeners = new Set<() => void>();
const listen = () => listeners.forEach((one) => one());
const windows = new BroadcastChannel("lathbook-outbox");
windows.onmessage = listen;

export const outbox: Promise<Outbox> = openShelf().then(
  (shelf) =>
    new Outbox(
      shelf,
      ({ verb, body }, revision, key) => api.edit(verb, { revision, ...body }, key),
      overWindows,
      () => {
        listen();
        windows.postMessage(null);
      },
    ),
);

export function useWaiting(): Waiting[] {
  const [waiting, setWaiting] = useState<Waiting[]>([]);
  useEffect(() => {
    const look = () =>
      void outbox
        .then((box) => box.all())
        .then((all) => setWaiting((now) => (now.length === 0 && all.length === 0 ? now : all)));
    listeners.add(look);
    look();
    return () => {
      listeners.delete(look);
    };
  }, []);
  return waiting;
}
