// Edits on their way to the program: kept in the browser until each is known to be written, in order, each exactly once.
// Every edit has a key drawn at random; the program answers a key it has seen before as it did then and writes nothing,
// so that an edit whose answer was lost may be sent again. Which revision an edit was made on moves with our own edits
// before it, never past a foreign one: what another window did meanwhile is told as a clash, not written over.
import { Refused } from "./api";
import type { Book, Edited, Edits, Fault, Verb } from "./api";

/** What is asked of the program. */
export type Asked = { [V in Verb]: { verb: V; body: Edits[V] } }[Verb];

/** An edit as the page makes it. */
export type Draft = Asked & {
  book: string; // the book_id it is meant for
  house: string; // that book's title
  revision: number; // of the book it was made on
  words: string; // what it does, for a list of what waits
  at: string; // when it was made, ISO 8601
  as?: string; // what photos made after it call what it adds, until it has an id
};

export type Waiting = Draft & {
  seq: number;
  key: string;
  tried: boolean; // sent at least once: it may have been written
  refused: Fault[] | null; // the program's answer, for the person to decide on
};

/** Where waiting edits lie, in the order in which they were put there. */
export interface Shelf {
  all: () => Promise<Waiting[]>;
  add: (entry: Draft & Omit<Waiting, "seq" | keyof Draft>) => Promise<Waiting>;
  /** At one go: some changed, some gone. */
  settle: (changed: Waiting[], gone: number[]) => Promise<void>;
}

/** Runs one thing at a time, over all windows of this browser. */
export type Alone = <T>(work: () => Promise<T>) => Promise<T>;
type Post = (edit: Asked, revision: number, key: string) => Promise<Edited>;

export function drawKey(book: string): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return `${book}-${Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("")}`;
}

/** A name for what an edit adds, drawn at random: "@" and what no id looks like. */
export const newName = (): string => `@${drawKey("").slice(1)}`;

/** A photo of something that had no id when it was made, now that it has one. */
function withId<E extends Asked>(edit: E, name: string | undefined, id: string | undefined): E {
  if (edit.verb !== "photo" || !name || !id || !("material" in edit.body) || edit.body.material !== name) return edit;
  return { ...edit, body: { ...edit.body, material: id } };
}

/** The ids of the items whose state an edit leans on; none for something new, which clashes with nothing. */
export function leansOn(edit: Asked): string[] {
  const item = (what: string | undefined) => (/^([A-Z]+\d+|about)/.test(what ?? "") ? [what!.split("/")[0]!] : []);
  switch (edit.verb) {
    case "several":
      return edit.body.parts.flatMap((part) => ("set" in part ? item(part.set) : []));
    case "look":
      return item(edit.body.room);
    case "photo":
      return [];
    default:
      return item(edit.body.what);
  }
}

/** The revision an edit may claim to have seen, given what was written from here since it was made. */
export function seenBy(draft: Draft, ours: ReadonlyMap<string, number>): number {
  const newest = (id: string) => Math.max(draft.revision, ours.get(`${draft.book} ${id}`) ?? 0);
  if (draft.verb === "undo" || draft.verb === "redo") return newest("");
  const items = leansOn(draft);
  return items.length === 0 ? draft.revision : Math.min(...items.map(newest));
}

/** The program was not there, had no key for this window, or serves another book: nothing was decided. */
function undecided(refused: Refused): boolean {
  return refused.status === 0 || refused.status === 401 || refused.faults[0]?.where === "Idempotency-Key";
}

export class Outbox {
  private readonly ours = new Map<string, number>(); // "book item" and "book " → the revision of our last edit of it
  private readonly named = new Map<string, string>(); // what was added under a name of the page → its id

  constructor(
    private readonly shelf: Shelf,
    private readonly post: Post,
    private readonly alone: Alone,
    private readonly changed: () => void = () => undefined,
  ) {}

  all = () => this.shelf.all();

  /** Sends an edit, after all that waits; null when it waits too. A refusal is thrown and nothing of it stays. */
  ask(draft: Draft): Promise<Edited | null> {
    return this.alone(async () => {
      const free = await this.drained(draft.book);
      const revision = seenBy(draft, this.ours);
      const edit = [...this.named].reduce((one, [name, id]) => withId(one, name, id), draft);
      const entry = await this.shelf.add({ ...edit, revision, key: drawKey(draft.book), tried: free, refused: null });
      if (!free) return null;
      const sent = await this.send(entry);
      if (!(sent instanceof Refused)) return sent;
      if (undecided(sent)) return null;
      await this.shelf.settle([], [entry.seq]);
      throw sent;
    }).finally(this.changed);
  }

  /** Sends what waits for this book, as far as it goes. */
  async flush(book: string): Promise<void> {
    const waits = (await this.shelf.all()).some((one) => one.book === book && !one.refused);
    if (!waits) return;
    await this.alone(() => this.drained(book)).finally(this.changed);
  }

  /** Takes the last edit that waits out again, if the program cannot have seen it; answers what it was. */
  takeBack(book: string): Promise<Waiting | null> {
    return this.alone(async () => {
      const last = (await this.shelf.all()).filter((one) => one.book === book).at(-1);
      if (!last || last.tried) return null;
      await this.shelf.settle([], [last.seq]);
      return last;
    }).finally(this.changed);
  }

  /** An edit that was refused, or never sent, is given up, and with it the photos of what it would have added. */
  giveUp(seq: number): Promise<void> {
    return this.alone(async () => {
      const all = await this.shelf.all();
      const one = all.find((entry) => entry.seq === seq);
      if (!one || !(one.refused || !one.tried)) return;
      const leaning = all.filter((entry) => withId(entry, one.as, "gone") !== entry);
      await this.shelf.settle([], [seq, ...leaning.map((entry) => entry.seq)]);
    }).finally(this.changed);
  }

  /** A refused edit is made anew on the book as the person sees it now. */
  offerAgain(seq: number, revision: number): Promise<void> {
    return this.alone(async () => {
      const one = (await this.shelf.all()).find((entry) => entry.seq === seq && entry.refused);
      if (!one) return;
      await this.shelf.settle([{ ...one, refused: null, revision }], []);
      await this.drained(one.book);
    }).finally(this.changed);
  }

  /** Whether nothing waits for this book any longer. */
  private async drained(book: string): Promise<boolean> {
    for (;;) {
      const next = (await this.shelf.all()).find((one) => one.book === book);
      if (!next) return true;
      if (next.refused) return false;
      if (!next.tried) await this.shelf.settle([{ ...next, tried: true }], []);
      const sent = await this.send(next);
      if (!(sent instanceof Refused)) continue;
      if (!undecided(sent)) await this.shelf.settle([{ ...next, tried: true, refused: sent.faults }], []);
      return false;
    }
  }

  /** Sends one; once it is written it leaves the shelf, and those behind it have seen it. */
  private async send(entry: Waiting): Promise<Edited | Refused> {
    let edited: Edited;
    try {
      edited = await this.post(entry, entry.revision, entry.key);
    } catch (error) {
      return Refused.by(error);
    }
    for (const id of ["", ...edited.changed]) this.ours.set(`${entry.book} ${id}`, edited.revision);
    const behind = (await this.shelf.all()).filter((one) => one.book === entry.book && one.seq !== entry.seq);
    const id = edited.changed[0];
    if (entry.as && id) this.named.set(entry.as, id);
    const moved = behind.map((one) => ({ ...withId(one, entry.as, id), revision: seenBy(one, this.ours) }));
    await this.shelf.settle(moved, [entry.seq]);
    return edited;
  }
}

/** The book as it will read once what waits is written; what follows from it, only the program can say. */
export function withWaiting(book: Book, waiting: readonly Waiting[]): Book {
  const changes = new Map<string, Record<string, unknown>>();
  for (const { verb, body } of waiting) {
    if (verb !== "set" || !body.what || !body.fields) continue;
    changes.set(body.what, { ...changes.get(body.what), ...body.fields });
  }
  if (changes.size === 0) return book;
  const changed = (item: { id: string }) => {
    const fields = changes.get(item.id);
    if (!fields) return item;
    return Object.fromEntries(Object.entries({ ...item, ...fields }).filter(([, value]) => value !== null));
  };
  const lists = Object.entries(book).map(([name, list]: [string, unknown]) => [
    name,
    Array.isArray(list) ? list.map(changed) : list,
  ]);
  return Object.fromEntries(lists) as Book;
}
