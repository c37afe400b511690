// What the program answers (src/http/site.cpp) and how it is asked.

export type Point = [number, number];
export type Standing =
  "presumed" | "strongly presumed" | "identified" | "no asbestos detected" | "proven later than the ban";

export interface Shape {
  point?: Point;
  line?: Point[];
  width_m?: number;
  outline?: Point[];
  left_m?: number;
  right_m?: number;
  low_m?: number;
  high_m?: number;
}
export interface Storey {
  id: string;
  name: string;
  floor_m: number;
  height_m: number;
}
export interface Room {
  id: string;
  name: string;
  storey: string;
  outline: Point[];
  kind?: string;
  use?: string;
  height_m?: number;
  phase?: string;
  notes?: string;
  [field: string]: unknown;
}
export interface Placed {
  room: string;
  face: string;
  shape?: Shape;
}
export interface Material extends Placed {
  id: string;
  name: string;
  family: string;
  layer?: number;
  damage?: string;
  removed_on?: string;
  notes?: string;
  [field: string]: unknown;
}
export interface Cut extends Placed {
  task: string;
  count?: number;
  minutes?: number;
  depth?: string;
  controls?: string[];
}
export interface Job {
  id: string;
  title: string;
  by?: string;
  wanted_on?: string;
  done_on?: string;
  cuts?: Cut[];
  notes?: string;
  [field: string]: unknown;
}
export interface Opening {
  id: string;
  kind: string;
  from: string;
  to?: string;
  at: Point;
  width_m?: number;
}
export interface Book {
  about: { title: string; currency: string; rules: string };
  storeys?: Storey[];
  rooms?: Room[];
  openings?: Opening[];
  materials?: Material[];
  jobs?: Job[];
  phases?: { id: string; name: string; years: { from: number; to: number } }[];
  groups?: { id: string; name?: string }[];
  samples?: Sample[];
  results?: Result[];
  parties?: Party[];
  vehicles?: Vehicle[];
  documents?: { id: string; title: string; kind: string; media_type: string; dated?: string; material?: string }[];
  sites?: { id: string; name: string; conditions?: string }[];
  pieces?: Piece[];
  events?: Event[];
  people?: Person[];
}
export interface Person {
  id: string;
  name: string;
  role?: string;
}
/** What happened, or is imagined. Minutes count from its start. */
export interface Event {
  id: string;
  title: string;
  started_at: string;
  imagined?: boolean;
  materials?: string[];
  cuts?: Cut[];
  stays?: { person: string; room: string; from_min: number; to_min: number; at_the_work?: boolean }[];
  masks?: {
    person: string;
    respirator: string;
    from_min: number;
    to_min: number;
    share_worn?: number;
    beard?: boolean;
  }[];
  cleaning?: { task: string; from_min: number; to_min: number; by?: string }[];
  openings?: { opening: string; state: string; from_min: number; to_min: number }[];
  notes?: string;
}
export interface Sample {
  id: string;
  material: string;
  label?: string;
  spot?: string;
  taken_on?: string;
  sent_on?: string;
  laboratory?: string;
  [field: string]: unknown;
}
export interface Result {
  id: string;
  sample: string;
  found: boolean;
  fibres?: string[];
  amount?: string;
  method?: string;
  reported_on?: string;
}
export interface Party {
  id: string;
  name: string;
  role: string;
}
export interface Vehicle {
  id: string;
  name: string;
  length_m: number;
  width_m: number;
  height_m: number;
  door_width_m?: number;
  door_height_m?: number;
  payload_kg: number;
}
export interface Piece {
  id: string;
  name: string;
  material?: string;
  length_m: number;
  width_m: number;
  thickness_mm: number;
  count?: number;
}
export interface Reason {
  text: string;
  source: string;
}
export interface Known {
  id: string;
  name: string;
  family: string;
  room: string;
  face: string;
  suspect: boolean;
  released: boolean;
  standing?: Standing;
  probability?: number;
  low?: number;
  high?: number;
  clear_samples?: number;
  samples_needed?: number;
  material_score?: { product: number; damage: number; surface: number; fibre: number; total: number; band: string };
  priority_score?: number;
  advice?: string;
  next_look?: string;
}
export interface KnownWithReasons extends Known {
  reasons: Reason[];
}
export interface Touch {
  material: string;
  name: string;
  family: string;
  room: string;
  side: string;
  certainty: string;
  distance_m: number;
  released: boolean;
  tasks: string[];
  standing?: Standing;
  probability?: number;
  low?: number;
  high?: number;
  class?: string;
  may?: string;
}
export interface WayOn {
  kind: string;
  text: string;
  cost?: number;
  days?: [number, number];
  chance_clear?: number;
  materials: string[];
}
export interface JobAnswer {
  job: string;
  title: string;
  by: string;
  verdict: string;
  exit_status: number;
  sentence: string;
  class: string | null;
  touches: Touch[];
  unwritten: { room: string; face: string }[];
  ways_on: WayOn[];
}
export interface FullJobAnswer extends JobAnswer {
  duties: Reason[];
  precautions: string[];
  cautions: string[];
  reasons: Reason[];
}
export interface Wall {
  left: Point;
  along: Point;
  length_m: number;
}
export interface WholeBook {
  revision: number;
  file: string;
  today: string;
  steps: { undo: string | null; redo: string | null };
  book: Book;
  materials: Record<string, Known>;
  jobs: JobAnswer[];
  room_years: Record<string, [number, number]>;
  walls: Record<string, Record<string, Wall>>;
}
/** The 5th, 50th and 95th percentile. */
export interface Band {
  low: number;
  middle: number;
  high: number;
}
export interface RoomAnswer {
  id: string;
  name: string;
  f_per_ml: Band[];
  mean_10min_max: Band;
  mean_4h_max: Band;
  chance_over_10min_limit: number;
  chance_over_4h_limit: number;
  load_f_per_cm2: Band;
  week_adds_f_per_ml_h: Band;
  "minutes_until_below_0.01": Band | null;
  "minutes_until_below_0.0005": Band | null;
}
export interface RiskModel {
  model: string;
  low_per_million: number;
  middle_per_million: number;
  high_per_million: number;
  in_words: string;
  reasons: Reason[];
}
export interface PersonAnswer {
  id: string;
  name: string;
  breathed_f_per_ml_h: Band;
  without_mask_f_per_ml_h: Band;
  risk: { in_words: string; low_per_million: number; high_per_million: number; models: RiskModel[] };
}
export interface EventAnswer {
  event: string;
  title: string;
  started_at: string;
  imagined: boolean;
  draws: number;
  error: number;
  stopped: string;
  times_min: number[];
  work_end_min: number;
  rooms: RoomAnswer[];
  people: PersonAnswer[];
  matters: { id: string; what: string; correlation: number; source: string }[];
  changes: { what: string; ratio: number }[];
  context: { what: string; breathed_f_per_ml_h: number; source: string }[];
  everyday: { what: string; per_million: number; source: string }[];
  disagree: Reason[];
  cautions: string[];
  reasons: Reason[];
}
export interface Reckoning {
  state: "running" | "done" | "stopped" | "replaced";
  share_done: number;
  answer: EventAnswer | null;
}
export type Amount = "small" | "large";
export interface FirstResponses {
  steps: Record<string, { text: string; source: string }>;
  kinds: { binding: string; families: { id: string; name: string }[]; small: string[]; large: string[] }[];
}
/** What an answer of the laboratory would change. */
export interface Change {
  jobs: { job: string; before: string; after: string }[];
  beliefs: { material: string; before: number; after: number }[];
}
export interface PlannedTest {
  material: string;
  samples: number;
  saves: number;
  chance_clear: number;
  jobs: string[];
  yourself: boolean;
  who: Reason;
  taking: Reason[];
  spots: { label: string; words: string; lines: string[]; at?: Point }[];
  if_clear: Change;
  if_found: Change;
}
/** Money of a test plan is in whole units of the currency. */
export interface TestPlan {
  currency: string;
  cost_now: number;
  cost_best: number;
  cost_with_perfect_information: number;
  exact: boolean;
  gap: number;
  tests: PlannedTest[];
  curve: { samples: number; tests: string[]; expected_cost: number }[];
  in_rounds: { exact: boolean; expected_cost: number; first: string[] };
  laboratory_days?: number;
  not_worth: { material: string; why: string }[];
  left_out: { job: string; why: string }[];
  bring: Reason[];
  steps: Reason[];
  reasons: Reason[];
}
export interface DateRange {
  low: string;
  p10: string;
  median: string;
  p90: string;
  high: string;
}
export interface Activity {
  id: string;
  name: string;
  job?: string;
  material?: string;
  after: string[];
  start: string;
  finish: string;
  start_range: DateRange;
  finish_range: DateRange;
  happens_share: number;
  critical: boolean;
  skipped: boolean;
  slack_days: number;
  held_by: string;
  held_by_ids: string[];
  wanted_on?: string;
}
export interface Timeline {
  activities: Activity[];
  finish: string;
  finish_range: DateRange;
  reasons: Reason[];
  next: string[];
}
export type How = "flat" | "on edge" | "leaning";
export interface Pile {
  how: How;
  x_m: number;
  y_m: number;
  size_x_m: number;
  size_y_m: number;
  height_m: number;
  pieces: string[];
}
export interface WastePiece {
  id: string;
  name: string;
  material: string;
  count: number;
  whole: boolean;
  way: string;
  why: string;
  code: string;
  code_means: string;
  transport: string;
  mass_kg: { low: number; likely: number; high: number };
  marks: string[];
  householder_papers: string;
  trade_papers: string;
  reasons: Reason[];
}
export interface WasteRun {
  vehicle: string | null;
  site: string | null;
  trips: { mass_kg: number; pieces: { id: string; count: number; how: How }[]; piles: Pile[] }[];
  will_not_go: { id: string; why: string; would_take: string }[];
  proved_fewest: boolean;
  at_least: number;
  months: number;
  cost_low: number;
  cost_high: number;
  cost_parts: string[];
  conditions: string[];
  ask_your_site: string[];
  reasons: Reason[];
}
export interface Waste {
  currency: string;
  pieces: WastePiece[];
  runs: WasteRun[];
  carriers: { party: string; name: string; price?: number; lead_days?: number }[];
  wrap: {
    polythene_m2: number;
    tape_m: number;
    bags: number;
    heavy: string[];
    shopping: { number: number; what: string; note: string }[];
  };
  next: string[];
}
export interface PaperFile {
  name: string;
  media_type: string;
  bytes: number;
}
export interface JsonSchema {
  type?: string;
  description?: string;
  properties?: Record<string, JsonSchema>;
  required?: string[];
  enum?: string[];
  $ref?: string;
  format?: string;
  minimum?: number;
  maximum?: number;
  exclusiveMinimum?: number;
  maxLength?: number;
  anyOf?: JsonSchema[];
  items?: JsonSchema;
  $defs?: Record<string, JsonSchema>;
  "x-money"?: boolean;
}
export interface Family {
  id: string;
  name: string;
  suspect: boolean;
  description: string;
}
export interface Words {
  schema: JsonSchema;
  families: Family[];
  tasks: { id: string; name: string }[];
  controls: { id: string; name: string }[];
  respirators: { id: string; name: string }[];
  sources: Record<string, { title: string; publisher: string; year?: number; kind: string }>;
}
export interface Fault {
  where: string;
  value: string;
  problem: string;
  allowed: string;
}
export interface Edited {
  label: string;
  revision: number;
  changed: string[];
}

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

async function ask<T>(path: string, init?: RequestInit): Promise<T> {
  let response: Response;
  try {
    response = await fetch(path, { credentials: "same-origin", ...init });
  } catch {
    throw new Refused(0, []);
  }
  const answer: unknown = await response.json().catch(() => ({ faults: [] }));
  if (!response.ok) throw new Refused(response.status, (answer as { faults: Fault[] }).faults);
  return answer as T;
}

export type LookAnswer = "none seen" | "cannot tell" | "not accessible";
export interface WalkQuestion {
  family: string;
  name: string;
  faces: string[];
  where: string;
  look: string[];
  years: [number, number];
  probability: number;
  low: number;
  high: number;
  source: string;
  materials: string[];
  answer?: LookAnswer;
  on?: string;
}
export interface Walk {
  room: string;
  years: [number, number];
  as: string[];
  guessed: boolean;
  later_than_ban: boolean;
  questions: WalkQuestion[];
}
export type Verb = "add" | "set" | "remove" | "several" | "look" | "photo" | "undo" | "redo";

const post = <T>(path: string, body: unknown) =>
  ask<T>(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });

export const api = {
  book: () => ask<WholeBook>("/api/book"),
  words: () => ask<Words>("/api/schema"),
  job: (id: string) => ask<FullJobAnswer>(`/api/check/${encodeURIComponent(id)}`),
  material: (id: string) => ask<KnownWithReasons>(`/api/material/${encodeURIComponent(id)}`),
  walk: (room: string) => ask<Walk>(`/api/walk/${encodeURIComponent(room)}`),
  testing: () => ask<TestPlan>("/api/testing"),
  timeline: () => ask<Timeline>("/api/timeline"),
  waste: () => ask<Waste>("/api/waste"),
  now: () => ask<FirstResponses>("/api/now"),
  /** What check says of a job that is not written down, or not so. */
  tryJob: (job: Record<string, unknown>) => post<FullJobAnswer>("/api/try", { job }),
  /** An event at once and roughly; of the book by its id, or not written down. */
  rough: (event: string | Partial<Event>) => post<EventAnswer>("/api/rough", { event }),
  reckon: (event: string | Partial<Event>) => post<{ run: number }>("/api/reckon", { event }),
  reckoned: (run: number) => ask<Reckoning>(`/api/reckon/${run}`),
  stop: (run: number) => post<{ stopped: boolean }>("/api/stop", { run }),
  paper: (order: string) => ask<{ files: PaperFile[] }>(`/api/paper/${encodeURIComponent(order)}`),
  edit: (verb: Verb, body: Record<string, unknown>) => post<Edited>(`/api/${verb}`, body),
};
