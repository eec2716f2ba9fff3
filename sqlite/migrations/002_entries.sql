-- +goose Up
CREATE TABLE entries (
  case_id INTEGER NOT NULL REFERENCES cases (id),
  number  INTEGER NOT NULL CHECK (number > 0),
  content BLOB NOT NULL, -- canonical JSON (RFC 8785)
  hash    TEXT NOT NULL CHECK (length(hash) = 64), -- SHA-256 of content
  PRIMARY KEY (case_id, number)
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER entries_stay BEFORE UPDATE ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry of the record is never changed: add a correction');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER entries_last BEFORE DELETE ON entries BEGIN
  SELECT RAISE(ABORT, 'an entry of the record is never removed: add a correction');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER runs_stay BEFORE UPDATE ON runs BEGIN
  SELECT RAISE(ABORT, 'a run is never changed');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER runs_last BEFORE DELETE ON runs BEGIN
  SELECT RAISE(ABORT, 'a run is never removed');
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER runs_last;
DROP TRIGGER runs_stay;
DROP TRIGGER entries_last;
DROP TRIGGER entries_stay;
DROP TABLE entries;
