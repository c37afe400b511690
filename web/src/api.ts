// How the program is asked. What it is asked and answers is described in src/http/schemas/, of which types.mjs makes types.
import type { Edited, Event, Fault, Gets, Job, Posts, Refusal } from "./api_types";

export type * from "./api_types";

/** What was wrong, in the program's own words; `status` 0 means that the program was not reached at all. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly faults: Fault[],
  ) {
    super(faults.map((fault) => `${fault.where} ${fault.problem}`.trim()).join("; "));
  }

  /** What was thrown, as a refusal; anything else counts as the program not being there. */
  static by(error: unknown): Refused {
    return error instanceof Refused ? error : new Refused(0, []);
  }
}

let kept: string | null = null;

/** When the last answer about the book was given, if it comes from what this browser kept; null = just now. */
export const keptAt = (): string | null => kept;

async function ask<T>(path: string, init?: RequestInit): Promise<T> {
  let response: Response;
  try {
    response = await fetch(path, { credentials: "same-origin", ...init });
  } catch {
    throw new Refused(0, []);
  }
  if (path === "/api/book") kept = response.headers.get("Lathbook-Kept");
  const answer: unknown = await response.json().catch(() => ({ faults: [] }));
  if (!response.ok) throw new Refused(response.status, (answer as Refusal).faults);
  return answer as T;
}

/** The questions that change the book: their answer tells what was done. */
export type Verb = { [W in keyof Posts]: Posts[W]["answer"] extends Edited ? W : never }[keyof Posts];

/** What each of them says, but for the revision it was made on. */
export type Edits = { [V in Verb]: Omit<Posts[V]["request"], "revision"> };

const get = <W extends keyof Gets>(word: W, one?: string | number, init?: RequestInit) =>
  ask<Gets[W]["answer"]>(`/api/${word}${one === undefined ? "" : `/${encodeURIComponent(one)}`}`, init);

const post = <W extends keyof Posts>(
  word: W,
  body: Posts[W]["request"],
  init?: { headers: Record<string, string>; signal: AbortSignal },
) =>
  ask<Posts[W]["answer"]>(`/api/${word}`, {
    ...init,
    method: "POST",
    headers: { "Content-Type": "application/json", ...init?.headers },
    body: JSON.stringify(body),
  });

/** How long an answer may take before the link counts as down. */
const PATIENCE_MS = 20_000;
const PATIENCE_FOR_A_FILE_MS = 120_000;

export const api = {
  book: () => get("book", undefined, { signal: AbortSignal.timeout(PATIENCE_MS) }),
  words: () => get("schema"),
  job: (id: string) => get("check", id),
  material: (id: string) => get("material", id),
  walk: (room: string) => get("walk", room),
  walks: () => get("walks"),
  backs: (room: string) => get("backs", room),
  certificate: (id: string) => get("certificate", id),
  testing: () => get("testing"),
  timeline: () => get("timeline"),
  waste: () => get("waste"),
  now: () => get("now"),
  /** What check says of a job that is not written down, or not so. */
  tryJob: (job: Partial<Job>) => post("try", { job }),
  /** An event at once and roughly; of the book by its id, or not written down. */
  rough: (event: string | Partial<Event>) => post("rough", { event }),
  reckon: (event: string | Partial<Event>) => post("reckon", { event }),
  reckoned: (run: number) => get("reckon", run),
  stop: (run: number) => post("stop", { run }),
  /** What a laboratory's PDF says of the samples; the program forgets it again. */
  readReport: (pdf: string) => post("report", { base64: pdf }),
  phone: () => get("phone"),
  newPhoneCode: () => post("pairing", {}),
  revokePhone: (id: string) => post("unpair", { id }),
  paper: (order: string) => get("paper", order),
  /** The program does an edit once for each key, however often it is sent. */
  edit: <V extends Verb>(verb: V, body: Posts[V]["request"], key: string) =>
    post(verb, body, {
      headers: { "Idempotency-Key": `"${key}"` },
      signal: AbortSignal.timeout(verb === "photo" || verb === "several" ? PATIENCE_FOR_A_FILE_MS : PATIENCE_MS),
    }),
};
