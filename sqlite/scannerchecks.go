package sqlite

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"crownassay/record"
)

const checkColumns = `id, document, withdrawn, added`

func scanCheck(r scanner) (c record.ScannerCheck, err error) {
	var doc string
	var added int64
	err = r.Scan(&c.ID, &doc, &c.Withdrawn, &added)
	c.Document, c.Added = []byte(doc), moment(added)
	return c, err
}

// AddScannerCheck keeps the document of a check.
func (s *Store) AddScannerCheck(ctx context.Context, document []byte) (c record.ScannerCheck, err error) {
	now := s.stamp()
	r, err := s.db.ExecContext(ctx, `INSERT INTO scanner_checks (document, added) VALUES (?, ?)`, string(document), now)
	if err != nil {
		return c, fmt.Errorf("add scanner check: %w", err)
	}
	c.Document, c.Added = document, moment(now)
	c.ID, err = r.LastInsertId()
	return c, err
}

// ScannerChecks lists the checks in the order they were added.
func (s *Store) ScannerChecks(ctx context.Context) ([]record.ScannerCheck, error) {
	return rows(ctx, s.db, "scanner checks", scanCheck, `SELECT `+checkColumns+` FROM scanner_checks ORDER BY id`)
}

// WithdrawScannerCheck says why a check does not hold.
func (s *Store) WithdrawScannerCheck(ctx context.Context, id int64, why string) (c record.ScannerCheck, err error) {
	if strings.TrimSpace(why) == "" {
		return c, errors.New("withdraw scanner check: give the reason")
	}
	if _, err := s.db.ExecContext(ctx, `UPDATE scanner_checks SET withdrawn = ? WHERE id = ? AND withdrawn = ''`, why, id); err != nil {
		return c, fmt.Errorf("withdraw scanner check %d: %w", id, err)
	}
	c, err = scanCheck(s.db.QueryRowContext(ctx, `SELECT `+checkColumns+` FROM scanner_checks WHERE id = ?`, id))
	return c, notFound(err, "scanner check", id)
}
