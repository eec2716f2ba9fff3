package meshio

import (
	"math"
	"strings"
	"testing"

	"crownassay/mesh"
)

// TestThreeMF: volumes by the determinant of the transforms, places by hand.
// Rows of a transform are the images of x, y, z, and the shift (3MF Core
// Specification 1.3, section 3.3).
func TestThreeMF(t *testing.T) {
	object := func(id, content string) string { return `<object id="` + id + `">` + content + `</object>` }
	one := object("1", mfTetra)
	pair := object("2", `<components><component objectid="1" transform="1 0 0 0 1 0 0 0 1 10 0 0"/><component objectid="1" transform="0 1 0 -1 0 0 0 0 1 0 0 0"/></components>`)
	for _, c := range []struct {
		name, attrs, content string
		unit                 float64
		facets               int
		volume               float64 // of all, in sixths
		high                 [3]float64
		note                 string
	}{
		{"plain", "", `<resources>` + one + `</resources><build><item objectid="1"/></build>`, 1, 4, 1, [3]float64{1, 1, 1}, ""},
		{"inch", `unit="inch"`, `<resources>` + one + `</resources><build><item objectid="1"/></build>`, 25.4, 4, 1, [3]float64{1, 1, 1}, ""},
		{"micron", `unit="micron"`, `<resources>` + one + `</resources><build><item objectid="1"/></build>`, 0.001, 4, 1, [3]float64{1, 1, 1}, ""},
		{"scaled and moved", "", `<resources>` + one + `</resources><build><item objectid="1" transform="2 0 0 0 3 0 0 0 4 1 1 1"/></build>`, 1, 4, 24, [3]float64{3, 4, 5}, ""},
		{"mirrored", "", `<resources>` + one + `</resources><build><item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/></build>`, 1, 4, 1, [3]float64{0, 1, 1}, ""},
		{"nested", "", `<resources>` + one + pair + `</resources><build><item objectid="2" transform="2 0 0 0 2 0 0 0 2 0 0 5"/></build>`, 1, 8, 16, [3]float64{22, 2, 7}, ""},
		{"twice", "", `<resources>` + one + `</resources><build><item objectid="1"/><item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 3"/></build>`, 1, 8, 2, [3]float64{1, 1, 4}, ""},
		{"empty build", "", `<resources>` + one + pair + `</resources><build/>`, 1, 8, 2, [3]float64{11, 1, 1}, "build is empty"},
		{"support", "", `<resources>` + one + strings.Replace(object("3", mfTetra), `id="3"`, `id="3" type="support"`, 1) + `</resources><build><item objectid="1"/><item objectid="3"/></build>`, 1, 4, 1, [3]float64{1, 1, 1}, "1 support objects"},
	} {
		f, err := Decode(mf(c.attrs, c.content), c.name)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		m, box := f.Mesh, f.Mesh.Box()
		if f.UnitMM != c.unit || len(m.F) != c.facets || math.Abs(m.Volume()-c.volume/6) > 1e-12 ||
			[3]float64{box.Max.X, box.Max.Y, box.Max.Z} != c.high || !strings.Contains(strings.Join(f.Notes, "|"), c.note) {
			t.Errorf("%s: unit %g, %d facets, volume %g/6, box to %v, notes %q", c.name, f.UnitMM, len(m.F), 6*m.Volume(), box.Max, f.Notes)
		}
	}
}

// TestThreeMFParts: an object of another part (Production Extension).
func TestThreeMFParts(t *testing.T) {
	data := zipBytes("_rels/.rels", mfRels,
		"3D/3dmodel.model", `<model xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06"><resources><object id="5"><components>`+
			`<component p:path="/3D/Objects/part.model" objectid="1"/></components></object></resources><build><item objectid="5"/></build></model>`,
		"3D/Objects/part.model", `<model><resources><object id="1">`+mfTetra+`</object></resources><build/></model>`)
	m := decoded(t, data).Mesh
	if len(m.F) != 4 || !mesh.Closed(m, mesh.Adjacent(m)) {
		t.Errorf("%d facets", len(m.F))
	}
}
