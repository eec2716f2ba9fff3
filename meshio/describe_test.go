package meshio

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

func TestDescribe(t *testing.T) {
	dir := t.TempDir()
	sphere := geodesic(30, 8, true)
	flipped := &mesh.Mesh{V: sphere.V, F: slices.Clone(sphere.F)}
	for _, f := range []int{10, 500, 501} {
		flipped.F[f][0], flipped.F[f][1] = flipped.F[f][1], flipped.F[f][0]
	}
	open := &mesh.Mesh{V: sphere.V, F: sphere.F[1:]}
	inward := &mesh.Mesh{V: sphere.V, F: slices.Clone(sphere.F)}
	for f := range inward.F {
		inward.F[f][0], inward.F[f][1] = inward.F[f][1], inward.F[f][0]
	}
	ball := 4.0 / 3 * math.Pi * 512 // 4/3 pi r^3; a polyhedron within it has less
	for _, c := range []struct {
		name    string
		m       *mesh.Mesh
		closed  bool
		borders int
		volume  float64
		defects string
	}{
		{"sphere", sphere, true, 0, ball, `[]`},
		{"flipped", flipped, true, 0, ball, `[{"kind":"flipped-facets","count":3,"first":10}]`},
		{"open", open, false, 1, 0, `[]`},
		{"inward", inward, true, 0, -ball, `[{"kind":"inside-out-pieces","count":1,"first":0}]`},
	} {
		path := filepath.Join(dir, c.name+".stl")
		if err := WriteFile(path, c.m); err != nil {
			t.Fatal(err)
		}
		d, err := Describe(path)
		if err != nil {
			t.Fatal(err)
		}
		defects, err := json.Marshal(d.Defects)
		if err != nil || string(defects) != c.defects {
			t.Errorf("%s: defects %s, want %s", c.name, defects, c.defects)
		}
		if d.Format != STLBinary || d.Triangles != len(c.m.F) || d.Vertices != len(c.m.V) || d.Shells != 1 || d.Closed != c.closed || d.Borders != c.borders || d.Unit != "mm" {
			t.Errorf("%s: %+v", c.name, d)
		}
		// 18,000 facets: the sagitta of a facet is about r/8 (edge/r)^2 = 0.02 of 8,
		// so area and volume fall short by less than 0.3 %.
		if math.Abs(d.Volume-c.volume) > 0.003*ball || math.Abs(d.Area-4*math.Pi*64) > 0.003*4*math.Pi*64 {
			t.Errorf("%s: area %g, volume %g", c.name, d.Area, d.Volume)
		}
	}
}

// TestDescriptionJSON holds the names of the output contract, in their order.
func TestDescriptionJSON(t *testing.T) {
	d := decoded(t, []byte(cubePLY)).Describe()
	got, err := json.Marshal(d)
	want := `{"format":"ply-ascii","triangles":12,"vertices":8,"shells":1,"closed":true,"borders":0,"box":[[0,0,0],[1,1,1]],` +
		`"area":6,"volume":1,"unit":"in","defects":[],"notes":["unit in: inferred from the largest dimension of 1; the format states none"]}`
	if err != nil || string(got) != want {
		t.Errorf("JSON\n%s, want\n%s", got, want)
	}
	if _, err := Describe(filepath.Join(t.TempDir(), "lost.stl")); err == nil {
		t.Error("Describe of a missing file gave no error")
	}
}

// Sizes: common practice; an arch is 20 to 90 mm across, a die or crown 5 to 20.
func TestLikelyUnit(t *testing.T) {
	for _, c := range []struct {
		size float64
		unit string
	}{
		{5, "mm"}, {12, "mm"}, {20, "mm"}, {65, "mm"}, {90, "mm"}, {150, "mm"},
		{65000, "um"}, {9000, "um"}, {0.065, "m"}, {0.009, "m"}, {65 / 25.4, "in"}, {0.5, "cm"},
		{500, ""}, {1e9, ""}, {0.0001, ""}, {0, ""},
	} {
		box := geom.EmptyBox().Include(geom.V(1, 2, 3)).Include(geom.V(1+c.size/3, 2-c.size, 3))
		if got := LikelyUnit(box); got != c.unit {
			t.Errorf("LikelyUnit(%g) = %q, want %q", c.size, got, c.unit)
		}
	}
	if got := LikelyUnit(geom.EmptyBox()); got != "" {
		t.Errorf("LikelyUnit(empty) = %q", got)
	}
}

func TestStatedUnitWins(t *testing.T) {
	content := `<resources><object id="1">` + mfTetra + `</object></resources><build><item objectid="1"/></build>`
	d := decoded(t, mf(`unit="inch"`, content)).Describe()
	if d.Unit != "in" || !strings.Contains(d.Notes[0], "stated") || len(d.Notes) != 1 {
		t.Errorf("inch: %q %q", d.Unit, d.Notes)
	}
	d = decoded(t, mf("", content)).Describe() // 1 mm across
	if d.Unit != "mm" || !strings.Contains(strings.Join(d.Notes, "|"), "unusual") {
		t.Errorf("1 mm: %q %q", d.Unit, d.Notes)
	}
}

// TestDescribeSame: the same bytes give the same description.
func TestDescribeSame(t *testing.T) {
	var b bytes.Buffer
	if err := WriteOBJ(&b, geodesic(6, 4, false)); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "s.obj")
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	first := ""
	for range 5 {
		d, err := Describe(path)
		if err != nil {
			t.Fatal(err)
		}
		out, err := json.Marshal(d)
		if err != nil || first != "" && string(out) != first {
			t.Fatalf("%s, then %s", first, out)
		}
		first = string(out)
	}
}
