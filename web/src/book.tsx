// The book as last read, and the edits made to it. Every edit says which revision it was made on.
import { createContext, useCallback, useContext, useEffect, useMemo, useState } from "react";
import type { ReactNode } from "react";
import { Button } from "react-aria-components";
import { Refused, api, keptAt } from "./api";
import { moment } from "./format";
import { keepForLater, onPhone } from "./keep";
import { withWaiting } from "./outbox";
import type { Asked, Waiting } from "./outbox";
import { outbox, useWaiting } from "./outbox_here";
import type { Edited, Edits, Material, Room, Verb, WholeBook, Words } from "./api";
import { text } from "./text";

interface BookAtHand extends WholeBook {
  said: string;
  /** The last edit that waits and was never sent: what undo would take out again. */
  unsent: Waiting | null;
  /**
   * Writes an edit, or keeps it while the program cannot be reached; then `changed` names nothing yet, and a photo of
   * what it adds may call that by the name given as `as`.
   */
  edit: <V extends Verb>(verb: V, body?: Edits[V], as?: string) => Promise<Edited>;
  roomOf: (id: string) => Room | undefined;
  materialOf: (id: string) => Material | undefined;
}

const Context = createContext<BookAtHand | null>(null);

export function useBook(): BookAtHand {
  const book = useContext(Context);
  if (!book) throw new Error("outside the book");
  return book;
}

const told: Record<Verb, (label: string) => string> = {
  add: text.done,
  set: text.done,
  remove: text.done,
  several: text.done,
  look: text.done,
  photo: text.done,
  undo: text.undone,
  redo: text.redone,
};

/** What an edit does, for a list of what waits. */
function inWords(edit: Asked, { book }: WholeBook): string {
  const named = (id: string | undefined) => {
    const items = [book.rooms, book.materials, book.samples, book.events, book.documents, book.jobs].flat();
    const item = items.find((one) => one?.id === id) as { name?: string; title?: string } | undefined;
    return `${id} ${item?.name ?? item?.title ?? ""}`.trim();
  };
  const words = text.waits;
  const of = (photo: Edits["photo"]) => {
    const id = "material" in photo ? photo.material : "room" in photo ? photo.room : undefined;
    return id?.startsWith("@") ? (photo.title ?? "") : named(id);
  };
  switch (edit.verb) {
    case "add": {
      const { name, title, label } = (edit.body.fields ?? {}) as { name?: string; title?: string; label?: string };
      return words.add(edit.body.what ?? "", name ?? title ?? label ?? "");
    }
    case "several":
      return edit.body.label;
    case "look":
      return words.look(named(edit.body.room));
    case "photo":
      return words.photo(of(edit.body));
    default:
      return words.of[edit.verb](named(edit.body.what?.split("/")[0]));
  }
}

/** How often the page looks whether the command or another window has changed the book. */
const LOOK_AGAIN_MS = 5000;

export function BookProvider({ children }: { children: ReactNode }) {
  const [whole, setWhole] = useState<WholeBook | null>(null);
  const [refused, setRefused] = useState<Refused | null>(null);
  const [said, setSaid] = useState("");
  const [kept, setKept] = useState<string | null>(null);
  const { settled } = useFetchedWords();
  const waiting = useWaiting();

  const load = useCallback(async () => {
    try {
      const next = await api.book();
      setWhole((now) => (now && now.revision === next.revision && now.today === next.today ? now : next));
      setRefused(null);
      setKept(keptAt());
      if (keptAt()) return;
      await (await outbox).flush(next.book_id);
    } catch (error) {
      setRefused(Refused.by(error));
    }
  }, []);

  useEffect(() => {
    void load();
    const again = () => document.visibilityState === "visible" && void load();
    const timer = window.setInterval(again, LOOK_AGAIN_MS);
    document.addEventListener("visibilitychange", again);
    window.addEventListener("online", again);
    return () => {
      window.clearInterval(timer);
      window.removeEventListener("online", again);
      document.removeEventListener("visibilitychange", again);
    };
  }, [load]);

  useEffect(() => {
    if (whole && !keptAt()) void keepForLater(whole);
  }, [whole]);

  const value = useMemo((): BookAtHand | null => {
    if (!whole) return null;
    const here = waiting.filter((one) => one.book === whole.book_id);
    // What was refused is not shown as if it held: the person decides on the book as it is.
    const book = withWaiting(
      whole.book,
      here.filter((one) => !one.refused),
    );
    const last = here.at(-1);
    return {
      ...whole,
      book,
      said,
      unsent: last && !last.tried ? last : null,
      async edit<V extends Verb>(verb: V, body?: Edits[V], as?: string) {
        const box = await outbox;
        const nothing = { revision: whole.revision, changed: [] };
        if (verb === "undo") {
          const gone = await box.takeBack(whole.book_id);
          if (gone) {
            setSaid(text.waits.takenBack(gone.words));
            return { label: gone.words, ...nothing };
          }
        }
        try {
          const asked = { verb, body: body ?? {} } as Asked;
          const edited = await box.ask({
            ...asked,
            book: whole.book_id,
            house: whole.book.about.title,
            revision: whole.revision,
            words: inWords(asked, whole),
            at: new Date().toISOString(),
            ...(as ? { as } : {}),
          });
          if (!edited) {
            setSaid(text.waits.kept);
            return { label: "", ...nothing };
          }
          setSaid(told[verb](edited.label));
          // What was just done can be taken back at once, before the book has been read again.
          if (verb !== "undo" && verb !== "redo")
            setWhole((now) => now && { ...now, steps: { undo: edited.label, redo: null } });
          return edited;
        } finally {
          await load();
        }
      },
      roomOf: (id) => book.rooms?.find((room) => room.id === id),
      materialOf: (id) => book.materials?.find((material) => material.id === id),
    };
  }, [whole, waiting, said, load]);

  // Words that came after the rest would move what is under the finger.
  if (!value || !settled) {
    if (!refused) return <p className="waiting">{text.loading}</p>;
    return <Trouble refused={refused} again={() => void load()} />;
  }
  return (
    <Context value={value}>
      {refused ? <Trouble refused={refused} again={() => void load()} /> : null}
      {kept && !refused ? (
        <p className="kept" role="status">
          {text.kept(moment(kept), onPhone())}
        </p>
      ) : null}
      {children}
    </Context>
  );
}

function Trouble({ refused, again }: { refused: Refused; again: () => void }) {
  const first = refused.faults[0];
  const words =
    refused.status === 0
      ? text.closed
      : refused.status === 401
        ? text.locked
        : first
          ? `${first.where} ${first.problem}`.trim()
          : String(refused.status);
  return (
    <div className="trouble" role="alert">
      <p>{words}</p>
      <Button className="button" onPress={again}>
        {text.retry}
      </Button>
    </div>
  );
}

let words: Promise<Words> | null = null;
let here: Words | null = null;

/** The words of the catalogue and the schema, read once; no view is drawn before they are here or refused. */
export function useWords(): Words | null {
  return useFetchedWords().known;
}

function useFetchedWords(): { known: Words | null; settled: boolean } {
  const [state, setState] = useState<{ known: Words | null; settled: boolean }>(() => ({
    known: here,
    settled: here !== null,
  }));
  useEffect(() => {
    if (here) return;
    let wanted = true;
    words ??= api.words();
    words.then(
      (got) => {
        here = got;
        if (wanted) setState({ known: got, settled: true });
      },
      () => {
        words = null;
        if (wanted) setState({ known: null, settled: true });
      },
    );
    return () => {
      wanted = false;
    };
  }, []);
  return state;
}

/**
 * An answer of the program that hangs on the book's state; the last one stays while the next is fetched. `refused` says
 * why there is none. `fetcher` is one of `api`'s, the same at every call.
 */
export function useAnswer<T>(
  fetcher: (id: string) => Promise<T>,
  id = "",
): { answer: T | null; gone: boolean; refused: Refused | null } {
  const { revision } = useBook();
  const [state, setState] = useState<{ id: string; answer: T | null; refused: Refused | null }>({
    id,
    answer: null,
    refused: null,
  });
  useEffect(() => {
    let wanted = true;
    fetcher(id).then(
      (answer) => wanted && setState({ id, answer, refused: null }),
      (error: unknown) => wanted && setState({ id, answer: null, refused: Refused.by(error) }),
    );
    return () => {
      wanted = false;
    };
  }, [fetcher, id, revision]);
  const now = state.id === id ? state : { answer: null, refused: null };
  return { answer: now.answer, gone: now.refused !== null, refused: now.refused };
}
