package main

import (
	"bytes"
	"testing"

	"crownassay/internal/phantom"
)

// TestBenchKeepsTheRecord takes a case through its record: measured, a lot
// scanned, a verdict overridden, the hold point confirmed, a slip corrected;
// then the report and exports of it.
func TestBenchKeepsTheRecord(t *testing.T) {
	s := serveBench(t)
	_, dir := built(t, phantom.Spec{Tooth: "46", Seed: 3, Triangles: 8000})
	asked[object](s, "POST", "/api/cases", object{"tooth": "46", "material": "zirconia-3y", "patient": "P-9"}, 201)
	const at = "/api/cases/1/entries"
	confirmed := object{"hold_point": "preparation", "who": "AB"}
	if b := s.ask("POST", at+"/confirmations", confirmed, 422); !bytes.Contains(b, []byte("the record has no run yet")) {
		t.Errorf("confirmed before it was measured: %s", b)
	}
	for _, role := range []string{"prepared", "opposing"} {
		s.ask("POST", "/api/cases/1/takes?name="+role+".stl&role="+role, content(t, dir, role+".stl"), 201)
	}
	s.measure(1)
	s.ask("POST", at+"/lots", object{"thing": "block", "lot": "(01)09506000134352(10)A7"}, 422) // nobody said who
	lot := asked[object](s, "POST", at+"/lots", object{"thing": "block", "lot": "(01)09506000134352(10)A7", "who": "AB"}, 201)
	if l := lot["entry"].(object)["lot"].(object); l["lot"] != "A7" || l["product"] != "09506000134352" || lot["number"] != 2.0 {
		t.Errorf("lot kept as %v", lot)
	}
	s.ask("POST", at+"/lots", object{"thing": "block", "lot": "(01)09506000134353(10)A7", "who": "AB"}, 422)
	s.ask("POST", at+"/overrides", object{"reading": "none", "verdict": "fails", "reason": "x", "who": "AB"}, 422)
	s.ask("POST", at+"/overrides", object{"reading": "finish_line.legible", "verdict": "fails", "reason": "blood on the line", "who": "AB"}, 201)
	s.ask("POST", at+"/confirmations", confirmed, 201)
	s.ask("POST", at+"/corrections", object{"entry": 2, "reason": "other block", "who": "CD"}, 201)
	all := asked[object](s, "GET", at, nil, 200)["entries"].([]any)
	if len(all) != 5 || all[0].(object)["kind"] != "run" || all[1].(object)["corrected_by"] != 5.0 {
		t.Errorf("entries are %v", all)
	}
	v := asked[object](s, "GET", at+"/verified", nil, 200)
	if v["right"] != true || v["entries"] != 5.0 || v["surfaces"] != 2.0 || v["head"] != all[4].(object)["hash"] {
		t.Errorf("verified as %v", v)
	}
	s.ask("GET", "/api/cases/7/entries", nil, 404)
	takenAway(t, s)
}

// takenAway fetches the report and the exports.
func takenAway(t *testing.T, s *served) {
	a, b := s.ask("GET", "/api/cases/1/report", nil, 200), s.ask("GET", "/api/cases/1/report?paper=a4", nil, 200)
	if !bytes.HasPrefix(a, []byte("%PDF-")) || !bytes.Equal(a, b) || bytes.Contains(a, []byte("(D:1970")) {
		t.Errorf("reports of %d and %d bytes; want the same twice, dated by the run", len(a), len(b))
	}
	if p := s.ask("GET", "/api/cases/1/report?patient=true&paper=letter", nil, 200); !bytes.HasPrefix(p, []byte("%PDF-")) {
		t.Errorf("the patient's sheet is %.20q", p)
	}
	for format, want := range map[string]string{"json": `{"format":"crownassay/1"`, "csv": "tooth,numbering", "fhir": `"type": "collection"`, "glb": "glTF", "ply": "ply\n"} {
		if got := s.ask("GET", "/api/cases/1/export?format="+format, nil, 200); !bytes.Contains(got[:min(len(got), 4000)], []byte(want)) {
			t.Errorf("%s begins with %.40q and has no %q", format, got, want)
		}
	}
	s.ask("GET", "/api/cases/1/export?format=glb&reading=none", nil, 422)
	s.ask("GET", "/api/cases/1/export?format=csv&reading=x", nil, 422)
	s.ask("GET", "/api/cases/9/report", nil, 404)
}
