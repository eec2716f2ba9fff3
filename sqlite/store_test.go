package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"crownassay/geom"
	"crownassay/record"
)

// clock moves on by a second at each look, from any goroutine.
func clock() func() time.Time {
	var seconds atomic.Int64
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	return func() time.Time { return start.Add(time.Duration(seconds.Add(1)) * time.Second) }
}

func open(t *testing.T, dir string) *Store {
	t.Helper()
	s, err := Open(context.Background(), dir, clock())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

func kept(t *testing.T, s *Store) record.Kept {
	t.Helper()
	mesial := geom.V(0, 1, 0)
	k, err := s.AddCase(context.Background(), record.Kept{Tooth: "46", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm", Patient: "P-1", Mesial: &mesial})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func take(t *testing.T, s *Store, id int64, role, content string) record.Take {
	t.Helper()
	b, err := s.PutMesh(context.Background(), strings.NewReader(content), 1000)
	if err != nil {
		t.Fatal(err)
	}
	k, err := s.AddTake(context.Background(), record.Take{Case: id, Role: role, Confirmed: true, File: role + ".stl", SHA256: b.SHA256, Bytes: b.Bytes})
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func TestStoreGivesBackWhatItWasGiven(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	s := open(t, dir)
	k := kept(t, s)
	a, b := take(t, s, k.ID, "prepared", "one"), take(t, s, k.ID, "prepared", "two")
	if again := take(t, s, k.ID, "crown", "one"); again != a {
		t.Errorf("the same content once more is %+v, want the take that is there, %+v", again, a)
	}
	line, err := s.AddLine(ctx, record.Drawn{Case: k.ID, Points: []geom.Vec{{X: 1}, {Y: 0.1}, {Z: 1e-9}}, Who: "AB"})
	if err != nil {
		t.Fatal(err)
	}
	run, err := s.AddRun(ctx, record.Run{Case: k.ID, Takes: []int64{b.ID}, Line: line.ID, Document: []byte(`{"format":"crownassay/1"}`)})
	if err != nil {
		t.Fatal(err)
	}
	s.Close()
	s = open(t, dir) // as after a restart
	takes, err := s.Takes(ctx, k.ID)
	if d := cmp.Diff([]record.Take{a, b}, takes); err != nil || d != "" {
		t.Error(err, d)
	}
	if now := record.Current(takes)["prepared"]; now != b {
		t.Errorf("current prepared take is %+v, want the newest, %+v", now, b)
	}
	lines, err := s.Lines(ctx, k.ID)
	if d := cmp.Diff([]record.Drawn{line}, lines); err != nil || d != "" {
		t.Error(err, d)
	}
	runs, err := s.Runs(ctx, k.ID, 5)
	if d := cmp.Diff([]record.Run{run}, runs); err != nil || d != "" {
		t.Error(err, d)
	}
	got, err := s.Case(ctx, k.ID)
	k.Changed = run.Made // the last that happened to it
	if d := cmp.Diff(k, got); err != nil || d != "" {
		t.Error(err, d)
	}
}

func TestMeshesAreKeptByTheirContent(t *testing.T) {
	ctx, s := context.Background(), open(t, t.TempDir())
	content := bytes.Repeat([]byte("mesh"), 1000)
	b, err := s.PutMesh(ctx, bytes.NewReader(content), 4000)
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(content)
	if want := hex.EncodeToString(sum[:]); b.SHA256 != want || b.Bytes != 4000 {
		t.Errorf("PutMesh = %+v, want %s of 4000 bytes", b, want)
	}
	at, err := s.MeshPath(ctx, b.SHA256)
	if err != nil {
		t.Fatal(err)
	}
	if got, err := os.ReadFile(at); err != nil || !bytes.Equal(got, content) {
		t.Errorf("read back %d bytes, %v", len(got), err)
	}
	if _, err := s.PutMesh(ctx, bytes.NewReader(content), 3999); !errors.Is(err, record.ErrTooLarge) {
		t.Errorf("one byte too many: %v, want ErrTooLarge", err)
	}
	if left, _ := filepath.Glob(filepath.Join(s.dir, tempFolder, "*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
	if _, err := s.MeshPath(ctx, "../bench.db"); err == nil {
		t.Error("a path was taken for a hash")
	}
}

func TestUndoneLinesStay(t *testing.T) {
	ctx, s := context.Background(), open(t, t.TempDir())
	k := kept(t, s)
	pts := []geom.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	first, _ := s.AddLine(ctx, record.Drawn{Case: k.ID, Points: pts, Who: "AB"})
	if _, err := s.AddLine(ctx, record.Drawn{Case: k.ID, Points: pts, Who: "CD"}); err != nil {
		t.Fatal(err)
	}
	for _, want := range []int64{first.ID, 0} {
		if d, err := s.UndoLine(ctx, k.ID); err != nil || d.ID != want {
			t.Errorf("after undoing, line %d holds, %v; want %d", d.ID, err, want)
		}
	}
	if _, err := s.UndoLine(ctx, k.ID); !errors.Is(err, record.ErrNotFound) {
		t.Errorf("undoing nothing: %v, want ErrNotFound", err)
	}
	lines, err := s.Lines(ctx, k.ID)
	if err != nil || len(lines) != 2 || slices.ContainsFunc(lines, func(d record.Drawn) bool { return !d.Undone || d.Who == "" }) {
		t.Errorf("history is %+v, %v; want both lines, undone, with who drew them", lines, err)
	}
}

func TestWhatIsNotThere(t *testing.T) {
	ctx, s := context.Background(), open(t, t.TempDir())
	sum := strings.Repeat("0a", 32)
	for name, do := range map[string]func() error{
		"case":    func() error { _, err := s.Case(ctx, 9); return err },
		"change":  func() error { _, err := s.ChangeCase(ctx, record.Kept{ID: 9, Numbering: "iso3950"}); return err },
		"role":    func() error { _, err := s.ChangeTake(ctx, record.Take{ID: 9, Role: "crown"}); return err },
		"mesh":    func() error { _, err := s.MeshPath(ctx, sum); return err },
		"take":    func() error { _, err := s.AddTake(ctx, record.Take{Case: 1, SHA256: sum}); return err },
		"setting": func() error { _, err := s.Setting(ctx, "x"); return err },
	} {
		if err := do(); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("%s: %v, want ErrNotFound", name, err)
		}
	}
	if _, err := s.AddRun(ctx, record.Run{Case: 9, Document: []byte(`{"format":"crownassay/1"}`)}); err == nil {
		t.Error("a run of no case was kept: foreign keys are off")
	}
}

// TestEveryConnectionKeepsToThePragmas opens more connections than one.
func TestEveryConnectionKeepsToThePragmas(t *testing.T) {
	ctx, s := context.Background(), open(t, t.TempDir())
	for range 3 {
		c, err := s.db.Conn(ctx)
		if err != nil {
			t.Fatal(err)
		}
		defer c.Close() // held, so that the next is another one
		var mode string
		var keys, sync int
		for q, v := range map[string]any{"journal_mode": &mode, "foreign_keys": &keys, "synchronous": &sync} {
			if err := c.QueryRowContext(ctx, "PRAGMA "+q).Scan(v); err != nil {
				t.Fatal(err)
			}
		}
		if mode != "wal" || keys != 1 || sync != 2 {
			t.Errorf("journal %s, foreign keys %d, synchronous %d; want wal, 1, 2", mode, keys, sync)
		}
	}
}

// TestOpenAtOnce: programs that find a new folder at the same moment all get
// their store.
func TestOpenAtOnce(t *testing.T) {
	for range 3 {
		dir := t.TempDir()
		var all sync.WaitGroup
		for range 4 {
			all.Go(func() {
				s, err := Open(context.Background(), dir, nil)
				if err != nil {
					t.Error(err)
					return
				}
				s.Close()
			})
		}
		all.Wait()
	}
}
