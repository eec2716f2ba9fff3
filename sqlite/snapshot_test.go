package sqlite

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"crownassay/record"
)

// writing adds takes with runs and lots to a store until it is told to end, as
// a served bench does, and notes what was accepted and how many that were.
type writing struct {
	mu       sync.Mutex
	accepted []string // hashes of meshes whose run and lot are kept too
	err      error
}

func (w *writing) run(ctx context.Context, s *Store, id int64, name string, ended <-chan struct{}) {
	for i := 0; ; i++ {
		select {
		case <-ended:
			return
		default:
		}
		sum, err := addAll(ctx, s, id, fmt.Sprintf("%s %d %s", name, i, strings.Repeat("x", 20_000)))
		w.mu.Lock()
		if err != nil {
			w.err = err
			w.mu.Unlock()
			return
		}
		w.accepted = append(w.accepted, sum)
		w.mu.Unlock()
	}
}

func (w *writing) so(n int) []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.accepted[:min(n, len(w.accepted)):min(n, len(w.accepted))]
}

// addAll adds a mesh with its take, a run of it and a lot.
func addAll(ctx context.Context, s *Store, id int64, content string) (string, error) {
	b, err := s.PutMesh(ctx, strings.NewReader(content), 1<<20)
	if err != nil {
		return "", err
	}
	t, err := s.AddTake(ctx, record.Take{Case: id, Role: "prepared", File: "p.stl", SHA256: b.SHA256, Bytes: b.Bytes, Confirmed: true})
	if err != nil {
		return "", err
	}
	doc := fmt.Sprintf(`{"format":"crownassay/1","surfaces":[{"role":"prepared","file":"p.stl","sha256":%q}],"headline":%q}`, b.SHA256, b.SHA256)
	if _, err := s.AddRun(ctx, record.Run{Case: id, Takes: []int64{t.ID}, Document: []byte(doc)}); err != nil {
		return "", err
	}
	e, err := record.Lot("block", b.SHA256[:12], "AB", time.Now())
	if err != nil {
		return "", err
	}
	_, err = s.Book(id).Append(ctx, e)
	return b.SHA256, err
}

// copied puts a snapshot's files where a restored store has them.
func copied(t *testing.T, files []Copied) string {
	t.Helper()
	dir := t.TempDir()
	for _, f := range files {
		to := filepath.Join(dir, filepath.FromSlash(f.Name))
		if err := os.MkdirAll(filepath.Dir(to), 0o700); err != nil {
			t.Fatal(err)
		}
		r, err := os.Open(f.Path)
		if err != nil {
			t.Fatal(err)
		}
		w, err := os.Create(to)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(w, r); err != nil {
			t.Fatal(err)
		}
		r.Close()
		w.Close()
	}
	return dir
}

// TestSnapshotWhileWriting takes snapshots of a store that two writers, through
// two openings of it, add to all the time. Each has all that was accepted
// before it began, whole, and nothing half.
func TestSnapshotWhileWriting(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	a, err := Open(ctx, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	b, err := Open(ctx, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	ended, w, wait := make(chan struct{}), &writing{}, sync.WaitGroup{}
	for i, s := range []*Store{a, b} {
		id := kept(t, s).ID
		wait.Add(1)
		go func() { defer wait.Done(); w.run(ctx, s, id, fmt.Sprint("writer ", i), ended) }()
	}
	tested := 0
	for range 4 {
		time.Sleep(150 * time.Millisecond)
		before := w.so(1 << 30)
		files, err := a.Snapshot(ctx, t.TempDir())
		if err != nil {
			t.Fatal(err)
		}
		tested += len(before)
		checkSnapshot(ctx, t, copied(t, files), before)
	}
	close(ended)
	wait.Wait()
	if w.err != nil || tested < 8 {
		t.Errorf("writing: %v; %d acceptances were looked for", w.err, tested)
	}
	t.Logf("%d accepted in all, %d looked for in 4 snapshots", len(w.accepted), tested)
}

func checkSnapshot(ctx context.Context, t *testing.T, dir string, accepted []string) {
	t.Helper()
	s, err := Open(ctx, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	if _, err := s.Check(ctx, nil); err != nil {
		t.Fatal(err)
	}
	there := map[string]int{}
	for _, id := range []int64{1, 2} {
		takes, err := s.Takes(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range takes {
			there[x.SHA256]++
		}
		runs, err := s.Runs(ctx, id, -1)
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range runs {
			d, err := record.ReadDocument(r.Document)
			if err != nil {
				t.Fatal(err)
			}
			there[d.Headline]++
		}
		all, err := record.Entries(ctx, s.Book(id))
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range all {
			if e.Lot != nil {
				there[e.Lot.Lot]++
			}
		}
	}
	for _, sum := range accepted {
		if there[sum] != 2 || there[sum[:12]] != 1 { // its take and its run; its lot
			t.Fatalf("%s was accepted before the snapshot, which has %d of its take and run, and %d of its lot", sum, there[sum], there[sum[:12]])
		}
	}
}

// TestCheckNames says what is not right.
func TestCheckNames(t *testing.T) {
	ctx := context.Background()
	for name, c := range map[string]struct {
		do   func(s *Store) error
		want string
	}{
		"a mesh is gone": {func(s *Store) error {
			m, _ := filepath.Glob(filepath.Join(s.dir, meshFolder, "*"))
			return os.Remove(m[0])
		}, "case 1: take 1 (prepared.stl): find mesh"},
		"a mesh is another": {func(s *Store) error {
			m, _ := filepath.Glob(filepath.Join(s.dir, meshFolder, "*"))
			return os.WriteFile(m[0], []byte("two"), 0o600)
		}, "case 1: take 1 (prepared.stl): its file was changed"},
		"a run names a take that is not there": {func(s *Store) error {
			_, err := s.db.Exec(`UPDATE runs SET takes = '[7]' WHERE id = 2`)
			return err
		}, "run 2 was made from take 7, which is not there"},
		"a row names none": {func(s *Store) error {
			_, err := s.db.Exec(`PRAGMA foreign_keys = 0; UPDATE takes SET case_id = 9; PRAGMA foreign_keys = 1`)
			return err
		}, "name one that is not there"},
	} {
		s, _ := written(t, t.TempDir())
		free(t, s)
		if seen, err := s.Check(ctx, nil); err != nil || seen != (Checked{2, 1, 2, 3}) {
			t.Errorf("%s: before, %+v, %v", name, seen, err)
		}
		s.db.SetMaxOpenConns(1)
		if err := c.do(s); err != nil {
			t.Fatal(err)
		}
		if _, err := s.Check(ctx, nil); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", name, err, c.want)
		}
	}
}
