// The shelf of waiting edits in this browser's IndexedDB: it holds photos too, outlives the window and is shared by all of
// them. Where the browser gives no such place the edits wait as long as the window does.
import type { Alone, Shelf, Waiting } from "./outbox";

const NAME = "lathbook";
const STORE = "waiting";

function opened(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE, { keyPath: "seq", autoIncrement: true });
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("no IndexedDB"));
  });
}

/** Runs work on the store in one transaction and answers once that is on the disk. */
async function within<T>(mode: IDBTransactionMode, work: (store: IDBObjectStore) => IDBRequest<T> | null): Promise<T> {
  const database = await opened();
  try {
    return await new Promise<T>((resolve, reject) => {
      const transaction = database.transaction(STORE, mode, { durability: "strict" });
      const request = work(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(request ? request.result : (undefined as T));
      transaction.onabort = () => reject(transaction.error ?? new Error("not kept"));
    });
  } finally {
    database.close();
  }
}

const inBrowser: Shelf = {
  all: () => within("readonly", (store) => store.getAll() as IDBRequest<Waiting[]>),
  async add(entry) {
    const seq = await within("readwrite", (store) => store.add(entry));
    return { ...entry, seq: seq as number };
  },
  async settle(changed, gone) {
    await within<undefined>("readwrite", (store) => {
      for (const entry of changed) store.put(entry);
      for (const seq of gone) store.delete(seq);
      return null;
    });
  },
};

/** A shelf that lasts as long as the window. */
export function inMemory(): Shelf {
  let entries: Waiting[] = [];
  let last = 0;
  return {
    all: () => Promise.resolve(entries),
    add(entry) {
      const kept = { ...entry, seq: ++last };
      entries = [...entries, kept];
      return Promise.resolve(kept);
    },
    settle(changed, gone) {
      entries = entries
        .filter((one) => !gone.includes(one.seq))
        .map((one) => changed.find((other) => other.seq === one.seq) ?? one);
      return Promise.resolve();
    },
  };
}

export async function openShelf(): Promise<Shelf> {
  try {
    await inBrowser.all();
    return inBrowser;
  } catch {
    return inMemory();
  }
}

/** One at a time in this window alone. */
export function inTurn(): Alone {
  let last: Promise<unknown> = Promise.resolve();
  return (work) => {
    const mine = last.then(work);
    last = mine.catch(() => undefined);
    return mine;
  };
}

/** One at a time over all windows. */
export const overWindows: Alone = async (work) => {
  let mine: ReturnType<typeof work> | undefined;
  await navigator.locks.request("lathbook-outbox", () => (mine = work()));
  return mine!;
};
