package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"crownassay/practice/visit"
)

var _ visit.Store = (*Store)(nil)

const (
	visitColumns = `id, chair, coalesce(case_id, 0), dentist, material, added`
	tapColumns   = `id, visit_id, kind, stage, back, at, withdrawn, added`
)

func scanVisit(r scanner) (v visit.Visit, err error) {
	var added int64
	err = r.Scan(&v.ID, &v.Chair, &v.Case, &v.Dentist, &v.Material, &added)
	v.Added = moment(added)
	return v, err
}

func scanTap(r scanner) (t visit.Tap, err error) {
	var at, added int64
	err = r.Scan(&t.ID, &t.Visit, &t.Kind, &t.Stage, &t.Back, &at, &t.Withdrawn, &added)
	t.At, t.Added = moment(at), moment(added)
	return t, err
}

// noVisit turns the absence of a row into the error of visits.
func noVisit(err error, what string, id int64) error {
	if errors.Is(err, sql.ErrNoRows) {
		return fmt.Errorf("find %s %d: %w", what, id, visit.ErrNotFound)
	}
	if err != nil {
		return fmt.Errorf("read %s %d: %w", what, id, err)
	}
	return nil
}

// AddVisit keeps a visit with its first tap.
func (s *Store) AddVisit(ctx context.Context, v visit.Visit, first visit.Tap) (visit.Visit, error) {
	first.At = moment(s.stamp())
	v.Taps = []visit.Tap{first}
	return s.keepVisit(ctx, v)
}

// ImportVisit keeps a visit with taps whose times are given.
func (s *Store) ImportVisit(ctx context.Context, v visit.Visit) (visit.Visit, error) {
	if err := visit.CheckImport(&v, s.now()); err != nil {
		return v, err
	}
	return s.keepVisit(ctx, v)
}

// keepVisit adds a visit with all its taps.
func (s *Store) keepVisit(ctx context.Context, v visit.Visit) (visit.Visit, error) {
	now := s.stamp()
	v.Added = moment(now)
	taps := v.Taps
	v.Taps = nil
	err := s.inside(ctx, func(tx *sql.Tx) error {
		if v.Case != 0 {
			var n int
			if err := noVisit(tx.QueryRowContext(ctx, `SELECT 1 FROM cases WHERE id = ?`, v.Case).Scan(&n), "case", v.Case); err != nil {
				return err
			}
		}
		r, err := tx.ExecContext(ctx, `INSERT INTO visits (chair, case_id, dentist, material, added) VALUES (?, nullif(?, 0), ?, ?, ?)`,
			v.Chair, v.Case, v.Dentist, v.Material, now)
		if err != nil {
			return err
		}
		if v.ID, err = r.LastInsertId(); err != nil {
			return err
		}
		for _, t := range taps {
			t.Visit = v.ID
			if t, err = insertTap(ctx, tx, t, now); err != nil {
				return err
			}
			v.Taps = append(v.Taps, t)
		}
		return nil
	})
	if err != nil {
		return v, fmt.Errorf("add visit: %w", err)
	}
	return v, nil
}

func insertTap(ctx context.Context, tx *sql.Tx, t visit.Tap, now int64) (visit.Tap, error) {
	at := t.At.UnixMicro()
	r, err := tx.ExecContext(ctx, `INSERT INTO taps (visit_id, kind, stage, back, at, added) VALUES (?, ?, ?, ?, ?, ?)`, t.Visit, string(t.Kind), t.Stage, t.Back, at, now)
	if err != nil {
		return t, err
	}
	t.At, t.Added, t.Withdrawn = moment(at), moment(now), ""
	t.ID, err = r.LastInsertId()
	return t, err
}

// Visit returns a visit with its taps.
func (s *Store) Visit(ctx context.Context, id int64) (visit.Visit, error) {
	v, err := scanVisit(s.db.QueryRowContext(ctx, `SELECT `+visitColumns+` FROM visits WHERE id = ?`, id))
	if err := noVisit(err, "visit", id); err != nil {
		return v, err
	}
	v.Taps, err = rows(ctx, s.db, "taps", scanTap, `SELECT `+tapColumns+` FROM taps WHERE visit_id = ? ORDER BY id`, id)
	return v, err
}

// Visits lists the visits with their taps in the order they were added.
func (s *Store) Visits(ctx context.Context) ([]visit.Visit, error) {
	all, err := rows(ctx, s.db, "visits", scanVisit, `SELECT `+visitColumns+` FROM visits ORDER BY id`)
	if err != nil {
		return nil, err
	}
	taps, err := rows(ctx, s.db, "taps", scanTap, `SELECT `+tapColumns+` FROM taps ORDER BY visit_id, id`)
	if err != nil {
		return nil, err
	}
	i := 0
	for _, t := range taps {
		for i < len(all) && all[i].ID < t.Visit {
			i++
		}
		if i < len(all) && all[i].ID == t.Visit { // a visit added since the list was read is left for the next time
			all[i].Taps = append(all[i].Taps, t)
		}
	}
	return all, nil
}

// newestTap is the newest tap of a visit that holds, 0 where there is none.
func newestTap(ctx context.Context, tx *sql.Tx, of int64) (id, at int64, err error) {
	if err := noVisit(tx.QueryRowContext(ctx, `SELECT id FROM visits WHERE id = ?`, of).Scan(&id), "visit", of); err != nil {
		return 0, 0, err
	}
	err = tx.QueryRowContext(ctx, `SELECT id, at FROM taps WHERE visit_id = ? AND withdrawn = '' ORDER BY id DESC LIMIT 1`, of).Scan(&id, &at)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, 0, nil
	}
	return id, at, err
}

// AddTap keeps a tap behind the one that was last. Where the machine's clock was
// set back, its time is that of the last one, so that nothing lasts less than
// nothing.
func (s *Store) AddTap(ctx context.Context, t visit.Tap, last int64) (visit.Tap, error) {
	err := s.inside(ctx, func(tx *sql.Tx) error {
		newest, at, err := newestTap(ctx, tx, t.Visit)
		if err != nil {
			return err
		}
		if newest != last {
			return visit.ErrTapped
		}
		now := s.stamp()
		t.At = moment(max(now, at))
		t, err = insertTap(ctx, tx, t, now)
		return err
	})
	if err != nil {
		return t, fmt.Errorf("tap visit %d: %w", t.Visit, err)
	}
	return t, nil
}

// WithdrawTap takes the newest tap of a visit back.
func (s *Store) WithdrawTap(ctx context.Context, of, tap int64, why string) (t visit.Tap, err error) {
	if strings.TrimSpace(why) == "" {
		return t, errors.New("take a tap back: give the reason")
	}
	err = s.inside(ctx, func(tx *sql.Tx) error {
		newest, _, err := newestTap(ctx, tx, of)
		if err != nil {
			return err
		}
		if newest == 0 {
			return fmt.Errorf("a tap to take back: %w", visit.ErrNotFound)
		}
		if newest != tap {
			return visit.ErrTapped
		}
		if _, err := tx.ExecContext(ctx, `UPDATE taps SET withdrawn = ? WHERE id = ?`, why, tap); err != nil {
			return err
		}
		t, err = scanTap(tx.QueryRowContext(ctx, `SELECT `+tapColumns+` FROM taps WHERE id = ?`, tap))
		return err
	})
	if err != nil {
		return t, fmt.Errorf("take a tap of visit %d back: %w", of, err)
	}
	return t, nil
}
