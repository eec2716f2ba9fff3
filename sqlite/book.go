package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"time"

	"crownassay/record"
)

// Book is the record of one case of the store.
type Book struct {
	s  *Store
	id int64
}

var _ record.Book = (*Book)(nil)

// Book returns the record of a case. That the case is there is seen when it is
// used.
func (s *Store) Book(id int64) record.Book { return &Book{s, id} }

// Case is the case's number.
func (b *Book) Case() int64 { return b.id }

// Raw returns the entries as they are kept.
func (b *Book) Raw(ctx context.Context) ([]record.Raw, error) {
	if _, err := b.s.Case(ctx, b.id); err != nil {
		return nil, err
	}
	return rows(ctx, b.s.db, "entries", func(r scanner) (e record.Raw, err error) {
		return e, r.Scan(&e.Number, &e.Bytes, &e.Hash)
	}, `SELECT number, content, hash FROM entries WHERE case_id = ? ORDER BY number`, b.id)
}

// Append seals an entry and keeps it, after looking that all before it is
// right.
func (b *Book) Append(ctx context.Context, e record.Entry) (out record.Sealed, err error) {
	if _, err := record.Entries(ctx, b); err != nil {
		return out, fmt.Errorf("add to the record: %w; nothing is added to a record that is not right", err)
	}
	now := b.s.stamp()
	err = b.s.inside(ctx, func(tx *sql.Tx) error {
		if out, err = appendEntry(ctx, tx, b.id, moment(now), e); err != nil {
			return err
		}
		return touch(ctx, tx, b.id, now)
	})
	if err != nil {
		return out, fmt.Errorf("add to the record of case %d: %w", b.id, err)
	}
	return out, nil
}

// appendEntry seals an entry behind the last one and keeps it.
func appendEntry(ctx context.Context, tx *sql.Tx, id int64, at time.Time, e record.Entry) (record.Sealed, error) {
	e.Case, e.At, e.Number, e.Previous = id, at, 1, record.Beginning
	var last int64
	err := tx.QueryRowContext(ctx, `SELECT number, hash FROM entries WHERE case_id = ? ORDER BY number DESC LIMIT 1`, id).Scan(&last, &e.Previous)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return record.Sealed{}, err
	}
	e.Number = last + 1
	s, err := record.Seal(e)
	if err != nil {
		return s, err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO entries (case_id, number, content, hash) VALUES (?, ?, ?, ?)`, id, s.Number, s.Bytes, s.Hash)
	return s, err
}

// Document returns a run's document and what it is packed in. A row that says
// otherwise than the entry beside its document is an error too.
func (b *Book) Document(ctx context.Context, r *record.RunEntry) (document, stored []byte, err error) {
	var takes string
	var line sql.NullInt64
	var made int64
	err = b.s.db.QueryRowContext(ctx, `SELECT document, takes, line_id, made FROM runs WHERE id = ? AND case_id = ?`, r.Number, b.id).Scan(&stored, &takes, &line, &made)
	if err := notFound(err, "run", r.Number); err != nil {
		return nil, nil, err
	}
	if r.Made != 0 { // entries of the first days have no copy of the row
		var listed []int64
		if err := json.Unmarshal([]byte(takes), &listed); err != nil || !slices.Equal(listed, r.Takes) || line.Int64 != r.Line || line.Valid != (r.Line != 0) || made != r.Made {
			return nil, nil, fmt.Errorf("the row of run %d was changed after it was kept", r.Number)
		}
	}
	document, err = unpack(stored)
	return document, stored, err
}

// Surface opens a mesh file by its hash.
func (b *Book) Surface(ctx context.Context, f record.KeptSurface) (io.ReadCloser, error) {
	at, err := b.s.MeshPath(ctx, f.SHA256)
	if err != nil {
		return nil, err
	}
	return os.Open(at)
}

// Runs lists the runs of the case.
func (b *Book) Runs(ctx context.Context) ([]int64, error) {
	return rows(ctx, b.s.db, "runs", func(r scanner) (n int64, err error) { return n, r.Scan(&n) },
		`SELECT id FROM runs WHERE case_id = ? ORDER BY id`, b.id)
}

// enter adds the entries of runs that were kept before there were entries. It
// is a migration, so that it happens once: a run whose entry is taken out later
// stays without one, and verifying says so.
func enter(ctx context.Context, tx *sql.Tx) error {
	type old struct {
		id, of, made int64
		takes        string
		line         sql.NullInt64
		stored       []byte
	}
	r, err := tx.QueryContext(ctx, `SELECT id, case_id, made, takes, line_id, document FROM runs ORDER BY id`)
	if err != nil {
		return err
	}
	defer r.Close()
	var all []old
	for r.Next() {
		var o old
		if err := r.Scan(&o.id, &o.of, &o.made, &o.takes, &o.line, &o.stored); err != nil {
			return err
		}
		all = append(all, o)
	}
	if err := r.Err(); err != nil {
		return err
	}
	for _, o := range all {
		doc, err := unpack(o.stored)
		if err != nil {
			return fmt.Errorf("run %d: %w", o.id, err)
		}
		run := record.Run{ID: o.id, Case: o.of, Document: doc, Line: o.line.Int64, Made: moment(o.made)}
		if err := json.Unmarshal([]byte(o.takes), &run.Takes); err != nil {
			return fmt.Errorf("run %d: %w", o.id, err)
		}
		if _, err := enterRun(ctx, tx, run, o.stored); err != nil {
			return fmt.Errorf("run %d: %w", o.id, err)
		}
	}
	return nil
}

// enterRun adds the entry of a run.
func enterRun(ctx context.Context, tx *sql.Tx, r record.Run, stored []byte) (record.Sealed, error) {
	e, err := record.RunOf(r.Document, stored)
	if err != nil {
		return record.Sealed{}, err
	}
	e.Number, e.Takes, e.Line, e.Made = r.ID, r.Takes, r.Line, r.Made.UnixMicro()
	return appendEntry(ctx, tx, r.Case, r.Made, record.Entry{Kind: record.KindRun, Who: r.Who, Run: e})
}
