package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/luting"
)

// TestLutingCommand asks about a folder that has no record, one that has, and
// one with the practice's own rules.
func TestLutingCommand(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "case")
	if s, _, errs := call(t, "phantom", dir, "--triangles", "8000"); s != 0 {
		t.Fatal(errs)
	}
	says := func(status int, want string, args ...string) {
		t.Helper()
		s, out, errs := call(t, append([]string{"luting"}, args...)...)
		if s != status || !strings.Contains(strings.Join(strings.Fields(out+errs), " "), want) {
			t.Errorf("luting %v = %d\n%s%s\nwant %d with %q", args, s, out, errs, status, want)
		}
	}
	says(0, "Luting: tooth 46, zirconia-3y, as measured now", dir)
	says(0, "The maker's instructions for the material and the luting material in hand come first.", dir)
	says(0, "Occlusal thickness is not among the readings of this run.", dir)
	says(2, `find luting family "glue"`, dir, "--family", "glue")
	says(2, "a finish line 400 mm below the gingiva", dir, "--depth", "400")
	if s, _, errs := call(t, "assay", dir, "--keep", "--who", "AB"); s > 1 {
		t.Fatal(errs)
	}
	says(0, "by entry 1 of the record", dir)
	says(0, "Bond: conventional cement is not supported.", dir, "--isolation", "rubber-dam")
	says(0, "Timer: 20 s, unless the maker's instructions say otherwise.", dir, "--isolation", "rubber-dam")
	says(2, "there is no bench", "7", "--store", filepath.Join(dir, "none"))

	own := filepath.Join(dir, "own.yaml")
	if err := os.WriteFile(own, []byte("rules:\n  - {name: ours, family: [adhesive-resin], never: true, says: we have none}\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	says(0, "not met It is for a time only. We have none. [practice", dir, "--isolation", "rubber-dam", "--rules", own)
	says(2, "read --rules", dir, "--rules", own+".none")

	_, out, _ := call(t, "luting", dir, "--json", "--isolation", "rubber-dam")
	var v luting.Verdict
	if err := json.Unmarshal([]byte(out), &v); err != nil || len(v.Answers) != 6 || v.Answers[0].Standing != luting.Supported || len(v.Answers[0].Steps) < 10 || v.Rules != luting.BuiltIn().Hash || v.OwnRules != "" {
		t.Errorf("JSON: %v, %.300s", err, out)
	}
}
