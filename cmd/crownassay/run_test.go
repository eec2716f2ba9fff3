package main

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"crownassay/reading"
)

// call runs the program as the shell would.
func call(t *testing.T, args ...string) (status int, stdout, stderr string) {
	t.Helper()
	var out, errs bytes.Buffer
	status = run(context.Background(), args, strings.NewReader(""), &out, &errs)
	return status, out.String(), errs.String()
}

func TestUsage(t *testing.T) {
	for _, c := range []struct {
		args           []string
		status         int
		stdout, stderr string
	}{
		{nil, 0, "Usage: crownassay <command>", ""},
		{[]string{"--help"}, 0, "Usage: crownassay <command>", ""},
		{[]string{"assay", "--help"}, 0, "Usage: crownassay assay <case>", ""},
		{[]string{"version"}, 0, "crownassay 0.1.0, record format crownassay/1\n", ""},
		{[]string{"weigh"}, 2, "", `"crownassay --help" lists the commands`},
		{[]string{"assay"}, 2, "", `expected "<case>"`},
		{[]string{"assay", "none"}, 2, "", "open case none: no such file or folder; give the folder that holds case.yaml"},
		{[]string{"assay", ".", "--workers=-1"}, 2, "", "read --workers -1: below zero"},
		{[]string{"assay", ".", "--budget", "--draws=10"}, 2, "", "read --draws 10: too few"},
		{[]string{"assay", ".", "--rule=none"}, 2, "", "must be one of"},
		{[]string{"surface", "none.stl"}, 2, "", "none.stl"},
		{[]string{"readings", "--format", "pdf"}, 2, "", "must be one of"},
		{[]string{"phantom", "x", "--defect", "hole:a"}, 2, "", `"a" is no number; write for example`},
		{[]string{"phantom", "x", "--defect", "hole:1:2:3:4"}, 2, "", "more than KIND:AZIMUTH:EXTENT:AMOUNT"},
	} {
		status, out, errs := call(t, c.args...)
		if status != c.status || !strings.HasPrefix(out, c.stdout) || !strings.Contains(errs, c.stderr) {
			t.Errorf("crownassay %s = %d\n%s%s\nwant %d, %q, %q", strings.Join(c.args, " "), status, out, errs, c.status, c.stdout, c.stderr)
		}
		if c.status == 2 && out != "" {
			t.Errorf("crownassay %s printed to standard output: %s", strings.Join(c.args, " "), out)
		}
	}
}

func TestCancelled(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	var out, errs bytes.Buffer
	dir := t.TempDir()
	if s := run(ctx, []string{"phantom", dir, "--triangles", "20000"}, nil, &out, &errs); s != 2 || errs.String() != "crownassay: stopped\n" {
		t.Errorf("cancelled run = %d, %q, want 2, stopped", s, errs.String())
	}
}

// TestReadingsDocument keeps docs/READINGS.md what the tables make it.
func TestReadingsDocument(t *testing.T) {
	_, got, _ := call(t, "readings", "--format", "markdown")
	want, err := os.ReadFile("../../docs/READINGS.md")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Errorf("docs/READINGS.md is old; run go generate ./cmd/crownassay (-want +got):\n%s", d)
	}
}

func TestReadingsFormats(t *testing.T) {
	_, out, _ := call(t, "readings")
	for i, row := range strings.Split(out, "\n") {
		if n := len([]rune(row)); n > 80 {
			t.Errorf("line %d has %d columns: %s", i+1, n, row)
		}
	}
	var d struct {
		Readings []struct{ ID, Definition string }
	}
	_, out, _ = call(t, "readings", "--format", "json")
	if err := json.Unmarshal([]byte(out), &d); err != nil || len(d.Readings) != len(reading.Measurands) {
		t.Errorf("JSON has %d readings, %v, want %d", len(d.Readings), err, len(reading.Measurands))
	}
}

// TestCaseEndToEnd takes a small invented case from the command that writes it
// to the record on disk.
func TestCaseEndToEnd(t *testing.T) {
	if testing.Short() {
		t.Skip("measures a whole case")
	}
	dir := filepath.Join(t.TempDir(), "case")
	if status, _, errs := call(t, "phantom", dir, "--triangles", "60000", "--seed", "3", "--defect", "short clearance:230:60:0.4"); status != 0 {
		t.Fatalf("phantom = %d, %s", status, errs)
	}
	out := filepath.Join(t.TempDir(), "record")
	status, doc, errs := call(t, "assay", dir, "--json", "--out", out)
	if status != 1 || errs != "" {
		t.Fatalf("assay = %d, %s, want 1: the clearance is short", status, errs)
	}
	written, err := os.ReadFile(filepath.Join(out, "record.json"))
	if err != nil || string(written) != doc {
		t.Errorf("record on disk differs from the printed one (%v)", err)
	}
	checkDocument(t, doc)
	again, doc1, _ := call(t, "assay", dir, "--json", "--workers", "1")
	if again != status || doc1 != doc {
		t.Error("one processor gives another document than all")
	}
	_, budget, _ := call(t, "assay", dir, "--json", "--budget", "--draws", "0")
	checkDocument(t, budget)
	if !strings.Contains(budget, `"combined":`) || strings.Contains(doc, `"combined":`) {
		t.Error("the budget is not shown when, and only when, it is asked for")
	}
	_, ledger, _ := call(t, "assay", dir)
	if !strings.Contains(ledger, "istolingual occlusal clearance is 0.4") {
		t.Errorf("the ledger does not name the short cusp:\n%s", ledger)
	}
	if status, text, errs := call(t, "surface", filepath.Join(dir, "prepared.stl")); status != 0 || !strings.Contains(text, "stl-binary") {
		t.Errorf("surface = %d, %s%s", status, text, errs)
	}
}

// checkDocument holds a printed record against its schema and the table.
func checkDocument(t *testing.T, doc string) {
	t.Helper()
	v, err := jsonschema.UnmarshalJSON(strings.NewReader(doc))
	if err != nil {
		t.Fatal(err)
	}
	if err := jsonschema.NewCompiler().MustCompile("../../record/record.schema.json").Validate(v); err != nil {
		t.Error(err)
	}
	var d struct {
		FinishLine [][3]float64 `json:"finish_line"`
		Readings   []struct {
			ID, Verdict, Next string
			Value             *float64
			Limit             *struct{ Min *float64 }
		}
	}
	if err := json.Unmarshal([]byte(doc), &d); err != nil {
		t.Fatal(err)
	}
	want := 0
	for _, m := range reading.Measurands {
		if m.HoldPoint == reading.Preparation {
			want++
		}
	}
	if len(d.FinishLine) < 180 || len(d.Readings) != want {
		t.Errorf("%d finish line points, %d readings, want at least 180, %d", len(d.FinishLine), len(d.Readings), want)
	}
	for _, r := range d.Readings {
		switch {
		case r.ID == "preparation.clearance.occlusal" && (r.Verdict != "fails" || *r.Limit.Min != 1 || *r.Value < 0.38 || *r.Value > 0.42):
			t.Errorf("clearance %v %s of %v, want 0.40 fails of 1", *r.Value, r.Verdict, r.Limit)
		case r.Verdict == "fails" && r.Next == "":
			t.Errorf("%s fails without a next step", r.ID)
		}
	}
}

func TestBadSurfaceIsNoNumber(t *testing.T) {
	dir := t.TempDir()
	for name, text := range map[string]string{
		"case.yaml":    "tooth: \"46\"\nmaterial: zirconia-3y\nsurfaces: {prepared: prepared.stl}\n",
		"prepared.stl": "this is a letter and no mesh\n",
	} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	status, out, errs := call(t, "assay", dir)
	if status != 2 || out != "" || !strings.Contains(errs, "prepared.stl") {
		t.Errorf("assay of a letter = %d, %q, %q", status, out, errs)
	}
}
