// What is dragged or typed on the plan, while it is written into the book.
import { useEffect, useState } from "react";
import type { Fault } from "./api";
import { faultsOf } from "./parts";

interface InTurn<Draft, Asked> {
  /** What is shown instead of what the book holds; null = the book's own. */
  draft: Draft | null;
  faults: Fault[];
  show: (draft: Draft) => void;
  /** Shows it and writes it, once what is being written now is done. */
  write: (draft: Draft, asked: Asked) => void;
  back: () => void;
}

/**
 * Changes of one thing of the book (`id`), written one after another, each on the book as it is then. `send` writes one,
 * or tells what keeps it from being written; while the thing is not there it is undefined. A draft that was refused stays
 * to be seen where `kept`, else the book's own is shown again.
 */
export function useInTurn<Draft, Asked>(
  id: string | undefined,
  send: ((asked: Asked) => Promise<Fault[] | void>) | undefined,
  kept: boolean,
): InTurn<Draft, Asked> {
  const [draft, setDraft] = useState<Draft | null>(null);
  const [pending, setPending] = useState<{ asked: Asked } | null>(null);
  const [busy, setBusy] = useState(false);
  const [faults, setFaults] = useState<Fault[]>([]);
  const forget = () => {
    setDraft(null);
    setPending(null);
    setFaults([]);
  };
  useEffect(forget, [id]);
  useEffect(() => {
    if (!pending || busy || !send) return;
    setPending(null);
    setBusy(true);
    send(pending.asked)
      .then(
        (told) => {
          setFaults(told ?? []);
          setDraft(null);
        },
        (error: unknown) => {
          setFaults(faultsOf(error));
          if (!kept) setDraft(null);
        },
      )
      .finally(() => setBusy(false));
  }, [pending, busy, send, kept]);
  return {
    draft,
    faults,
    show: setDraft,
    write: (next, asked) => {
      setDraft(next);
      setPending({ asked });
    },
    back: forget,
  };
}
