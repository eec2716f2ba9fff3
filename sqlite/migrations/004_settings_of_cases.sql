-- +goose Up
ALTER TABLE cases ADD COLUMN cement_um REAL; -- NULL for the limits table's
ALTER TABLE cases ADD COLUMN tool_um REAL; -- NULL for the limits table's
ALTER TABLE cases ADD COLUMN block TEXT NOT NULL DEFAULT '';
ALTER TABLE cases ADD COLUMN limits_file TEXT NOT NULL DEFAULT '';
ALTER TABLE cases ADD COLUMN limits TEXT NOT NULL DEFAULT ''; -- YAML

-- +goose Down
ALTER TABLE cases DROP COLUMN limits;
ALTER TABLE cases DROP COLUMN limits_file;
ALTER TABLE cases DROP COLUMN block;
ALTER TABLE cases DROP COLUMN tool_um;
ALTER TABLE cases DROP COLUMN cement_um;
