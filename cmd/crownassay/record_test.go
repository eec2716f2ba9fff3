package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// kept is a small invented case, measured and kept.
func kept(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "case")
	if s, _, errs := call(t, "phantom", dir, "--triangles", "8000"); s != 0 {
		t.Fatal(errs)
	}
	if s, _, errs := call(t, "assay", dir, "--keep", "--who", "AB"); s > 1 || !strings.Contains(errs, "kept as entry 1") {
		t.Fatal(s, errs)
	}
	return dir
}

func TestRecordCommands(t *testing.T) {
	dir := kept(t)
	for _, c := range []struct {
		args   string
		status int
		want   string // in standard output, or in standard error where the status is 2
	}{
		{"lot @ block (01)09506000134352(10)A7(17)200131 --who AB", 0, "Entry 2 is kept: lot: block, lot A7, product 09506000134352, expires 2020-01-31"},
		{"confirm @ preparation --who AB --remark dry", 0, "Entry 3 is kept: confirmed: preparation, looking at entry 1"},
		{"override @ finish_line.legible fails --reason blood --who AB", 0, "Entry 4 is kept: overridden: finish_line.legible"},
		{"correct @ 2 --reason other --who AB", 0, "Entry 5 is kept: correction: entry 2 does not hold: other"},
		{"list @", 0, "[does not hold: entry 5]"},
		{"show @", 0, "confirmed: preparation"},
		{"show @ 2", 0, "tells     lot: block, lot A7"},
		{"show @ 2 --json", 0, `{"at":"`},
		{"verify @", 0, "The record is as it was kept: 5 entries, 1 run, 2 files."},
		{"verify @ --head 00000000", 2, "the record has none; entries were cut off"},
		{"show @ 9", 2, "the record has 5 entries"},
		{"luting @ zinc-phosphate --who AB --isolation rolls-and-suction --date 2026-03-02", 0, "Entry 6 is kept: luting 2026-03-02: zinc-phosphate, not supported by the rules, looking at entry 1, isolation rolls-and-suction"},
		{"show @", 0, "AB: luting 2026-03-02: zinc-phosphate"},
		{"luting @ glue --who AB", 2, "find luting family \"glue\": not in the rules; use one of adhesive-resin"},
		{"luting @ zinc-phosphate --who AB --isolation none", 2, "--isolation must be one of"},
		{"verify @", 0, "The record is as it was kept: 6 entries, 1 run, 2 files."},
		{"confirm @ design --who AB", 2, "has no reading of this hold point"},
		{"lot @ block 7", 2, "--who=INITIALS"},
		{"list none", 2, "no such folder; give a case's folder, or its number on the bench"},
		{"list 7 --store none", 2, "open store none: there is no bench"},
	} {
		args := append([]string{"record"}, strings.Fields(strings.ReplaceAll(c.args, "@", dir))...)
		status, out, errs := call(t, args...)
		text := out
		if c.status == 2 {
			text = errs
		}
		if status != c.status || !strings.Contains(text, c.want) {
			t.Errorf("record %s = %d\n%s%s\nwant %d with %q", c.args, status, out, errs, c.status, c.want)
		}
	}
	name := filepath.Join(dir, "record", "0003.json")
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, bytes.Replace(b, []byte("dry"), []byte("wet"), 1), 0o644); err != nil {
		t.Fatal(err)
	}
	if s, _, errs := call(t, "record", "verify", dir); s != 2 || !strings.Contains(errs, "entry 3 of the record is not right") {
		t.Errorf("a word changed: %d, %s", s, errs)
	}
}
