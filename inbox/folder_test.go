package inbox

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// TestFoldersAreTakenWhole copies a folder in file by file, with pauses shorter
// than what counts as still: it is handed on once, with all its files, and once
// more when another one comes. A folder of which a part is still missing, as
// Folder says, is given again.
func TestFoldersAreTakenWhole(t *testing.T) {
	dir := t.TempDir()
	told := make(chan string, 10)
	b := Box{Dir: dir, Still: 120 * time.Millisecond, Patience: 5 * time.Second,
		Wants: func(name string) bool { return strings.HasSuffix(name, ".stl") },
		Take:  func(context.Context, string) error { return nil },
		Folder: func(_ context.Context, dir string, files []string) error {
			if _, err := os.Stat(filepath.Join(dir, "part")); err == nil {
				return ErrPart
			}
			return fmt.Errorf("%d files", len(files))
		},
		Tell: func(path string, err error) { told <- fmt.Sprint(filepath.Base(path), " ", err) },
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- b.Follow(ctx) }()
	time.Sleep(50 * time.Millisecond) // it is followed
	in := filepath.Join(dir, "case 7")
	if err := os.Mkdir(in, 0o755); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"case.yaml", "a.stl", "b.stl", "c.stl"} {
		put(t, filepath.Join(in, name), "content")
		time.Sleep(60 * time.Millisecond)
		if len(told) > 0 {
			t.Fatalf("taken in part: %s", <-told)
		}
	}
	expect(t, told, "case 7 3 files")
	put(t, filepath.Join(in, "part"), "x")
	put(t, filepath.Join(in, "d.stl"), "content")
	time.Sleep(400 * time.Millisecond)
	if len(told) > 0 {
		t.Fatalf("told while a part was missing: %s", <-told)
	}
	if err := os.Remove(filepath.Join(in, "part")); err != nil {
		t.Fatal(err)
	}
	expect(t, told, "case 7 4 files")
	stop()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if len(told) > 0 {
		t.Errorf("told again: %s", <-told)
	}
}
