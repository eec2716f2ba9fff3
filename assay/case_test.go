package assay

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"crownassay/geom"
	"crownassay/internal/golden"
	"crownassay/tooth"
)

// folder writes the files of a case into a new folder.
func folder(t *testing.T, files map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for name, text := range files {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestLoadCase(t *testing.T) {
	dir := folder(t, map[string]string{
		"case.yaml": `tooth: "30"
numbering: universal
material: zirconia-3y
units: um
surfaces: {opposing: o.stl, prepared: p.stl}
at: [1000, 2000, -3000]
mesial: [0, 3, 4]
finish_line: line.csv
limits: practice.yaml
luting: luting.yaml
scanner: {uncertainty_um: 20}
cement_space_um: 70
tool_radius_um: 500
block: block-14
dentist: 7
date: 2026-05-31
`,
		"p.stl": "p", "o.stl": "o",
		"line.csv":      "\ufeffx,y,z\r\n# traced by hand\r\n0,0,0\r\n1000, 0, 0 # corner\r\n\r\n0,1000,0\r\n0,0,0\r\n",
		"luting.yaml":   "rules:\n  - {name: class, off: true}\n",
		"practice.yaml": "materials: [{name: zirconia-3y, thickness: 0.7}]\n",
	})
	c, err := LoadCase(dir)
	if err != nil {
		t.Fatal(err)
	}
	if c.Dentist != "7" || c.Date != "2026-05-31" {
		t.Errorf("dentist %q, date %q", c.Dentist, c.Date)
	}
	crown := c.CrownSettings()
	if crown.Strength != 800 || crown.Shrinkage != 0.2 || crown.ToolRadius != 0.5 || len(crown.Blocks) != 1 || crown.Blocks[0].Length != 18 {
		t.Errorf("crown = %+v", crown)
	}
	at, mesial := geom.V(1, 2, -3), geom.V(0, 0.6, 0.8)
	if c.Tooth != (tooth.Tooth{Quadrant: 4, Position: 6}) || c.Material.Thickness != 0.7 || c.ScannerUM != 20 || c.CementSpace != 0.07 {
		t.Errorf("case = %+v", c)
	}
	if c.LutingFile != "luting.yaml" || c.Luting.OwnHash == "" {
		t.Errorf("luting rules of %q, hash %q", c.LutingFile, c.Luting.OwnHash)
	}
	if c.At.Dist(at) > 1e-12 || c.Mesial.Dist(mesial) > 1e-12 {
		t.Errorf("at %v, mesial %v, want %v, %v", c.At, c.Mesial, at, mesial)
	}
	if d := cmp.Diff([]geom.Vec{{}, {X: 1}, {Y: 1}}, c.FinishLine); d != "" {
		t.Errorf("finish line (-want +got):\n%s", d)
	}
	want := []Source{{Prepared, "p.stl", filepath.Join(dir, "p.stl")}, {Opposing, "o.stl", filepath.Join(dir, "o.stl")}}
	if d := cmp.Diff(want, c.Surfaces); d != "" {
		t.Errorf("surfaces (-want +got):\n%s", d)
	}
}

func TestLoadCaseDefaults(t *testing.T) {
	dir := folder(t, map[string]string{"case.yaml": "tooth: 46\nmaterial: leucite\nsurfaces: {prepared: p.stl}\n", "p.stl": "p"})
	c, err := LoadCase(filepath.Join(dir, "case.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	if c.Numbering != tooth.ISO || c.Tooth.ISO() != "46" || c.Scale != 1 || c.CementSpace != 0.06 || c.At != nil || c.Mesial != nil || c.FinishLine != nil {
		t.Errorf("case = %+v", c)
	}
}

// TestBadCases keeps the message of every bad description in one golden file.
func TestBadCases(t *testing.T) {
	const good = "tooth: \"46\"\nmaterial: zirconia-3y\n"
	const surf = "surfaces: {prepared: p.stl}\n"
	cases := []struct{ name, yaml, line, limits string }{
		{name: "empty file", yaml: ""},
		{name: "no YAML", yaml: "tooth: [46\n"},
		{name: "a list", yaml: "- tooth\n"},
		{name: "tab indentation", yaml: "tooth: 46\nsurfaces:\n\tprepared: p.stl\n"},
		{name: "unknown field", yaml: good + surf + "colour: A2\n"},
		{name: "twice the same field", yaml: good + "tooth: 36\n" + surf},
		{name: "no tooth", yaml: "material: zirconia-3y\n" + surf},
		{name: "no surfaces", yaml: good},
		{name: "no prepared surface", yaml: good + "surfaces: {opposing: p.stl}\n"},
		{name: "unknown role", yaml: good + "surfaces:\n  prepared: p.stl\n  antagonist: q.stl\n"},
		{name: "tooth that is none", yaml: "tooth: 49\nmaterial: leucite\n" + surf},
		{name: "primary tooth", yaml: "tooth: 75\nmaterial: leucite\n" + surf},
		{name: "Universal number without numbering", yaml: "tooth: 30\nmaterial: leucite\n" + surf},
		{name: "tooth in words", yaml: "tooth: molar\nmaterial: leucite\n" + surf},
		{name: "tooth as a fraction", yaml: "tooth: 4.6\nmaterial: leucite\n" + surf},
		{name: "unknown numbering", yaml: good + "numbering: palmer\n" + surf},
		{name: "unknown material", yaml: "tooth: 46\nmaterial: gold\n" + surf},
		{name: "unknown unit", yaml: good + surf + "units: furlong\n"},
		{name: "missing surface", yaml: good + "surfaces:\n  prepared: p.stl\n  opposing: none.stl\n"},
		{name: "surface is a folder", yaml: good + "surfaces: {prepared: .}\n"},
		{name: "one file for two roles", yaml: good + "surfaces:\n  prepared: p.stl\n  opposing: ./p.stl\n"},
		{name: "point of two numbers", yaml: good + surf + "at: [1, 2]\n"},
		{name: "point of words", yaml: good + surf + "at: [a, b, c]\n"},
		{name: "point at infinity", yaml: good + surf + "at: [.inf, 0, 0]\n"},
		{name: "point that is no number", yaml: good + surf + "at: [.nan, 0, 0]\n"},
		{name: "mesial of no length", yaml: good + surf + "mesial: [0, 0, 0]\n"},
		{name: "scanner without value", yaml: good + surf + "scanner: {}\n"},
		{name: "scanner below zero", yaml: good + surf + "scanner: {uncertainty_um: -1}\n"},
		{name: "cement space in mm", yaml: good + surf + "cement_space_um: -0.06\n"},
		{name: "tool in mm", yaml: good + surf + "tool_radius_um: 0.3\n"},
		{name: "unknown block", yaml: good + surf + "block: block-13\n"},
		{name: "dentist by name", yaml: good + surf + "dentist: somebody with a long name\n"},
		{name: "day in words", yaml: good + surf + "date: 31 May 2026\n"},
		{name: "no such day", yaml: good + surf + "date: 2026-02-30\n"},
		{name: "missing limits", yaml: good + surf + "limits: none.yaml\n"},
		{name: "faulty limits", yaml: good + surf + "limits: l.yaml\n", limits: "rows:\n  - {reading: scan.nois, max: 1}\n"},
		{name: "missing luting rules", yaml: good + surf + "luting: none.yaml\n"},
		{name: "faulty luting rules", yaml: good + surf + "luting: l.yaml\n", limits: "rules:\n  - {name: x, family: [glue], never: true, says: no}\n"},
		{name: "finish line of two points", yaml: good + surf + "finish_line: l.csv\n", line: "0,0,0\n1,0,0\n"},
		{name: "finish line of two columns", yaml: good + surf + "finish_line: l.csv\n", line: "x,y,z\n0,0,0\n1,0\n"},
		{name: "finish line with decimal commas", yaml: good + surf + "finish_line: l.csv\n", line: "0,5;0,0;1,0\n"},
		{name: "finish line with NaN", yaml: good + surf + "finish_line: l.csv\n", line: "x;y;z\n0;0;NaN\n"},
		{name: "finish line with words", yaml: good + surf + "finish_line: l.csv\n", line: "x y z\n0 0 0\nx y z\n"},
		{name: "finish line with a hole", yaml: good + surf + "finish_line: l.csv\n", line: "0,,0\n"},
	}
	var b strings.Builder
	for _, c := range cases {
		dir := folder(t, map[string]string{"case.yaml": c.yaml, "p.stl": "p", "l.csv": c.line, "l.yaml": c.limits})
		_, err := LoadCase(dir)
		if err == nil {
			t.Errorf("%s: no error", c.name)
			continue
		}
		b.WriteString(c.name + "\n  " + strings.ReplaceAll(err.Error(), dir+string(filepath.Separator), "") + "\n")
	}
	golden.Equal(t, "bad-cases.txt", b.String())
}

func TestLoadCasePaths(t *testing.T) {
	empty := t.TempDir()
	for _, c := range []struct{ path, want string }{
		{filepath.Join(empty, "none"), "no such file or folder; give the folder that holds case.yaml"},
		{empty, "the folder holds no case.yaml"},
	} {
		if _, err := LoadCase(c.path); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("LoadCase(%s) = %v, want %q", c.path, err, c.want)
		}
	}
}

func FuzzPolyline(f *testing.F) {
	f.Add([]byte("x,y,z\n0,0,0\n1,0,0\n0,1,0\n"))
	f.Add([]byte("0;0;0\n1 0 0 # a\n\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		line, err := readPolyline("f.csv", text)
		if err == nil && (len(line) < 3 || len(line) > len(text)) {
			t.Errorf("%d points of %d bytes", len(line), len(text))
		}
	})
}
