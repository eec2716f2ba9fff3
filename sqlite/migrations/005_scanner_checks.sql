-- +goose Up
CREATE TABLE scanner_checks (
  id INTEGER PRIMARY KEY AUTOINCREMENT,
  document TEXT NOT NULL, -- JSON, as package gauge makes it
  withdrawn TEXT NOT NULL DEFAULT '', -- why it does not hold; empty while it does
  added INTEGER NOT NULL
);
-- +goose StatementBegin
CREATE TRIGGER scanner_checks_stay BEFORE UPDATE OF id, document, added ON scanner_checks BEGIN
  SELECT RAISE(ABORT, 'a scanner check is never changed: withdraw it and make another');
END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER scanner_checks_last BEFORE DELETE ON scanner_checks BEGIN
  SELECT RAISE(ABORT, 'a scanner check is never removed: withdraw it');
END;
-- +goose StatementEnd

-- +goose Down
DROP TRIGGER scanner_checks_last;
DROP TRIGGER scanner_checks_stay;
DROP TABLE scanner_checks;
