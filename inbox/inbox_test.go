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

// TestFilesAreTakenWhole writes files in pieces, as a scanner does, with a
// pause longer than what counts as still: a file is handed on until it ends
// with its last word, and told once.
func TestFilesAreTakenWhole(t *testing.T) {
	dir := t.TempDir()
	there := filepath.Join(dir, "there.stl")
	put(t, there, "all of it END")
	put(t, filepath.Join(dir, "note.txt"), "no mesh END")
	told := make(chan string, 10)
	b := Box{Dir: dir, Still: 40 * time.Millisecond, Patience: 5 * time.Second,
		Wants: func(name string) bool { return strings.HasSuffix(name, ".stl") },
		Take: func(_ context.Context, path string) error {
			c, err := os.ReadFile(path)
			if err == nil && !strings.HasSuffix(string(c), "END") {
				return fmt.Errorf("read %s: %w", path, ErrPart)
			}
			return err
		},
		Tell: func(path string, err error) { told <- fmt.Sprint(filepath.Base(path), " ", err) },
	}
	ctx, stop := context.WithCancel(context.Background())
	done := make(chan error)
	go func() { done <- b.Follow(ctx) }()
	expect(t, told, "there.stl <nil>")
	slow, err := os.Create(filepath.Join(dir, "slow.stl"))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"one ", "two ", "three END"} {
		if len(told) > 0 {
			t.Fatalf("taken in part: %s", <-told)
		}
		if _, err := slow.WriteString(part); err != nil {
			t.Fatal(err)
		}
		time.Sleep(150 * time.Millisecond)
	}
	slow.Close()
	expect(t, told, "slow.stl <nil>")
	stop()
	if err := <-done; err != nil {
		t.Error(err)
	}
	if len(told) > 0 {
		t.Errorf("told again: %s", <-told)
	}
}

// TestWhatNeverEndsIsGivenUp says so after the patience.
func TestWhatNeverEndsIsGivenUp(t *testing.T) {
	dir := t.TempDir()
	put(t, filepath.Join(dir, "half.stl"), "half")
	told := make(chan string, 10)
	b := Box{Dir: dir, Still: 20 * time.Millisecond, Patience: 200 * time.Millisecond,
		Take: func(context.Context, string) error { return ErrPart },
		Tell: func(path string, err error) { told <- fmt.Sprint(filepath.Base(path), " ", err) }}
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	go b.Follow(ctx)
	expect(t, told, "half.stl the file is not whole")
}

func TestNoFolder(t *testing.T) {
	b := Box{Dir: filepath.Join(t.TempDir(), "none")}
	if err := b.Follow(context.Background()); err == nil {
		t.Error("a folder that is not there was followed")
	}
}

func put(t *testing.T, path, content string) {
	t.Helper()
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
}

func expect(t *testing.T, told <-chan string, want string) {
	t.Helper()
	select {
	case got := <-told:
		if got != want {
			t.Fatalf("told %q, want %q", got, want)
		}
	case <-time.After(20 * time.Second):
		t.Fatalf("never told %q", want)
	}
}
