package main

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

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
		dir := t.TempDir()
		told := filepath.Join(dir, "told")
		script := "#!/bin/sh\necho \"$@\" > " + told + ".part && /bin/mv " + told + ".part " + told + "\n"
		if err := os.WriteFile(filepath.Join(dir, c.opener), []byte(script), 0o755); err != nil {
			t.Fatal(err)
		}
		t.Setenv("PATH", dir)
		t.Setenv("DISPLAY", c.display)
		t.Setenv("WAYLAND_DISPLAY", "")
		t.Setenv("WSL_DISTRO_NAME", "")
		t.Setenv("BROWSER", c.browser)
		openBrowser(at)
		wait := 5 * time.Second
		if !c.want {
			wait = 300 * time.Millisecond
		}
		var got []byte
		for end := time.Now().Add(wait); time.Now().Before(end) && got == nil; time.Sleep(10 * time.Millisecond) {
			got, _ = os.ReadFile(told)
		}
		if opened := strings.TrimSpace(string(got)) == at; opened != c.want {
			t.Errorf("%s: the opener was called with %q, want it called: %v", c.name, got, c.want)
		}
	}
}
