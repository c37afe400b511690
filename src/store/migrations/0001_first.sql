-- Schema version 1. This file is never edited again: a change of the schema is a new numbered file.
--
-- Every table but sqlite_schema carries `sum`, a SipHash-2-4 over the row's other columns; docs/formats/book-file.md says
-- how it is formed and what everything here means to a reader.

CREATE TABLE meta (
  one          INTEGER PRIMARY KEY CHECK (one = 1),
  revision     INTEGER NOT NULL CHECK (revision >= 0),  -- entries in the log
  records      INTEGER NOT NULL CHECK (records >= 0),   -- rows in records
  records_sum  INTEGER NOT NULL,                        -- of all records.sum, modulo 2^64
  sum          INTEGER NOT NULL
) STRICT;

CREATE TABLE records (
  kind      TEXT NOT NULL,
  id        TEXT NOT NULL,
  revision  INTEGER NOT NULL CHECK (revision >= 1),     -- of the book when this record last changed
  body      TEXT NOT NULL CHECK (json_valid(body)),     -- the item of the open JSON form
  sum       INTEGER NOT NULL,
  PRIMARY KEY (kind, id)
) STRICT, WITHOUT ROWID;

CREATE TABLE log (
  revision  INTEGER PRIMARY KEY,                        -- 1, 2, 3 ... without a gap
  at        TEXT NOT NULL,                              -- UTC
  verb      TEXT NOT NULL CHECK (verb IN ('do', 'undo', 'redo')),
  label     TEXT NOT NULL,                              -- who did what, in words
  of        INTEGER REFERENCES log (revision),          -- undo and redo: the step meant
  state     TEXT CHECK (state IN ('done', 'undone', 'dropped')),
  changes   INTEGER NOT NULL CHECK (changes >= 1),
  sum       INTEGER NOT NULL,
  CHECK ((verb = 'do') = (of IS NULL)),
  CHECK ((verb = 'do') = (state IS NOT NULL))
) STRICT;
CREATE INDEX log_undone ON log (revision) WHERE state = 'undone';

CREATE TABLE changes (
  revision  INTEGER NOT NULL REFERENCES log (revision) DEFERRABLE INITIALLY DEFERRED,
  step      INTEGER NOT NULL CHECK (step >= 1),
  kind      TEXT NOT NULL,
  id        TEXT NOT NULL,
  before    TEXT,
  after     TEXT,
  sum       INTEGER NOT NULL,
  PRIMARY KEY (revision, step),
  CHECK (before IS NOT NULL OR after IS NOT NULL)
) STRICT, WITHOUT ROWID;

CREATE TABLE blobs (
  sha256      TEXT PRIMARY KEY CHECK (length(sha256) = 64),
  media_type  TEXT NOT NULL,
  bytes       INTEGER NOT NULL CHECK (bytes = length(data)),
  data        BLOB NOT NULL,
  sum         INTEGER NOT NULL                          -- of the other columns but data, which sha256 vouches for
) STRICT;

-- For readers with the sqlite3 shell: one view a kind, one column a field. Lists and objects are JSON text.
CREATE VIEW v_about AS SELECT
  body ->> 'title' AS "title", body ->> 'rules' AS "rules", body ->> 'currency' AS "currency",
  body ->> 'test_fixed' AS "test_fixed", body ->> 'test_each' AS "test_each",
  body ->> 'waiting_per_week' AS "waiting_per_week", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'about';
CREATE VIEW v_phase AS SELECT
  id, body ->> 'name' AS "name", body ->> 'years' AS "years", body ->> 'known_from' AS "known_from"
  FROM records WHERE kind = 'phase';
CREATE VIEW v_storey AS SELECT
  id, body ->> 'name' AS "name", body ->> 'floor_m' AS "floor_m", body ->> 'height_m' AS "height_m"
  FROM records WHERE kind = 'storey';
CREATE VIEW v_room AS SELECT
  id, body ->> 'name' AS "name", body ->> 'storey' AS "storey", body ->> 'kind' AS "kind", body ->> 'use' AS "use",
  body ->> 'phase' AS "phase", body ->> 'outline' AS "outline", body ->> 'height_m' AS "height_m",
  body ->> 'heights' AS "heights", body ->> 'air_changes_per_h' AS "air_changes_per_h",
  body ->> 'hours_used_per_day' AS "hours_used_per_day", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'room';
CREATE VIEW v_opening AS SELECT
  id, body ->> 'kind' AS "kind", body ->> 'from' AS "from", body ->> 'to' AS "to", body ->> 'at' AS "at",
  body ->> 'width_m' AS "width_m", body ->> 'height_m' AS "height_m", body ->> 'usual' AS "usual"
  FROM records WHERE kind = 'opening';
CREATE VIEW v_group AS SELECT
  id, body ->> 'name' AS "name", body ->> 'parent' AS "parent", body ->> 'alike' AS "alike"
  FROM records WHERE kind = 'group';
CREATE VIEW v_material AS SELECT
  id, body ->> 'name' AS "name", body ->> 'family' AS "family", body ->> 'room' AS "room", body ->> 'face' AS "face",
  body ->> 'shape' AS "shape", body ->> 'layer' AS "layer", body ->> 'extent' AS "extent",
  body ->> 'thickness_mm' AS "thickness_mm", body ->> 'phase' AS "phase", body ->> 'years' AS "years",
  body ->> 'proof' AS "proof", body ->> 'damage' AS "damage", body ->> 'surface' AS "surface",
  body ->> 'group' AS "group", body ->> 'alike' AS "alike", body ->> 'priority' AS "priority",
  body ->> 'overhead_or_hard_to_reach' AS "overhead_or_hard_to_reach", body ->> 'last_inspected' AS "last_inspected",
  body ->> 'removed_on' AS "removed_on", body ->> 'photos' AS "photos", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'material';
CREATE VIEW v_sample AS SELECT
  id, body ->> 'material' AS "material", body ->> 'label' AS "label", body ->> 'spot' AS "spot",
  body ->> 'taken_on' AS "taken_on", body ->> 'sent_on' AS "sent_on", body ->> 'laboratory' AS "laboratory",
  body ->> 'laboratory_ref' AS "laboratory_ref", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'sample';
CREATE VIEW v_result AS SELECT
  id, body ->> 'sample' AS "sample", body ->> 'found' AS "found", body ->> 'fibres' AS "fibres",
  body ->> 'amount' AS "amount", body ->> 'method' AS "method", body ->> 'reported_on' AS "reported_on",
  body ->> 'document' AS "document"
  FROM records WHERE kind = 'result';
CREATE VIEW v_inspection AS SELECT
  id, body ->> 'material' AS "material", body ->> 'on' AS "on", body ->> 'damage' AS "damage",
  body ->> 'surface' AS "surface", body ->> 'photo' AS "photo", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'inspection';
CREATE VIEW v_action AS SELECT
  id, body ->> 'material' AS "material", body ->> 'kind' AS "kind", body ->> 'by' AS "by",
  body ->> 'due_on' AS "due_on", body ->> 'started_on' AS "started_on", body ->> 'done_on' AS "done_on",
  body ->> 'cost' AS "cost", body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'action';
CREATE VIEW v_job AS SELECT
  id, body ->> 'title' AS "title", body ->> 'wanted_on' AS "wanted_on", body ->> 'by' AS "by",
  body ->> 'people' AS "people", body ->> 'cuts' AS "cuts", body ->> 'after' AS "after",
  body ->> 'cost_plain' AS "cost_plain", body ->> 'cost_as_asbestos' AS "cost_as_asbestos",
  body ->> 'cost_elsewhere' AS "cost_elsewhere", body ->> 'days' AS "days", body ->> 'done_on' AS "done_on",
  body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'job';
CREATE VIEW v_event AS SELECT
  id, body ->> 'title' AS "title", body ->> 'started_at' AS "started_at", body ->> 'imagined' AS "imagined",
  body ->> 'materials' AS "materials", body ->> 'cuts' AS "cuts", body ->> 'stays' AS "stays",
  body ->> 'masks' AS "masks", body ->> 'cleaning' AS "cleaning", body ->> 'openings' AS "openings",
  body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'event';
CREATE VIEW v_person AS SELECT
  id, body ->> 'name' AS "name", body ->> 'role' AS "role", body ->> 'birth_year' AS "birth_year",
  body ->> 'sex' AS "sex", body ->> 'smoker' AS "smoker"
  FROM records WHERE kind = 'person';
CREATE VIEW v_piece AS SELECT
  id, body ->> 'name' AS "name", body ->> 'material' AS "material", body ->> 'length_m' AS "length_m",
  body ->> 'width_m' AS "width_m", body ->> 'thickness_mm' AS "thickness_mm", body ->> 'mass_kg' AS "mass_kg",
  body ->> 'count' AS "count", body ->> 'whole' AS "whole", body ->> 'wrapped' AS "wrapped",
  body ->> 'room' AS "room", body ->> 'gone_on' AS "gone_on"
  FROM records WHERE kind = 'piece';
CREATE VIEW v_site AS SELECT
  id, body ->> 'name' AS "name", body ->> 'rules' AS "rules", body ->> 'pieces_per_visit' AS "pieces_per_visit",
  body ->> 'mass_kg_per_visit' AS "mass_kg_per_visit", body ->> 'length_m' AS "length_m",
  body ->> 'width_m' AS "width_m", body ->> 'visits_per_month' AS "visits_per_month",
  body ->> 'distance_km' AS "distance_km", body ->> 'conditions' AS "conditions"
  FROM records WHERE kind = 'site';
CREATE VIEW v_vehicle AS SELECT
  id, body ->> 'name' AS "name", body ->> 'length_m' AS "length_m", body ->> 'width_m' AS "width_m",
  body ->> 'height_m' AS "height_m", body ->> 'door_width_m' AS "door_width_m",
  body ->> 'door_height_m' AS "door_height_m", body ->> 'payload_kg' AS "payload_kg"
  FROM records WHERE kind = 'vehicle';
CREATE VIEW v_party AS SELECT
  id, body ->> 'name' AS "name", body ->> 'role' AS "role", body ->> 'licence' AS "licence",
  body ->> 'licence_expires_on' AS "licence_expires_on", body ->> 'lead_days' AS "lead_days",
  body ->> 'price_fixed' AS "price_fixed", body ->> 'price_each' AS "price_each"
  FROM records WHERE kind = 'party';
CREATE VIEW v_quote AS SELECT
  id, body ->> 'party' AS "party", body ->> 'materials' AS "materials", body ->> 'amount' AS "amount",
  body ->> 'quoted_on' AS "quoted_on", body ->> 'valid_to' AS "valid_to", body ->> 'document' AS "document",
  body ->> 'notes' AS "notes"
  FROM records WHERE kind = 'quote';
CREATE VIEW v_certificate AS SELECT
  id, body ->> 'party' AS "party", body ->> 'materials' AS "materials", body ->> 'rooms' AS "rooms",
  body ->> 'work_finished_on' AS "work_finished_on", body ->> 'issued_on' AS "issued_on",
  body ->> 'stages' AS "stages", body ->> 'area_m2' AS "area_m2", body ->> 'height_m' AS "height_m",
  body ->> 'samples' AS "samples", body ->> 'document' AS "document"
  FROM records WHERE kind = 'certificate';
CREATE VIEW v_document AS SELECT
  id, body ->> 'title' AS "title", body ->> 'kind' AS "kind", body ->> 'media_type' AS "media_type",
  body ->> 'sha256' AS "sha256", body ->> 'bytes' AS "bytes", body ->> 'dated' AS "dated", body ->> 'room' AS "room",
  body ->> 'material' AS "material"
  FROM records WHERE kind = 'document';

CREATE VIEW v_history AS
  SELECT log.revision, log.at, log.verb, log.label, log.of, log.state, changes.kind, changes.id, changes.before, changes.after
  FROM log JOIN changes ON changes.revision = coalesce(log.of, log.revision)
  ORDER BY log.revision, changes.step;
