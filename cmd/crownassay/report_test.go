package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestReportIsTheSameTwice: measuring and drawing again give the same bytes,
// dated by the record.
func TestReportIsTheSameTwice(t *testing.T) {
	dir := kept(t)
	for _, more := range [][]string{{"--paper", "letter"}, {"--patient"}} {
		var files [2][]byte
		for i := range files {
			name := filepath.Join(t.TempDir(), "r.pdf")
			if s, _, errs := call(t, append([]string{"report", dir, "--out", name}, more...)...); s != 0 || errs != "" {
				t.Fatal(s, errs)
			}
			b, err := os.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			files[i] = b
		}
		if !bytes.Equal(files[0], files[1]) || !bytes.HasPrefix(files[0], []byte("%PDF-1.")) {
			t.Errorf("report %v: two runs give %d and %d bytes that differ", more, len(files[0]), len(files[1]))
		}
		if bytes.Contains(files[0], []byte("(D:1970")) {
			t.Errorf("report %v: the record's date is not in it", more)
		}
	}
	if s, _, errs := call(t, "report", dir, "--out", "none/x.pdf"); s != 2 || !strings.Contains(errs, "there is no folder none; make it first") {
		t.Errorf("no folder: %d, %s", s, errs)
	}
}
