package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"crownassay/audit"
	"crownassay/record"
	"crownassay/web"
)

// invented writes a folder with three small invented cases of two dentists, two
// of them of the same scans, and a fourth whose scan is no mesh.
func invented(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "archive")
	at := func(name string) string { return filepath.Join(dir, filepath.FromSlash(name)) }
	for i, args := range [][]string{{at("2026/a"), "--seed", "1"}, {at("2026/b"), "--seed", "2", "--defect", "short clearance:230"}} {
		if s, _, errs := call(t, append([]string{"phantom", "--triangles", "8000"}, args...)...); s != 0 {
			t.Fatal(errs)
		}
		described(t, args[0], fmt.Sprintf("dentist: d%d\ndate: 2026-05-%02d\n", i+1, i+1))
	}
	for _, name := range []string{"old/deep/c", "bad"} {
		if err := os.CopyFS(at(name), os.DirFS(at("2026/a"))); err != nil {
			t.Fatal(err)
		}
	}
	described(t, at("old/deep/c"), "cement_space_um: 50\n")
	if err := os.WriteFile(filepath.Join(at("bad"), "prepared.stl"), []byte("no mesh"), 0o600); err != nil {
		t.Fatal(err)
	}
	return dir
}

// described adds lines to the description of a case.
func described(t *testing.T, dir, lines string) {
	t.Helper()
	f, err := os.OpenFile(filepath.Join(dir, "case.yaml"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := f.WriteString(lines); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
}

// TestAudit measures a folder of cases, again after one has changed, and the same
// cases on a bench.
func TestAudit(t *testing.T) {
	dir, out := invented(t), filepath.Join(t.TempDir(), "out")
	audited := func(says string, args ...string) audit.Report {
		t.Helper()
		s, text, errs := call(t, append([]string{"audit", "--json", "--out", out}, args...)...)
		if s != 0 || !strings.Contains(errs, says) {
			t.Fatalf("status %d, %q, want %q", s, errs, says)
		}
		var r struct {
			audit.Report
			Readings []audit.Detail
		}
		if err := json.Unmarshal([]byte(text), &r); err != nil {
			t.Fatal(err)
		}
		return r.Report
	}
	r := audited("3 cases measured, 1 could not be\n", dir)
	if r.Cases != 4 || r.Measured != 3 || r.Dated != 3 || len(r.Problems) != 1 || !strings.HasPrefix(r.Problems[0].Reason, "read prepared.stl: ") {
		t.Errorf("report %+v", r)
	}
	b, err := os.ReadFile(filepath.Join(out, auditValues))
	if err != nil {
		t.Fatal(err)
	}
	audited("4 of them were there already", dir)
	if again, err := os.ReadFile(filepath.Join(out, auditValues)); err != nil || string(again) != string(b) {
		t.Errorf("what was there already gives another table, %v", err)
	}
	described(t, filepath.Join(dir, "2026", "a"), "cement_space_um: 70\n")
	audited("3 of them were there already", dir, "--at-once", "1")

	// the table says of each reading what measuring the case alone does
	_, alone, _ := call(t, "assay", filepath.Join(dir, "2026", "b"), "--json")
	var doc struct {
		Readings []struct {
			ID    string
			Value *json.Number
		}
	}
	if err := json.Unmarshal([]byte(alone), &doc); err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(strings.NewReader(string(b))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for _, row := range rows {
		if row[0] == "2026/b" {
			said[row[6]] = row[8]
		}
	}
	for _, x := range doc.Readings {
		want := ""
		if x.Value != nil {
			want = x.Value.String()
		}
		if said[x.ID] != want {
			t.Errorf("%s is %q in the table, %q alone", x.ID, said[x.ID], want)
		}
	}
}

// TestAuditOfBench: a case on a bench has the readings that its folder has, and
// dentist and day from its record.
func TestAuditOfBench(t *testing.T) {
	dir, root := kept(t), t.TempDir()
	bench := filepath.Join(root, "bench")
	p := &program{t.Context(), strings.NewReader(""), io.Discard, io.Discard}
	c, m, err := p.measure(dir, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := openBench(p.ctx, bench)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(b.add(p.ctx, c, "one", m), b.close()); err != nil {
		t.Fatal(err)
	}
	if s, _, errs := call(t, "record", "confirm", "1", "preparation", "--who", "AB", "--store", bench); s != 0 {
		t.Fatal(errs)
	}
	var tables [2][][]string
	for i, of := range []string{bench, dir} {
		out := filepath.Join(root, fmt.Sprint(i))
		if s, _, errs := call(t, "audit", of, "--out", out); s != 0 {
			t.Fatal(errs)
		}
		f, err := os.Open(filepath.Join(out, auditValues))
		if err != nil {
			t.Fatal(err)
		}
		tables[i], err = csv.NewReader(f).ReadAll()
		if err := errors.Join(err, f.Close()); err != nil {
			t.Fatal(err)
		}
	}
	if row := tables[0][1]; row[0] != "case 1" || row[1] != time.Now().UTC().Format(time.DateOnly) || row[2] != "AB" || row[3] != "46" {
		t.Errorf("the case on the bench is %q", row)
	}
	for i := range tables[0] {
		if d := cmp.Diff(tables[0][i][3:], tables[1][i][3:]); d != "" {
			t.Errorf("row %d (-bench +folder):\n%s", i, d)
		}
	}
	answers(t, bench, tables[0])
}

// answers holds what the bench answers over its cases to a table of the command.
func answers(t *testing.T, dir string, table [][]string) {
	t.Helper()
	b, err := openBench(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	defer b.close()
	if err := b.work(t.Context(), dir, ""); err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(b.Handler(nil))
	defer server.Close()
	ask := func(method, path string, status int) []byte {
		t.Helper()
		q, err := http.NewRequestWithContext(t.Context(), method, server.URL+path, nil)
		if err != nil {
			t.Fatal(err)
		}
		a, err := server.Client().Do(q)
		if err != nil {
			t.Fatal(err)
		}
		defer a.Body.Close()
		body, err := io.ReadAll(a.Body)
		if err != nil || a.StatusCode != status {
			t.Fatalf("%s %s = %d, %v, want %d: %s", method, path, a.StatusCode, err, status, body)
		}
		return body
	}
	if _, err := b.Store.AddCase(t.Context(), record.Kept{Tooth: "16", Numbering: "iso3950", Material: "zirconia-3y", Unit: "mm"}); err != nil {
		t.Fatal(err) // without scans it counts nowhere
	}
	var all web.AuditOutput
	if err := json.Unmarshal(ask("GET", "/api/audit", 200), &all); err != nil {
		t.Fatal(err)
	}
	if all.Cases != 1 || all.Measured != 1 || all.Waiting != 0 || len(all.Readings) != len(table)-1 {
		t.Errorf("%d cases, %d measured, %d waiting, %d readings; want one with %d", all.Cases, all.Measured, all.Waiting, len(all.Readings), len(table)-1)
	}
	var one audit.Detail
	if err := json.Unmarshal(ask("GET", "/api/audit/readings/finish_line.legible", 200), &one); err != nil {
		t.Fatal(err)
	}
	if one.Summary.Values != 1 || len(one.Teeth) != 1 || one.Teeth[0].Name != "46" || one.Dentists[0].Name != "AB" || one.Chart != nil {
		t.Errorf("one reading: %+v", one)
	}
	ask("GET", "/api/audit/readings/no.such", 404)
	rows, err := csv.NewReader(bytes.NewReader(ask("GET", "/api/audit/tables/readings", 200))).ReadAll()
	if d := cmp.Diff(table, rows); d != "" || err != nil {
		t.Errorf("the table (-command +bench): %v\n%s", err, d)
	}
	var jobs web.AuditJobs
	if err := json.Unmarshal(ask("POST", "/api/audit/jobs", 202), &jobs); err != nil || jobs.Cases != 1 || jobs.Started != 1 {
		t.Errorf("jobs %+v, %v", jobs, err)
	}
	for end := time.Now().Add(30 * time.Second); jobs.Under > 0; time.Sleep(100 * time.Millisecond) {
		if time.Now().After(end) {
			t.Fatalf("jobs do not end: %+v", jobs)
		}
		if err := json.Unmarshal(ask("GET", "/api/audit/jobs", 200), &jobs); err != nil {
			t.Fatal(err)
		}
	}
	if runs, err := b.Store.Runs(t.Context(), 1, 5); err != nil || len(runs) != 2 || jobs.Failed != 0 {
		t.Errorf("%d runs after measuring all again, %v, %+v", len(runs), err, jobs)
	}
	ask("DELETE", "/api/audit/jobs", 200)
}

func TestAuditRefuses(t *testing.T) {
	none := t.TempDir()
	for _, c := range []struct {
		args []string
		want string
	}{
		{[]string{"audit", none, "--out", filepath.Join(none, "out")}, "neither it nor a folder below holds a case.yaml"},
		{[]string{"audit", filepath.Join(none, "no"), "--out", filepath.Join(none, "out")}, "no such folder"},
		{[]string{"audit", none}, "missing flags: --out"},
		{[]string{"audit", none, "--out", none, "--at-once=-1"}, "must be above zero"},
	} {
		if s, _, errs := call(t, c.args...); s != statusUnable || !strings.Contains(errs, c.want) {
			t.Errorf("crownassay %s = %d, %s, want %q", strings.Join(c.args, " "), s, errs, c.want)
		}
	}
}
