package main

import (
	"bytes"
	"testing"

	"crownassay/internal/phantom"
)

// TestBenchReadsACaseFolder sends the description of a folder as the page does:
// it comes back as the case that "watch" makes of it, and is refused with file
// and line where it is wrong.
func TestBenchReadsACaseFolder(t *testing.T) {
	s := serveBench(t)
	text := func(name, t string) object { return object{"name": name, "text": t} }
	const limits = "blocks:\n  - {name: ours-17, length: 17, width: 15, height: 16, sprue: 2, source: our shelf}\n  - {name: ours-20, length: 20, width: 15, height: 16, sprue: 2, source: our shelf}\n"
	const described = "tooth: \"30\"\nnumbering: universal\nmaterial: leucite\nunits: um\nsurfaces:\n  prepared: scans/arch.stl\n  crown: crown.ply\n" +
		"at: [12100, -3000, 7700]\nlimits: practice.yaml\nblock: ours-17\ncement_space_um: 45\nfinish_line: line.csv\n"
	line := text("line.csv", "x,y,z\n0,0,0\n1000,0,0\n1000,2000,0\n")
	folder := object{"files": []object{text("case.yaml", described), text("practice.yaml", limits), line}, "meshes": []string{"scans/arch.stl", "crown.ply", "other.stl"}}
	d := asked[object](s, "POST", "/api/case-folders", folder, 200)
	k := d["case"].(object)
	wanted := object{"iso": "46", "numbering": "universal", "material": "leucite", "unit": "um", "block": "ours-17", "cement_space_um": 45.0, "limits_file": "practice.yaml", "limits": limits}
	for key, want := range wanted {
		if k[key] != want {
			t.Errorf("%s is %v, want %v", key, k[key], want)
		}
	}
	surfaces := d["surfaces"].([]any)
	if at := k["at"].([]any); len(surfaces) != 2 || surfaces[0].(object)["file"] != "scans/arch.stl" || surfaces[1].(object)["role"] != "crown" || at[0] != 12.1 {
		t.Errorf("surfaces %v, at %v", surfaces, k["at"])
	}
	if l := d["finish_line"].([]any); len(l) != 3 || l[2].([]any)[1] != 2.0 {
		t.Errorf("finish line %v", l)
	}
	for what, f := range map[string]object{
		"case.yaml:5":                           {"files": []object{text("case.yaml", "tooth: \"46\"\nmaterial: leucite\nsurfaces:\n  prepared: a.stl\nsomething: 1\n")}, "meshes": []string{"a.stl"}},
		"the bench has one set of luting rules": {"files": []object{text("case.yaml", "tooth: \"46\"\nmaterial: leucite\nsurfaces:\n  prepared: a.stl\nluting: l.yaml\n"), text("l.yaml", "rules: []\n")}, "meshes": []string{"a.stl"}},
		"by a guard band":                       {"files": []object{text("case.yaml", "tooth: \"46\"\nmaterial: leucite\nsurfaces:\n  prepared: a.stl\nrule: simple\n")}, "meshes": []string{"a.stl"}},
		"no such file":                          {"files": []object{text("case.yaml", described), text("practice.yaml", limits), line}, "meshes": []string{"crown.ply"}},
		"is not within it":                      {"files": []object{text("../case.yaml", described)}, "meshes": []string{}},
		"practice.yaml:2":                       {"files": []object{text("case.yaml", described), text("practice.yaml", "blocks:\n  - {nam: x}\n"), line}, "meshes": []string{"scans/arch.stl", "crown.ply"}},
	} {
		if b := s.ask("POST", "/api/case-folders", f, 422); !bytes.Contains(b, []byte(what)) || bytes.Contains(b, []byte("/crownassay-")) {
			t.Errorf("want %q, got %s", what, b)
		}
	}
	// The line of the folder is the one that measuring goes by.
	c, dir := built(t, phantom.Spec{Tooth: "46", Seed: 3, Triangles: 8000})
	drawn := c.Truth.FinishLine
	asked[object](s, "POST", "/api/cases", object{"tooth": "46", "material": "zirconia-3y", "finish_line": drawn}, 201)
	s.ask("POST", "/api/cases/1/takes?name=prepared.stl&role=prepared", content(t, dir, "prepared.stl"), 201)
	s.measure(1)
	if k := asked[object](s, "GET", "/api/cases/1", nil, 200); k["run"].(object)["line"] != 1.0 {
		t.Errorf("measured about line %v", k["run"])
	}
	// The practice's own materials and blocks are in the lists.
	own := asked[object](s, "POST", "/api/limits", object{"file": "practice.yaml", "text": limits}, 200)
	if b := own["blocks"].([]any); len(b) != 2 || b[0].(object)["name"] != "ours-17" {
		t.Errorf("blocks %v", b)
	}
	s.ask("POST", "/api/limits", object{"file": "practice.yaml", "text": "rows: 3"}, 422)
}
