package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"crownassay/internal/phantom"
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
	var v luting.Judgement
	if err := json.Unmarshal([]byte(out), &v); err != nil || len(v.Answers) != 6 || v.Answers[0].Standing != luting.Supported || len(v.Answers[0].Steps) < 10 || v.Rules != luting.BuiltIn().Hash || v.OwnRules != "" {
		t.Errorf("JSON: %v, %.300s", err, out)
	}
}

// TestBenchLuting asks the bench about a case, lays the practice's own rules
// over, and keeps the choice.
func TestBenchLuting(t *testing.T) {
	s := serveBench(t)
	_, dir := built(t, phantom.Spec{Tooth: "46", Seed: 3, Triangles: 8000})
	asked[object](s, "POST", "/api/cases", object{"tooth": "46", "material": "leucite"}, 201)
	const at = "/api/cases/1/luting"
	if b := s.ask("GET", at, nil, 404); !bytes.Contains(b, []byte("it has not been measured yet")) {
		t.Errorf("before it was measured: %s", b)
	}
	for _, role := range []string{"prepared", "opposing"} {
		s.ask("POST", "/api/cases/1/takes?name="+role+".stl&role="+role, content(t, dir, role+".stl"), 201)
	}
	s.measure(1)
	standing := func(query string) (all []any, headline any) {
		v := asked[object](s, "GET", at+query, nil, 200)
		if v["maker"] != luting.MakerFirst {
			t.Errorf("the maker is not said: %v", v["maker"])
		}
		for _, a := range v["answers"].([]any) {
			all = append(all, a.(object)["standing"])
		}
		return all, v["headline"]
	}
	// Leucite is bonded (textbooks; ISO 6872, class 2, from memory).
	if all, _ := standing(""); all[0] != "undecided" || all[3] != "not-supported" {
		t.Errorf("nothing entered: %v", all)
	}
	if all, h := standing("?isolation=rubber-dam&depth=-0.5&substrate=enamel&temporary=none"); all[0] != "supported" || h != "Bond: conventional cement is not supported." {
		t.Errorf("rubber dam: %v, %v", all, h)
	}
	s.ask("GET", at+"?isolation=dam", nil, 422)
	s.ask("GET", at+"?depth=deep", nil, 422)
	s.ask("GET", at+"?depth=400", nil, 422)

	rules := object{"file": `C:\ours\own.yaml`, "text": "rules:\n  - {name: ours, family: [glue], never: true, says: none}\n"}
	if b := s.ask("PUT", "/api/luting-rules", rules, 422); !bytes.Contains(b, []byte(`own.yaml:2: find luting family`)) {
		t.Errorf("faulty rules: %s", b)
	}
	rules["text"] = "rules:\n  - {name: ours, family: [adhesive-resin], never: true, says: we have none}\n"
	if o := asked[object](s, "PUT", "/api/luting-rules", rules, 200); o["file"] != "own.yaml" {
		t.Errorf("kept as %v", o)
	}
	if all, _ := standing("?isolation=rubber-dam"); all[0] != "not-supported" {
		t.Errorf("own rules: %v", all)
	}
	const keep = "/api/cases/1/entries/lutings"
	s.ask("POST", keep, object{"family": "glue", "who": "AB"}, 422)
	s.ask("POST", keep, object{"family": "adhesive-resin"}, 422) // nobody said who
	e := asked[object](s, "POST", keep, object{"family": "adhesive-resin", "who": "AB", "isolation": "rubber-dam", "depth": 0.3}, 201)
	l := e["entry"].(object)["luting"].(object)
	if l["said"] != "not-supported" || l["run"] != 1.0 || l["own_rules"] == "" || l["depth"] != 0.3 {
		t.Errorf("kept as %v", l)
	}
	s.ask("PUT", "/api/luting-rules", object{"file": "", "text": " "}, 200)
	if all, _ := standing("?isolation=rubber-dam"); all[0] != "supported" {
		t.Errorf("own rules taken away: %v", all)
	}
	if v := asked[object](s, "GET", "/api/cases/1/entries/verified", nil, 200); v["right"] != true || v["entries"] != 2.0 {
		t.Errorf("verified as %v", v)
	}
}
