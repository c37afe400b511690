import { describe, expect, it } from "vitest";
import { Refused } from "./api";
import type { Book, Edited, Fault } from "./api";
import { Outbox, drawKey, leansOn, newName, seenBy, withWaiting } from "./outbox";
import type { Asked, Draft } from "./outbox";
import { inMemory, inTurn } from "./shelf";

const BOOK = "0123456789abcdef";
const fault = (where: string): Fault => ({ where, value: "", problem: "has been changed meanwhile", allowed: "" });

/** A program as docs/formats/http.md has it: one counter a item, clashes told, each key done once. */
class Program {
  revision = 1;
  readonly written: string[] = [];
  readonly item = new Map<string, number>();
  private readonly answers = new Map<string, Edited>();
  /** What happens to the next requests: lost on the way there, lost on the way back. */
  weather: ("there" | "back" | "fine")[] = [];
  up = true;

  write(words: string, items: string[]): Edited {
    this.revision += 1;
    this.written.push(words);
    for (const id of items) this.item.set(id, this.revision);
    return { label: words, revision: this.revision, changed: items };
  }

  post = (edit: Asked, seen: number, key: string): Promise<Edited> => {
    const weather = this.up ? (this.weather.shift() ?? "fine") : "there";
    if (weather === "there") return Promise.reject(new Refused(0, []));
    if (!key.startsWith(BOOK)) return Promise.reject(new Refused(409, [fault("Idempotency-Key")]));
    const before = this.answers.get(key);
    if (!before) {
      const items = leansOn(edit);
      const moved = edit.verb === "undo" ? seen !== this.revision : items.some((id) => (this.item.get(id) ?? 0) > seen);
      if (moved) return Promise.reject(new Refused(409, [fault(items[0] ?? "the book")]));
      const of = edit.verb === "photo" && "material" in edit.body ? ` of ${edit.body.material}` : "";
      const words = edit.verb === "set" ? edit.body.typed![0]! : edit.verb + of;
      this.answers.set(key, this.write(words, edit.verb === "add" ? [`M${this.revision}`] : items));
    }
    if (weather === "back") return Promise.reject(new Refused(0, []));
    return Promise.resolve(this.answers.get(key)!);
  };
}

const draft = (words: string, what: string, revision: number): Draft => ({
  book: BOOK,
  house: "A house",
  verb: "set",
  body: { what, typed: [words] },
  revision,
  words,
  at: "2026-11-25T12:00:00Z",
});

const added = (as: string): Draft => ({ ...draft("new", "", 1), verb: "add", body: { what: "material" }, as });
const photo = (material: string): Draft => ({
  ...draft("photo", "", 1),
  verb: "photo",
  body: { material, base64: "" },
});
const parts = (...ids: string[]) => ({
  label: "several",
  parts: [...ids.map((set) => ({ set, fields: {} })), { add: "room", fields: {} }],
});
const made = (program: Program, shelf = inMemory()) => new Outbox(shelf, program.post, inTurn());

describe("outbox", () => {
  it("draws a key for the book, never the same twice", () => {
    expect(drawKey(BOOK)).toMatch(/^0123456789abcdef-[0-9a-f]{32}$/);
    expect(drawKey(BOOK)).not.toBe(drawKey(BOOK));
  });

  it("knows what an edit leans on", () => {
    expect(leansOn({ verb: "set", body: { what: "J3/cuts/1" } })).toEqual(["J3"]);
    expect(leansOn({ verb: "set", body: { what: "about" } })).toEqual(["about"]);
    expect(leansOn({ verb: "add", body: { what: "material" } })).toEqual([]);
    expect(leansOn({ verb: "add", body: { what: "J3/cuts" } })).toEqual(["J3"]);
    expect(leansOn({ verb: "look", body: { room: "R2", families: ["paper"], answer: "none seen" } })).toEqual(["R2"]);
    expect(leansOn({ verb: "several", body: parts("R1", "R2") })).toEqual(["R1", "R2"]);
  });

  it("claims to have seen our own edits and no others", () => {
    const ours = new Map([
      [`${BOOK} `, 9],
      [`${BOOK} M1`, 9],
      ["another M2", 9],
    ]);
    expect(seenBy(draft("a", "M1", 4), ours)).toBe(9);
    expect(seenBy(draft("a", "M2", 4), ours)).toBe(4);
    expect(seenBy({ ...draft("a", "", 4), verb: "undo", body: {} }, ours)).toBe(9);
    const both = { ...draft("a", "", 4), verb: "several" as const, body: parts("M1", "M2") };
    expect(seenBy(both, ours)).toBe(4);
  });

  it("keeps a photo of something that has no id yet, and sends it with the id it came to have", async () => {
    const program = new Program();
    const box = made(program);
    program.up = false;
    const [one, other] = [newName(), newName()];
    expect(one).not.toBe(other);
    for (const edit of [added(one), photo(one), photo("M9"), added(other), photo(other)])
      expect(await box.ask(edit)).toBeNull();
    program.up = true;
    await box.flush(BOOK);
    expect(program.written).toEqual(["add", "photo of M1", "photo of M9", "add", "photo of M4"]);
    expect(await box.all()).toEqual([]);
  });

  it("knows the id also when the photo is made after what it is of was sent", async () => {
    const program = new Program();
    const box = made(program);
    program.weather = ["back"]; // written, but its answer is lost
    const name = newName();
    expect(await box.ask(added(name))).toBeNull();
    await box.flush(BOOK);
    expect((await box.ask(photo(name)))?.label).toBe("photo of M1");
  });

  it("gives up the photos of what is given up", async () => {
    const program = new Program();
    const box = made(program);
    program.up = false;
    const name = newName();
    // Behind one that was tried, none of these was.
    for (const edit of [draft("a", "M1", 1), added(name), photo(name), photo("M9")]) await box.ask(edit);
    const waiting = await box.all();
    await box.giveUp(waiting[1]!.seq);
    expect((await box.all()).map((one) => one.seq)).toEqual([waiting[0]!.seq, waiting[3]!.seq]);
  });

  it("sends at once while the program is there, and undo straight after it", async () => {
    const program = new Program();
    const box = made(program);
    expect((await box.ask(draft("one", "M1", 1)))?.revision).toBe(2);
    // The page still has revision 1 at hand.
    expect((await box.ask(draft("two", "M1", 1)))?.revision).toBe(3);
    expect((await box.ask({ ...draft("back", "", 1), verb: "undo", body: {} }))?.revision).toBe(4);
    expect(await box.all()).toEqual([]);
  });

  it("keeps what is made meanwhile and sends it in order, the window closed or not", async () => {
    const program = new Program();
    const shelf = inMemory();
    program.up = false;
    for (const [words, what] of [
      ["one", "M1"],
      ["two", "M1"],
      ["three", "M2"],
    ] as const)
      expect(await made(program, shelf).ask(draft(words, what, 1))).toBeNull();
    program.up = true;
    const later = made(program, shelf);
    await later.flush(BOOK);
    expect(program.written).toEqual(["one", "two", "three"]);
    expect(await later.all()).toEqual([]);
  });

  it("writes an edit once whose answer was lost", async () => {
    const program = new Program();
    const box = made(program);
    program.weather = ["back", "back"];
    expect(await box.ask(draft("one", "M1", 1))).toBeNull();
    expect((await box.all())[0]).toMatchObject({ words: "one", tried: true });
    await box.flush(BOOK);
    await box.flush(BOOK);
    expect(program.written).toEqual(["one"]);
    expect(await box.all()).toEqual([]);
  });

  it("tells a clash with a foreign edit, holds what is behind it, and offers it again", async () => {
    const program = new Program();
    const box = made(program);
    program.up = false;
    await box.ask(draft("mine", "M1", 1));
    await box.ask(draft("behind", "M2", 1));
    program.up = true;
    program.write("theirs", ["M1"]);
    await box.flush(BOOK);
    expect(program.written).toEqual(["theirs"]);
    const [first] = await box.all();
    expect(first!.refused).toEqual([fault("M1")]);
    await box.flush(BOOK); // not again by itself
    expect(program.written).toEqual(["theirs"]);
    expect(await box.ask(draft("last", "M3", 2))).toBeNull();
    await box.offerAgain(first!.seq, program.revision);
    expect(program.written).toEqual(["theirs", "mine", "behind", "last"]);
  });

  it("gives up what was refused, and what was never sent, but nothing that may be written", async () => {
    const program = new Program();
    const box = made(program);
    program.weather = ["back"];
    await box.ask(draft("sent", "M1", 1));
    program.up = false;
    await box.ask(draft("unsent", "M2", 1));
    const [sent, unsent] = await box.all();
    await box.giveUp(sent!.seq);
    await box.giveUp(unsent!.seq);
    expect((await box.all()).map((one) => one.words)).toEqual(["sent"]);
    expect(await box.takeBack(BOOK)).toBeNull();
    await box.ask(draft("other", "M2", 1));
    expect((await box.takeBack(BOOK))?.words).toBe("other");
  });

  it("throws a refusal at whoever has just asked, and keeps nothing of it", async () => {
    const program = new Program();
    const box = made(program);
    program.write("theirs", ["M1"]);
    await expect(box.ask(draft("mine", "M1", 1))).rejects.toMatchObject({ status: 409 });
    expect(await box.all()).toEqual([]);
  });

  it("keeps an edit of another book for that book", async () => {
    const program = new Program();
    const box = made(program);
    const other = "fedcba9876543210";
    expect(await box.ask({ ...draft("there", "M1", 1), book: other })).toBeNull();
    await box.ask(draft("here", "M1", 1));
    await box.flush(BOOK);
    expect(program.written).toEqual(["here"]);
    expect((await box.all()).map((one) => [one.book, one.refused])).toEqual([[other, null]]);
  });

  it("does each once and in order whatever the link does", async () => {
    let state = 7;
    const below = (n: number) => {
      state = (state * 48271) % 2147483647; // Lehmer's generator, MINSTD
      return state % n;
    };
    for (let round = 0; round < 60; ++round) {
      const program = new Program();
      const shelf = inMemory();
      const asked: string[] = [];
      let box = made(program, shelf);
      let seen = 1;
      for (let i = 0; i < 25; ++i) {
        program.weather = Array.from({ length: below(4) }, () => (["there", "back", "fine"] as const)[below(3)]!);
        program.up = below(4) > 0;
        if (program.up && below(5) === 0) {
          box = made(program, shelf); // the window is opened anew, and reads the book
          seen = program.revision;
        }
        asked.push(`edit ${i}`);
        await box.ask(draft(`edit ${i}`, `M${below(3)}`, seen));
        if (below(3) === 0) await box.flush(BOOK);
      }
      program.up = true;
      program.weather = [];
      await box.flush(BOOK);
      expect(program.written).toEqual(asked);
    }
  });
});

describe("the book with what waits", () => {
  const book: Book = {
    format: "lathbook-book",
    version: 1,
    about: { title: "A house", currency: "GBP", rules: "gb" },
    rooms: [{ id: "R1", name: "Hall", storey: "L1", outline: [], notes: "old" }],
  };
  it("shows fields that were set, and takes away what was emptied", () => {
    const wait = (fields: Record<string, unknown>, seq: number) => ({
      ...draft("x", "R1", 1),
      verb: "set" as const,
      body: { what: "R1", fields },
      seq,
      key: "k",
      tried: false,
      refused: null,
    });
    const shown = withWaiting(book, [wait({ name: "Long hall" }, 1), wait({ notes: null }, 2)]);
    expect(shown.rooms).toEqual([{ id: "R1", name: "Long hall", storey: "L1", outline: [] }]);
    expect(shown.about).toBe(book.about);
    expect(withWaiting(book, [])).toBe(book);
  });
});
