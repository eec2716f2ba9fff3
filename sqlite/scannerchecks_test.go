package sqlite

import (
	"context"
	"errors"
	"testing"
	"time"

	"crownassay/record"
)

func TestScannerChecks(t *testing.T) {
	ctx := context.Background()
	s, err := Open(ctx, t.TempDir(), func() time.Time { return time.Unix(1_800_000_000, 0) })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for _, doc := range []string{`{"a":1}`, `{"a":2}`} {
		if _, err := s.AddScannerCheck(ctx, []byte(doc)); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := s.WithdrawScannerCheck(ctx, 1, "the ball was dirty"); err != nil {
		t.Fatal(err)
	}
	if _, err := s.WithdrawScannerCheck(ctx, 2, " "); err == nil {
		t.Error("withdrawn without a reason")
	}
	if _, err := s.WithdrawScannerCheck(ctx, 9, "why"); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("withdraw check 9: %v, want ErrNotFound", err)
	}
	if c, err := s.WithdrawScannerCheck(ctx, 1, "another reason"); err != nil || c.Withdrawn != "the ball was dirty" {
		t.Errorf("withdrawn again: %q, %v, want the first reason to stay", c.Withdrawn, err)
	}
	got, err := s.ScannerChecks(ctx)
	if err != nil || len(got) != 2 || string(got[1].Document) != `{"a":2}` || got[0].Withdrawn != "the ball was dirty" || got[1].Withdrawn != "" || got[1].Added.Unix() != 1_800_000_000 {
		t.Errorf("checks = %+v, %v", got, err)
	}
	for _, q := range []string{`DELETE FROM scanner_checks`, `UPDATE scanner_checks SET document = ''`} {
		if _, err := s.db.ExecContext(ctx, q); err == nil {
			t.Errorf("%s was allowed", q)
		}
	}
}
