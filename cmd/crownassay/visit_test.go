package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestVisit taps two visits from the command line.
func TestVisit(t *testing.T) {
	store := t.TempDir()
	visit := func(args ...string) (int, string, string) {
		return call(t, append([]string{"visit"}, append(args, "--store", store)...)...)
	}
	if code, out, errs := visit("start", "--chair", "1", "--material", "zirconia-3y"); code != 0 || !strings.Contains(out, "now: Anaesthesia since") || !strings.Contains(out, "with 90 %") {
		t.Fatalf("start: %d %s%s", code, out, errs)
	}
	if code, out, errs := visit("next"); code != 0 || !strings.Contains(out, "now: Anaesthesia takes effect") {
		t.Fatalf("next: %d %s%s", code, out, errs)
	}
	if code, out, errs := visit("undo"); code != 0 || !strings.Contains(out, "now: Anaesthesia since") {
		t.Fatalf("undo: %d %s%s", code, out, errs)
	}
	if code, _, errs := visit("start", "--chair", "1"); code != 2 || !strings.Contains(errs, "chair 1 has visit 1") {
		t.Errorf("the same chair again: %d %s", code, errs)
	}
	if code, _, errs := visit("start", "--chair", "2", "--material", "leucite", "--stage", "design"); code != 0 {
		t.Fatalf("second chair: %d %s", code, errs)
	}
	if code, _, errs := visit("next"); code != 2 || !strings.Contains(errs, "the visits [1 2] are open; say which") {
		t.Errorf("next of which: %d %s", code, errs)
	}
	code, out, errs := visit("now", "--json")
	var f struct {
		Visits []struct {
			Stage, Next string
			Ready       struct{ P50, P90 string }
		}
	}
	if err := json.Unmarshal([]byte(out), &f); err != nil || code != 0 || len(f.Visits) != 2 || f.Visits[1].Next != "milling" || f.Visits[1].Ready.P90 <= f.Visits[1].Ready.P50 {
		t.Errorf("now --json: %v %d %s%s", err, code, out, errs)
	}
	if code, out, errs := visit("book", "--material", "leucite", "--alone"); code != 0 || !strings.Contains(out, "Most of it rests on wide defaults") {
		t.Errorf("book: %d %s%s", code, out, errs)
	}
	if code, out, _ := visit("end", "--chair", "2", "--broken-off"); code != 0 || strings.Contains(out, "Chair 2") {
		t.Errorf("end: %d %s", code, out)
	}
	if _, out, _ := visit("list"); !strings.Contains(out, "broken off") {
		t.Errorf("list: %s", out)
	}
	_, list, _ := visit("list", "--json")
	file, other := filepath.Join(t.TempDir(), "visits.json"), t.TempDir()
	if err := os.WriteFile(file, []byte(list), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"2 of 2 visits were kept", "0 of 2 visits were kept"} {
		if code, out, errs := call(t, "visit", "import", file, "--store", other); code != 0 || !strings.Contains(out, want) {
			t.Errorf("import: %d %s%s, want %s", code, out, errs, want)
		}
	}
	if code, _, errs := visit("start", "--chair", "2", "--material", "zirkonia"); code != 2 || !strings.Contains(errs, `the plan has no material "zirkonia": it is one of cast-metal`) {
		t.Errorf("unknown material: %d %s", code, errs)
	}
	if _, out, _ := visit("learned"); !strings.Contains(out, "Left out: visit 2, Margin marked and crown designed") {
		t.Errorf("learned: %s", out)
	}
}

// TestVisitPlan keeps a practice's own plan with the bench.
func TestVisitPlan(t *testing.T) {
	store, own := t.TempDir(), filepath.Join(t.TempDir(), "own.yaml")
	if err := os.WriteFile(own, []byte("resources:\n  - {name: chair, title: Chair, count: 3}\nstages:\n  - {name: onset, omit: true}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, out, errs := call(t, "visit", "plan", "--own", own, "--store", store); code != 0 || strings.Contains(out, "name: onset") {
		t.Fatalf("plan --own: %d %s%s", code, out, errs)
	}
	if code, out, errs := call(t, "visit", "start", "--chair", "3", "--store", store); code != 0 || strings.Contains(out, "takes effect") {
		t.Errorf("start with the own plan: %d %s%s", code, out, errs)
	}
	if err := os.WriteFile(own, []byte("stages:\n  - {name: onset, omitted: true}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	if code, _, errs := call(t, "visit", "plan", "--own", own, "--store", store); code != 2 || !strings.Contains(errs, `own.yaml:2: stages.0.omitted: unknown field`) {
		t.Errorf("a faulty plan: %d %s", code, errs)
	}
	if code, out, _ := call(t, "visit", "plan", "--default", "--store", store); code != 0 || !strings.Contains(out, "name: onset") {
		t.Errorf("plan --default: %d %s", code, out)
	}
}
