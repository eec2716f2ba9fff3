package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/gauge"
	"crownassay/record"
)

// asProgram, set in the environment, makes this binary the program itself, for
// tests that need several processes.
const asProgram = "CROWNASSAY_TEST_AS_PROGRAM"

// TestMain keeps the tests from a bench in the configuration folder of whoever
// runs them.
func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		main()
	}
	dir, err := os.MkdirTemp("", "crownassay")
	if err != nil {
		panic(err)
	}
	os.Setenv("XDG_CONFIG_HOME", dir)
	status := m.Run()
	os.RemoveAll(dir)
	os.Exit(status)
}

// settingsOf are those of a case's document.
func settingsOf(t *testing.T, args ...string) record.DocSettings {
	t.Helper()
	s, out, errs := call(t, append([]string{"assay", "--json"}, args...)...)
	if s > 1 {
		t.Fatal(errs)
	}
	d, err := record.ReadDocument([]byte(out))
	if err != nil {
		t.Fatal(err)
	}
	return d.Settings
}

// TestGaugeEndToEnd invents scans, checks the scanner, keeps the check, and
// measures a case with and without a stated uncertainty.
func TestGaugeEndToEnd(t *testing.T) {
	dir := t.TempDir()
	body, store := filepath.Join(dir, "ball"), filepath.Join(dir, "store")
	if s, _, errs := call(t, "gauge", "invented", body, "--repeats", "3", "--kind", "cylinder"); s != 0 {
		t.Fatal(errs)
	}
	scans := []string{filepath.Join(body, "body.yaml"), filepath.Join(body, "scan1.stl"), filepath.Join(body, "scan2.stl"), filepath.Join(body, "scan3.stl")}
	s, out, errs := call(t, append([]string{"gauge", "--store", store, "--keep", "--json", "--out", filepath.Join(dir, "out"), "--scanner", "arch 1"}, scans...)...)
	if s != 0 || !strings.Contains(errs, "kept as scanner check 1") {
		t.Fatal(s, errs)
	}
	var r gauge.Result
	if err := json.Unmarshal([]byte(out), &r); err != nil || !(r.ScannerUM > 1 && r.ScannerUM < 60) {
		t.Fatalf("scanner uncertainty %g um, %v", r.ScannerUM, err)
	}
	sheet, err := os.ReadFile(filepath.Join(dir, "out", "gauge.txt"))
	if err != nil || !strings.Contains(string(sheet), "CHECK OF A SCANNER ON A REFERENCE BODY") || !strings.Contains(string(sheet), "arch 1") {
		t.Errorf("sheet %q, %v", sheet, err)
	}
	if page, err := os.ReadFile(filepath.Join(dir, "out", "gauge.pdf")); err != nil || !strings.HasPrefix(string(page), "%PDF-") {
		t.Errorf("gauge.pdf is no PDF, %v", err)
	}
	if s, out, _ := call(t, "gauge", "history", "--store", store); s != 0 || !strings.Contains(out, "arch 1, on invented cylinder X-1") || !strings.Contains(out, "from check 6 on") {
		t.Errorf("history = %d %s", s, out)
	}

	at := filepath.Join(dir, "case")
	if s, _, errs := call(t, "phantom", at, "--triangles", "8000"); s != 0 {
		t.Fatal(errs)
	}
	checked := settingsOf(t, at, "--store", store)
	if d := checked.ScannerUM - r.ScannerUM; checked.ScannerStated || !strings.HasPrefix(checked.ScannerFrom, "scanner check of ") || d > 1e-5 || d < -1e-5 {
		t.Errorf("settings with a kept check = %+v, want %.6f um", checked, r.ScannerUM)
	}
	if plain := settingsOf(t, at); plain.ScannerStated || plain.ScannerFrom != "" || plain.ScannerUM != 28.8 {
		t.Errorf("settings without a bench = %+v, want the default", plain)
	}
	f, err := os.OpenFile(filepath.Join(at, "case.yaml"), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	f.WriteString("scanner: {uncertainty_um: 21}\n")
	f.Close()
	if stated := settingsOf(t, at, "--store", store); !stated.ScannerStated || stated.ScannerFrom != "" || stated.ScannerUM != 21 {
		t.Errorf("settings of a case that states it = %+v", stated)
	}

	if s, out, _ := call(t, "gauge", "withdraw", "--store", store, "1", "the body was wet"); s != 0 || !strings.Contains(out, "does not hold: the body was wet") {
		t.Errorf("withdraw = %d %s", s, out)
	}
	if s, out, _ := call(t, "gauge", "history", "--store", store); s != 0 || !strings.Contains(out, "[withdrawn: the body was wet]") || strings.Contains(out, "average") {
		t.Errorf("history after that = %d %s", s, out)
	}
	for _, c := range []struct {
		want string
		args []string
	}{
		{"two the least", []string{"gauge", scans[0], scans[1]}},
		{"are the same scan", []string{"gauge", scans[0], scans[1], scans[1]}},
		{"no such file", []string{"gauge", scans[0] + ".no", scans[1], scans[2]}},
		{"this is no text; give the YAML file", []string{"gauge", at + "/prepared.stl", scans[1], scans[2]}},
		{"prepared.stl: ", []string{"gauge", scans[0], at + "/prepared.stl", at + "/opposing.stl"}},
		{"no day", []string{"gauge", "history", "--since", "May"}},
		{"there is no bench", []string{"gauge", "history", "--store", filepath.Join(dir, "none")}},
		{"repeats", []string{"gauge", "invented", body, "--repeats", "0"}},
	} {
		if s, out, errs := call(t, c.args...); s != 2 || !strings.Contains(errs, c.want) {
			t.Errorf("%v = %d %s %s, want %q", c.args, s, out, errs, c.want)
		}
	}
}
