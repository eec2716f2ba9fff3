-- +goose Up
CREATE TABLE audit_results (
	key TEXT PRIMARY KEY, -- of all that the document depends on
	name TEXT NOT NULL,
	kind TEXT NOT NULL,
	document BYTEA, -- gzip
	problem TEXT NOT NULL
);
