package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"crownassay/record"
)

const lineColumns = `id, case_id, points, who, at, undone`

func scanLine(r scanner) (d record.Drawn, err error) {
	var points string
	var at int64
	if err = r.Scan(&d.ID, &d.Case, &points, &d.Who, &at, &d.Undone); err != nil {
		return d, err
	}
	d.When = moment(at)
	d.Points, err = pointsOf(points)
	return d, err
}

// AddLine keeps a drawn line.
func (s *Store) AddLine(ctx context.Context, d record.Drawn) (record.Drawn, error) {
	now := s.stamp()
	d.When = moment(now)
	err := s.inside(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, `INSERT INTO lines (case_id, points, who, at) VALUES (?, ?, ?, ?)`, d.Case, pointsText(d.Points), d.Who, now)
		if err != nil {
			return err
		}
		if d.ID, err = r.LastInsertId(); err != nil {
			return err
		}
		return touch(ctx, tx, d.Case, now)
	})
	if err != nil {
		return d, fmt.Errorf("add finish line of case %d: %w", d.Case, err)
	}
	return d, nil
}

// Lines lists the drawn lines of a case in the order they were drawn.
func (s *Store) Lines(ctx context.Context, id int64) ([]record.Drawn, error) {
	return rows(ctx, s.db, "finish lines", scanLine, `SELECT `+lineColumns+` FROM lines WHERE case_id = ? ORDER BY id`, id)
}

// UndoLine takes the newest line back and returns the one that holds then.
func (s *Store) UndoLine(ctx context.Context, id int64) (d record.Drawn, err error) {
	err = s.inside(ctx, func(tx *sql.Tx) error {
		var last int64
		if err := tx.QueryRowContext(ctx, `UPDATE lines SET undone = 1 WHERE id = (SELECT max(id) FROM lines WHERE case_id = ? AND undone = 0)
			RETURNING id`, id).Scan(&last); err != nil {
			return err
		}
		if err := touch(ctx, tx, id, s.stamp()); err != nil {
			return err
		}
		d, err = scanLine(tx.QueryRowContext(ctx, `SELECT `+lineColumns+` FROM lines WHERE case_id = ? AND undone = 0 ORDER BY id DESC LIMIT 1`, id))
		if errors.Is(err, sql.ErrNoRows) {
			d, err = record.Drawn{Case: id}, nil
		}
		return err
	})
	return d, notFound(err, "a drawn finish line of case", id)
}
