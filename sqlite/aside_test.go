package sqlite

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"crownassay/record"
)

func TestAsideHoldsUnderItsKeyOnly(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	s := open(t, dir)
	content := "\n one\nline end\x00more"
	for _, set := range [][2]string{{"old", "gone"}, {"key", content}} {
		if err := s.SetAside(ctx, 3, "map-prepared-scan.noise", set[0], []byte(set[1])); err != nil {
			t.Fatal(err)
		}
	}
	s.Close()
	s = open(t, dir)
	if b, err := s.Aside(ctx, 3, "map-prepared-scan.noise", "key"); err != nil || string(b) != content {
		t.Errorf("got %q, %v", b, err)
	}
	for _, no := range []struct {
		id        int64
		kind, key string
	}{{3, "map-prepared-scan.noise", "old"}, {4, "map-prepared-scan.noise", "key"}, {3, "about", "key"}} {
		if _, err := s.Aside(ctx, no.id, no.kind, no.key); !errors.Is(err, record.ErrNotFound) {
			t.Errorf("%v: %v, want ErrNotFound", no, err)
		}
	}
	if err := s.SetAside(ctx, 3, "../bench", "key", nil); err == nil {
		t.Error("a path was taken for a kind")
	}
}

// TestSweep opens the store again two hours later: what no take names is gone,
// what one names and what has just come is there.
func TestSweep(t *testing.T) {
	ctx, dir := context.Background(), t.TempDir()
	s, err := Open(ctx, dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	k := kept(t, s)
	named := take(t, s, k.ID, "prepared", "named").SHA256
	put := func(content string) string {
		b, err := s.PutMesh(ctx, strings.NewReader(content), 1000)
		if err != nil {
			t.Fatal(err)
		}
		return b.SHA256
	}
	refused, again := put("refused"), put("again")
	part := filepath.Join(dir, tempFolder, tempPrefix+"cut-off")
	if err := os.WriteFile(part, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	then := time.Now().Add(-2 * time.Hour)
	for _, f := range []string{s.path(named), s.path(refused), s.path(again), part} {
		if err := os.Chtimes(f, then, then); err != nil {
			t.Fatal(err)
		}
	}
	put("again") // has come once more just now
	s.Close()
	if s, err = Open(ctx, dir, nil); err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	for sum, want := range map[string]bool{named: true, again: true, refused: false} {
		if _, err := s.MeshPath(ctx, sum); (err == nil) != want {
			t.Errorf("mesh %.8s: %v, want it there: %v", sum, err, want)
		}
	}
	if _, err := os.Stat(part); err == nil {
		t.Error("what was cut off is still there")
	}
}
