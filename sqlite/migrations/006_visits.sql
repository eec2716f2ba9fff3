-- +goose Up
CREATE TABLE visits (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  chair INTEGER NOT NULL CHECK (chair > 0),
  case_id INTEGER REFERENCES cases (id), -- of the bench; NULL for none
  dentist TEXT NOT NULL, -- code
  material TEXT NOT NULL,
  added INTEGER NOT NULL
) STRICT;
CREATE TABLE taps (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  visit_id INTEGER NOT NULL REFERENCES visits (id),
  kind TEXT NOT NULL CHECK (kind IN ('stage', 'back', 'wait', 'end', 'leave')),
  stage TEXT NOT NULL, -- that begins; empty for none
  back TEXT NOT NULL, -- kind of going back; empty for none
  at INTEGER NOT NULL, -- when, in microseconds since 1970, UTC
  withdrawn TEXT NOT NULL DEFAULT '', -- why it does not hold; empty while it does
  added INTEGER NOT NULL
) STRICT;
CREATE INDEX taps_of_visits ON taps (visit_id, id);
-- +goose StatementBegin
CREATE TRIGGER visits_stay BEFORE UPDATE ON visits BEGIN
  SELECT RAISE(ABORT, 'a visit is never changed: break it off and start another');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER visits_last BEFORE DELETE ON visits BEGIN
  SELECT RAISE(ABORT, 'a visit is never removed: break it off');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER taps_stay BEFORE UPDATE OF id, visit_id, kind, stage, back, at, added ON taps BEGIN
  SELECT RAISE(ABORT, 'a tap is never changed: take it back');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER taps_withdrawn BEFORE UPDATE OF withdrawn ON taps WHEN OLD.withdrawn <> '' OR NEW.withdrawn = '' BEGIN
  SELECT RAISE(ABORT, 'a tap that was taken back stays so');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER taps_last BEFORE DELETE ON taps BEGIN
  SELECT RAISE(ABORT, 'a tap is never removed: take it back');
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER taps_last;
DROP TRIGGER taps_withdrawn;
DROP TRIGGER taps_stay;
DROP TRIGGER visits_last;
DROP TRIGGER visits_stay;
DROP TABLE taps;
DROP TABLE visits;
