package main

import (
	"bufio"
	"context"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"crownassay/web"
)

// TestServeOpensItsPage serves with a screen and looks at what the desktop's
// opener is called with: the address that was printed, which answers.
func TestServeOpensItsPage(t *testing.T) {
	if runtime.GOOS != "linux" || !web.HasPage() {
		t.Skip("needs the desktop's opener as Linux has it, and the built page")
	}
	dir := t.TempDir()
	told := fakeOpener(t, dir, "xdg-open")
	t.Setenv("DISPLAY", ":0")
	t.Setenv("BROWSER", "")
	ctx, stop := context.WithCancel(context.Background())
	defer stop()
	out, in := io.Pipe()
	ended := make(chan int, 1)
	go func() {
		ended <- run(ctx, []string{"serve", "--store", filepath.Join(dir, "store"), "--listen", "127.0.0.1:0", "--open"}, nil, in, io.Discard)
	}()
	line, err := bufio.NewReader(out).ReadString('\n')
	at, ok := strings.CutPrefix(strings.TrimSpace(line), "The bench is at ")
	if err != nil || !ok {
		t.Fatalf("printed %q, %v", line, err)
	}
	if got := awaited(told, 5*time.Second); got != at {
		t.Errorf("the opener was called with %q, printed was %s", got, at)
	}
	a, err := http.Get(at)
	if err != nil || a.StatusCode != http.StatusOK {
		t.Fatalf("%s does not answer: %v", at, err)
	}
	a.Body.Close()
	stop()
	if status := <-ended; status != 0 {
		t.Errorf("status %d", status)
	}
}

// fakeOpener stands a script in a folder that becomes the path, and returns the
// file into which it writes what it was called with.
func fakeOpener(t *testing.T, dir, name string) string {
	t.Helper()
	told := filepath.Join(dir, "told")
	script := "#!/bin/sh\necho \"$@\" > " + told + ".part && /bin/mv " + told + ".part " + told + "\n"
	if err := os.WriteFile(filepath.Join(dir, name), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	t.Setenv("PATH", dir)
	t.Setenv("WAYLAND_DISPLAY", "")
	t.Setenv("WSL_DISTRO_NAME", "")
	return told
}

// awaited is what a file says once it is there; empty when it does not come.
func awaited(path string, most time.Duration) string {
	for end := time.Now().Add(most); time.Now().Before(end); time.Sleep(10 * time.Millisecond) {
		if b, err := os.ReadFile(path); err == nil {
			return strings.TrimSpace(string(b))
		}
	}
	return ""
}

// TestOpensTheBrowser stands a script in the place of the desktop's opener and
// looks at what it is called with; without a screen nothing is called.
func TestOpensTheBrowser(t *testing.T) {
	if runtime.GOOS != "linux" {
		t.Skip("the desktop's opener is found on the path on Linux only")
	}
	const at = "http://127.0.0.1:7460/"
	for _, c := range []struct {
		name, opener, display, browser string
		want                           bool
	}{
		{"a screen", "xdg-open", ":0", "", true},
		{"a screen, and another opener", "sensible-browser", ":0", "", true},
		{"no screen", "xdg-open", "", "", false},
		{"a browser that was named", "my-browser", "", "my-browser", true},
	} {
		told := fakeOpener(t, t.TempDir(), c.opener)
		t.Setenv("DISPLAY", c.display)
		t.Setenv("BROWSER", c.browser)
		openBrowser(at)
		wait := 5 * time.Second
		if !c.want {
			wait = 300 * time.Millisecond
		}
		got := awaited(told, wait)
		if opened := got == at; opened != c.want {
			t.Errorf("%s: the opener was called with %q, want it called: %v", c.name, got, c.want)
		}
	}
}
