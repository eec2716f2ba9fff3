package sqlite

import (
	"context"
	"database/sql"
	"fmt"

	"crownassay/record"
)

const takeColumns = `id, case_id, role, guess, why, confirmed, file, sha256, bytes, form, triangles, unit, added`

func scanTake(r scanner) (t record.Take, err error) {
	var added int64
	err = r.Scan(&t.ID, &t.Case, &t.Role, &t.Guess, &t.Why, &t.Confirmed, &t.File, &t.SHA256, &t.Bytes, &t.Form, &t.Triangles, &t.Unit, &added)
	t.Added = moment(added)
	return t, err
}

// AddTake keeps a take whose mesh is there. The same content once more in the
// same case is the take that is there.
func (s *Store) AddTake(ctx context.Context, t record.Take) (out record.Take, err error) {
	if _, err := s.MeshPath(ctx, t.SHA256); err != nil {
		return t, err
	}
	if _, err := s.Case(ctx, t.Case); err != nil {
		return t, err
	}
	now := s.stamp()
	err = s.inside(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `INSERT INTO takes (case_id, role, guess, why, confirmed, file, sha256, bytes, form, triangles, unit, added)
			VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (case_id, sha256) DO NOTHING`,
			t.Case, t.Role, t.Guess, t.Why, t.Confirmed, t.File, t.SHA256, t.Bytes, t.Form, t.Triangles, t.Unit, now); err != nil {
			return err
		}
		if out, err = scanTake(tx.QueryRowContext(ctx, `SELECT `+takeColumns+` FROM takes WHERE case_id = ? AND sha256 = ?`, t.Case, t.SHA256)); err != nil {
			return err
		}
		return touch(ctx, tx, t.Case, now)
	})
	if err != nil {
		return t, fmt.Errorf("add take %s: %w", t.File, err)
	}
	return out, nil
}

// ChangeTake keeps what is said about a take.
func (s *Store) ChangeTake(ctx context.Context, t record.Take) (out record.Take, err error) {
	err = s.inside(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `UPDATE takes SET role = ?, guess = ?, why = ?, confirmed = ? WHERE id = ?`, t.Role, t.Guess, t.Why, t.Confirmed, t.ID); err != nil {
			return err
		}
		if out, err = scanTake(tx.QueryRowContext(ctx, `SELECT `+takeColumns+` FROM takes WHERE id = ?`, t.ID)); err != nil {
			return err
		}
		return touch(ctx, tx, out.Case, s.stamp())
	})
	return out, notFound(err, "take", t.ID)
}

// Takes lists the takes of a case in the order they were added.
func (s *Store) Takes(ctx context.Context, id int64) ([]record.Take, error) {
	return rows(ctx, s.db, "takes", scanTake, `SELECT `+takeColumns+` FROM takes WHERE case_id = ? ORDER BY id`, id)
}
