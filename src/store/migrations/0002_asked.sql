-- Schema version 2: which request made which entry of the log, so that one sent twice is written once.

CREATE TABLE asked (
  key       TEXT PRIMARY KEY CHECK (length(key) BETWEEN 1 AND 128),
  revision  INTEGER NOT NULL REFERENCES log (revision) DEFERRABLE INITIALLY DEFERRED,  -- the entry it made
  sum       INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
