// What the program answers (src/http/site.cpp) and how it is asked.

export type Point = [number, number];
export type Standing =
  | "presumed"
  | "strongly presumed"
  | "identified"
  | "no asbestos detected"
  | "proven later than the ban";

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
  phases?: { id: string; name: string }[];
  groups?: { id: string; name?: string }[];
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

export const api = {
  book: () => ask<WholeBook>("/api/book"),
  words: () => ask<Words>("/api/schema"),
  job: (id: string) => ask<FullJobAnswer>(`/api/check/${encodeURIComponent(id)}`),
  material: (id: string) => ask<KnownWithReasons>(`/api/material/${encodeURIComponent(id)}`),
  edit: (verb: "add" | "set" | "remove" | "undo" | "redo", body: Record<string, unknown>) =>
    ask<Edited>(`/api/${verb}`, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(body),
    }),
};
