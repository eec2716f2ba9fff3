package sqlite

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/geom"
	"crownassay/record"
)

// written is a store with two cases, the first with two runs and a lot.
func written(t *testing.T, dir string) (*Store, record.Kept) {
	t.Helper()
	ctx, s := context.Background(), open(t, dir)
	k := kept(t, s)
	x := take(t, s, k.ID, "prepared", "one")
	for _, headline := range []string{"a", "b"} {
		doc := `{"format":"crownassay/1","version":"0.1.0","tooth":"46","surfaces":[{"role":"prepared","file":"p.stl","sha256":"` + x.SHA256 + `"}],"headline":"` + headline + `"}` + "\n"
		if _, err := s.AddRun(ctx, record.Run{Case: k.ID, Takes: []int64{x.ID}, Document: []byte(doc), Who: "AB"}); err != nil {
			t.Fatal(err)
		}
	}
	e, err := record.Lot("block", "77", "AB", time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Book(k.ID).Append(ctx, e); err != nil {
		t.Fatal(err)
	}
	kept(t, s)
	return s, k
}

func TestRunsHaveEntries(t *testing.T) {
	s, k := written(t, t.TempDir())
	v, err := record.Verify(context.Background(), s.Book(k.ID))
	if err != nil || v.Entries != 3 || v.Runs != 2 || v.Surfaces != 1 {
		t.Errorf("Verify = %+v, %v; want 3 entries, 2 runs, 1 surface", v, err)
	}
	if v, err := record.Verify(context.Background(), s.Book(k.ID+1)); err != nil || v.Entries != 0 {
		t.Errorf("a case without a record: %+v, %v", v, err)
	}
	if _, err := record.Verify(context.Background(), s.Book(99)); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("no case: %v, want ErrNotFound", err)
	}
}

func TestEntriesCannotBeChanged(t *testing.T) {
	s, _ := written(t, t.TempDir())
	for _, q := range []string{`UPDATE entries SET hash = hash`, `DELETE FROM entries`, `UPDATE runs SET made = 0`, `DELETE FROM runs WHERE id = 1`} {
		if _, err := s.db.Exec(q); err == nil || !strings.Contains(err.Error(), "never") {
			t.Errorf("%s: %v, want a refusal", q, err)
		}
	}
}

// free lets a test do what the program never does.
func free(t *testing.T, s *Store) {
	t.Helper()
	for _, n := range []string{"entries_stay", "entries_last", "runs_stay", "runs_last"} {
		if _, err := s.db.Exec(`DROP TRIGGER ` + n); err != nil {
			t.Fatal(err)
		}
	}
}

// TestAnyBitIsSeen flips a bit of every byte of each entry, its hash, each
// run's packed document and the mesh, one after the other.
func TestAnyBitIsSeen(t *testing.T) {
	ctx := context.Background()
	s, k := written(t, t.TempDir())
	free(t, s)
	if _, err := s.AddLine(ctx, record.Drawn{Case: 2, Points: []geom.Vec{{X: 1}, {Y: 1}, {Z: 1}}}); err != nil { // for a run to name falsely
		t.Fatal(err)
	}
	flips := 0
	for _, cell := range []struct{ get, set string }{
		{`SELECT content FROM entries WHERE case_id = 1 AND number = ?`, `UPDATE entries SET content = ? WHERE case_id = 1 AND number = ?`},
		{`SELECT CAST(hash AS BLOB) FROM entries WHERE case_id = 1 AND number = ?`, `UPDATE entries SET hash = CAST(? AS TEXT) WHERE case_id = 1 AND number = ?`},
		{`SELECT document FROM runs WHERE id = ?`, `UPDATE runs SET document = ? WHERE id = ?`},
		{`SELECT CAST(takes AS BLOB) FROM runs WHERE id = ?`, `UPDATE runs SET takes = CAST(? AS TEXT) WHERE id = ?`},
	} {
		for n := 1; n <= 3; n++ {
			var was []byte
			if err := s.db.QueryRow(cell.get, n).Scan(&was); errors.Is(err, sql.ErrNoRows) {
				continue
			} else if err != nil {
				t.Fatal(err)
			}
			for i := range was {
				now := bytes.Clone(was)
				now[i] ^= 1 << (i % 8)
				if _, err := s.db.Exec(cell.set, now, n); err != nil {
					if strings.Contains(err.Error(), "CHECK") {
						continue // the database itself refuses it
					}
					t.Fatal(err)
				}
				_, err := record.Verify(ctx, s.Book(k.ID))
				var fault *record.Fault
				if !errors.As(err, &fault) || fault.Number != int64(n) {
					t.Fatalf("%s, row %d, byte %d: %v, want a fault of entry %d", cell.get, n, i, err, n)
				}
				flips++
			}
			if _, err := s.db.Exec(cell.set, was, n); err != nil {
				t.Fatal(err)
			}
		}
	}
	if v, err := record.Verify(ctx, s.Book(k.ID)); err != nil || flips < 1500 {
		t.Errorf("put back: %+v, %v after %d flips", v, err, flips)
	}
	for _, q := range []string{`made = made + 1`, `made = made - 4096`, `line_id = 1`} {
		if _, err := s.db.Exec(`UPDATE runs SET ` + q + ` WHERE id = 2`); err != nil {
			t.Fatal(err)
		}
		if _, err := record.Verify(ctx, s.Book(k.ID)); err == nil || !strings.Contains(err.Error(), "the row of run 2 was changed") {
			t.Errorf("%s: %v", q, err)
		}
		back := map[string]string{`made = made + 1`: `made = made - 1`, `made = made - 4096`: `made = made + 4096`, `line_id = 1`: `line_id = NULL`}[q]
		if _, err := s.db.Exec(`UPDATE runs SET ` + back + ` WHERE id = 2`); err != nil {
			t.Fatal(err)
		}
	}
	mesh, _ := filepath.Glob(filepath.Join(s.dir, meshFolder, "*"))
	if err := os.WriteFile(mesh[0], []byte("onf"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := record.Verify(ctx, s.Book(k.ID)); err == nil || !strings.Contains(err.Error(), "prepared surface (p.stl) was changed") {
		t.Errorf("a bit of the mesh flipped: %v", err)
	}
}

func TestEntriesTakenOut(t *testing.T) {
	for name, c := range map[string]struct{ do, want string }{
		"the first":              {`DELETE FROM entries WHERE number = 1`, "entry 1 of the record is not right"},
		"one between":            {`DELETE FROM entries WHERE number = 2`, "entry 2 of the record is not right"},
		"all":                    {`DELETE FROM entries`, "run 1 is kept, but no entry"},
		"the last, with its run": {`DELETE FROM runs WHERE id = 2`, "entry 2 of the record is not right: its document cannot be read"},
		"given to another case":  {`UPDATE entries SET case_id = 2 WHERE number = 1`, "entry 1 of the record"},
		"renumbered":             {`UPDATE entries SET number = 7 WHERE number = 3`, "entry 3 of the record is not right: in its place stands entry 3, kept as 7"},
	} {
		s, k := written(t, t.TempDir())
		free(t, s)
		if _, err := s.db.Exec(c.do); err != nil {
			t.Fatal(err)
		}
		if _, err := record.Verify(context.Background(), s.Book(k.ID)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}

// TestOlderStoreGetsEntries opens a store from before there were entries.
func TestOlderStoreGetsEntries(t *testing.T) {
	dir := t.TempDir()
	s, k := written(t, dir)
	free(t, s)
	older := []string{`DROP TABLE taps`, `DROP TABLE visits`, `DROP TABLE scanner_checks`, `DROP TABLE entries`, `DELETE FROM goose_db_version WHERE version_id > 1`}
	for _, column := range []string{"limits", "limits_file", "block", "tool_um", "cement_um"} { // of migration 4
		older = append(older, `ALTER TABLE cases DROP COLUMN `+column)
	}
	for _, q := range older {
		if _, err := s.db.Exec(q); err != nil {
			t.Fatal(err)
		}
	}
	s.Close()
	s = open(t, dir)
	v, err := record.Verify(context.Background(), s.Book(k.ID))
	if err != nil || v.Entries != 2 || v.Runs != 2 {
		t.Errorf("Verify = %+v, %v; want the two runs entered", v, err)
	}
	free(t, s)
	if _, err := s.db.Exec(`DELETE FROM entries`); err != nil {
		t.Fatal(err)
	}
	s.Close()
	if _, err := record.Verify(context.Background(), open(t, dir).Book(k.ID)); err == nil {
		t.Error("entries that were taken out came back when the store was opened")
	}
}

// TestManyWriters adds entries to one record from several goroutines: none is
// lost and the chain holds.
func TestManyWriters(t *testing.T) {
	ctx := context.Background()
	s, k := written(t, t.TempDir())
	const writers, each = 4, 10
	ended := make(chan error, writers)
	for range writers {
		go func() {
			var err error
			for range each {
				e, _ := record.Lot("tool", "5", "AB", time.Now())
				_, more := s.Book(k.ID).Append(ctx, e)
				err = errors.Join(err, more)
			}
			ended <- err
		}()
	}
	for range writers {
		if err := <-ended; err != nil {
			t.Error(err)
		}
	}
	if v, err := record.Verify(ctx, s.Book(k.ID)); err != nil || v.Entries != 3+writers*each {
		t.Errorf("Verify = %+v, %v; want %d entries", v, err, 3+writers*each)
	}
}
