-- +goose Up
CREATE TABLE cases (
  id         INTEGER PRIMARY KEY AUTOINCREMENT,
  tooth      TEXT NOT NULL,
  numbering  TEXT NOT NULL CHECK (numbering IN ('iso3950', 'universal')),
  material   TEXT NOT NULL,
  unit       TEXT NOT NULL,
  patient    TEXT NOT NULL,
  title      TEXT NOT NULL,
  scanner_um REAL NOT NULL,
  mesial     TEXT, -- JSON [[x, y, z]]
  at         TEXT, -- JSON [[x, y, z]], mm
  created    INTEGER NOT NULL, -- microseconds since 1970
  changed    INTEGER NOT NULL
) STRICT;

CREATE TABLE takes (
  id        INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id   INTEGER NOT NULL REFERENCES cases (id),
  role      TEXT NOT NULL,
  guess     TEXT NOT NULL,
  why       TEXT NOT NULL,
  confirmed INTEGER NOT NULL,
  file      TEXT NOT NULL,
  sha256    TEXT NOT NULL CHECK (length(sha256) = 64),
  bytes     INTEGER NOT NULL,
  form      TEXT NOT NULL,
  triangles INTEGER NOT NULL,
  unit      TEXT NOT NULL,
  added     INTEGER NOT NULL,
  UNIQUE (case_id, sha256)
) STRICT;

CREATE TABLE lines (
  id      INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id INTEGER NOT NULL REFERENCES cases (id),
  points  TEXT NOT NULL, -- JSON [[x, y, z], ...], mm
  who     TEXT NOT NULL,
  at      INTEGER NOT NULL,
  undone  INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE INDEX lines_of_case ON lines (case_id);

CREATE TABLE runs (
  id       INTEGER PRIMARY KEY AUTOINCREMENT,
  case_id  INTEGER NOT NULL REFERENCES cases (id),
  takes    TEXT NOT NULL, -- JSON [id, ...]
  line_id  INTEGER REFERENCES lines (id),
  document BLOB NOT NULL, -- gzip of the record's JSON
  made     INTEGER NOT NULL
) STRICT;
CREATE INDEX runs_of_case ON runs (case_id);

CREATE TABLE settings (
  name  TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT;

-- +goose Down
DROP TABLE settings;
DROP TABLE runs;
DROP TABLE lines;
DROP TABLE takes;
DROP TABLE cases;
