package sqlite

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"

	"crownassay/geom"
	"crownassay/record"
)

const caseColumns = `id, tooth, numbering, material, unit, patient, title, scanner_um, mesial, at, cement_um, tool_um, block, limits_file, limits, created, changed`

func scanCase(r scanner) (k record.Kept, err error) {
	var mesial, at sql.NullString
	var created, changed int64
	if err = r.Scan(&k.ID, &k.Tooth, &k.Numbering, &k.Material, &k.Unit, &k.Patient, &k.Title, &k.ScannerUM, &mesial, &at,
		&k.CementUM, &k.ToolUM, &k.Block, &k.Own.File, &k.Own.Text, &created, &changed); err != nil {
		return k, err
	}
	k.Created, k.Changed = moment(created), moment(changed)
	if k.Mesial, err = vecOf(mesial); err != nil {
		return k, err
	}
	k.At, err = vecOf(at)
	return k, err
}

// AddCase keeps a new case.
func (s *Store) AddCase(ctx context.Context, k record.Kept) (record.Kept, error) {
	now := s.stamp()
	r, err := s.db.ExecContext(ctx, `INSERT INTO cases (tooth, numbering, material, unit, patient, title, scanner_um, mesial, at,
		cement_um, tool_um, block, limits_file, limits, created, changed) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
		k.Tooth, k.Numbering, k.Material, k.Unit, k.Patient, k.Title, k.ScannerUM, vecText(k.Mesial), vecText(k.At),
		k.CementUM, k.ToolUM, k.Block, k.Own.File, k.Own.Text, now, now)
	if err != nil {
		return k, fmt.Errorf("add case: %w", err)
	}
	k.Created, k.Changed = moment(now), moment(now)
	k.ID, err = r.LastInsertId()
	return k, err
}

// ChangeCase replaces what is said about a case.
func (s *Store) ChangeCase(ctx context.Context, k record.Kept) (record.Kept, error) {
	_, err := s.db.ExecContext(ctx, `UPDATE cases SET tooth = ?, numbering = ?, material = ?, unit = ?, patient = ?, title = ?, scanner_um = ?,
		mesial = ?, at = ?, cement_um = ?, tool_um = ?, block = ?, limits_file = ?, limits = ?, changed = ? WHERE id = ?`,
		k.Tooth, k.Numbering, k.Material, k.Unit, k.Patient, k.Title, k.ScannerUM, vecText(k.Mesial), vecText(k.At),
		k.CementUM, k.ToolUM, k.Block, k.Own.File, k.Own.Text, s.stamp(), k.ID)
	if err != nil {
		return k, fmt.Errorf("change case %d: %w", k.ID, err)
	}
	return s.Case(ctx, k.ID)
}

// Case returns one case.
func (s *Store) Case(ctx context.Context, id int64) (record.Kept, error) {
	k, err := scanCase(s.db.QueryRowContext(ctx, `SELECT `+caseColumns+` FROM cases WHERE id = ?`, id))
	return k, notFound(err, "case", id)
}

// Cases lists the cases, the one changed last first.
func (s *Store) Cases(ctx context.Context) ([]record.Kept, error) {
	return rows(ctx, s.db, "cases", scanCase, `SELECT `+caseColumns+` FROM cases ORDER BY changed DESC, id DESC`)
}

// touch says that something of a case has changed now.
func touch(ctx context.Context, tx *sql.Tx, id, now int64) error {
	_, err := tx.ExecContext(ctx, `UPDATE cases SET changed = ? WHERE id = ?`, now, id)
	return err
}

// inside runs a change in one transaction.
func (s *Store) inside(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := s.db.BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	defer tx.Rollback() // does nothing after a commit
	if err := do(tx); err != nil {
		return err
	}
	return tx.Commit()
}

// vecText is a vector as JSON; nil is NULL.
func vecText(v *geom.Vec) any {
	if v == nil {
		return nil
	}
	return pointsText([]geom.Vec{*v})
}

func vecOf(s sql.NullString) (*geom.Vec, error) {
	if !s.Valid {
		return nil, nil
	}
	p, err := pointsOf(s.String)
	if err != nil || len(p) != 1 {
		return nil, fmt.Errorf("read vector %q: %w", s.String, err)
	}
	return &p[0], nil
}

// pointsText is a list of points as JSON. Finite numbers always have one.
func pointsText(p []geom.Vec) string {
	rows := make([][3]float64, len(p))
	for i, v := range p {
		rows[i] = [3]float64{v.X, v.Y, v.Z}
	}
	b, err := json.Marshal(rows)
	if err != nil {
		panic(fmt.Sprintf("points that are not finite: %v", err))
	}
	return string(b)
}

func pointsOf(s string) ([]geom.Vec, error) {
	var rows [][3]float64
	if err := json.Unmarshal([]byte(s), &rows); err != nil {
		return nil, err
	}
	out := make([]geom.Vec, len(rows))
	for i, r := range rows {
		out[i] = geom.V(r[0], r[1], r[2])
	}
	return out, nil
}
