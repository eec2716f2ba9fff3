package sqlite

import (
	"bytes"
	"compress/gzip"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"

	"crownassay/record"
)

// AddRun keeps a run and, with it, its entry in the record.
func (s *Store) AddRun(ctx context.Context, r record.Run) (record.Run, error) {
	takes, err := json.Marshal(r.Takes)
	if err != nil {
		return r, fmt.Errorf("add run: %w", err)
	}
	packed, err := pack(r.Document)
	if err != nil {
		return r, fmt.Errorf("add run: %w", err)
	}
	now := s.stamp()
	r.Made = moment(now)
	err = s.inside(ctx, func(tx *sql.Tx) error {
		res, err := tx.ExecContext(ctx, `INSERT INTO runs (case_id, takes, line_id, document, made) VALUES (?, ?, ?, ?, ?)`,
			r.Case, string(takes), sql.NullInt64{Int64: r.Line, Valid: r.Line != 0}, packed, now)
		if err != nil {
			return err
		}
		if r.ID, err = res.LastInsertId(); err != nil {
			return err
		}
		if _, err := enterRun(ctx, tx, r, packed); err != nil {
			return err
		}
		return touch(ctx, tx, r.Case, now)
	})
	if err != nil {
		return r, fmt.Errorf("add run of case %d: %w", r.Case, err)
	}
	return r, nil
}

// Runs lists the newest runs of a case, the newest first.
func (s *Store) Runs(ctx context.Context, id int64, limit int) ([]record.Run, error) {
	return rows(ctx, s.db, "runs", scanRun, `SELECT id, case_id, takes, line_id, document, made FROM runs WHERE case_id = ? ORDER BY id DESC LIMIT ?`, id, limit)
}

func scanRun(row scanner) (r record.Run, err error) {
	var takes string
	var line sql.NullInt64
	var packed []byte
	var made int64
	if err = row.Scan(&r.ID, &r.Case, &takes, &line, &packed, &made); err != nil {
		return r, err
	}
	r.Line, r.Made = line.Int64, moment(made)
	if err = json.Unmarshal([]byte(takes), &r.Takes); err != nil {
		return r, err
	}
	r.Document, err = unpack(packed)
	return r, err
}

func pack(b []byte) ([]byte, error) {
	var out bytes.Buffer
	z, err := gzip.NewWriterLevel(&out, gzip.BestSpeed)
	if err != nil {
		return nil, err
	}
	if _, err := z.Write(b); err != nil {
		return nil, err
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return out.Bytes(), nil
}

func unpack(b []byte) ([]byte, error) {
	z, err := gzip.NewReader(bytes.NewReader(b))
	if err != nil {
		return nil, err
	}
	return io.ReadAll(z)
}
