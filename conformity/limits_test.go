package conformity

import (
	"strings"
	"testing"

	"crownassay/reading"
	"crownassay/tooth"
)

// TestPublishedLimits holds the built-in table against the papers: Goodacre,
// Campagni, Aquilino 2001 (read); Rosenstiel, Land, Fujimoto (read); Weigl et
// al. 2018 (read); Juloski et al. 2012 (read); the rest from memory.
func TestPublishedLimits(t *testing.T) {
	l := BuiltIn()
	for _, c := range []struct {
		id       reading.ID
		part     string
		material string
		class    tooth.Class
		min, max float64 // -1: none
		status   string
	}{
		{"preparation.convergence.mean", "", "leucite", tooth.Incisor, 10, 20, "read"},
		{"preparation.convergence.mesiodistal", "", "zirconia-3y", tooth.Molar, 10, 20, "read"},
		{"preparation.height.min", "", "zirconia-3y", tooth.Molar, 4, -1, "read"},
		{"preparation.height.min", "", "zirconia-3y", tooth.Premolar, 3, -1, "read"},
		{"preparation.height.min", "", "zirconia-3y", tooth.Canine, 3, -1, "read"},
		{"preparation.height_to_base", "", "cast-metal", tooth.Molar, 0.4, -1, "read"},
		{"preparation.ferrule", "", "zirconia-3y", tooth.Molar, 1.5, -1, "read"},
		{"finish_line.width.min", "", "cast-metal", tooth.Molar, 0.5, -1, "read"},
		{"finish_line.width.min", "", "zirconia-3y", tooth.Molar, 0.5, -1, "memory"},
		{"finish_line.width.min", "", "lithium-disilicate", tooth.Molar, 1, -1, "memory"},
		{"preparation.clearance.occlusal", "", "zirconia-3y", tooth.Molar, 1, -1, "memory"},
		{"preparation.clearance.occlusal", "", "lithium-disilicate", tooth.Molar, 1.5, -1, "memory"},
		{"preparation.clearance.occlusal", reading.FunctionalCusps, "cast-metal", tooth.Molar, 1.5, -1, "read"},
	} {
		got := l.Find(c.id, c.part, c.material, c.class)
		if got == nil {
			t.Errorf("%s %s %s %s: no limit", c.id, c.part, c.material, c.class)
			continue
		}
		if value(got.Min) != c.min || value(got.Max) != c.max || got.Status != c.status {
			t.Errorf("%s %s %s %s = %g to %g, %s, want %g to %g, %s", c.id, c.part, c.material, c.class,
				value(got.Min), value(got.Max), got.Status, c.min, c.max, c.status)
		}
	}
	if m, err := l.Material("zirconia-3y"); err != nil || m.Thickness != 0.5 || m.Status != "read" {
		t.Errorf("3Y zirconia = %+v, %v, want 0.5 mm, read", m, err)
	}
}

func value(p *float64) float64 {
	if p == nil {
		return -1
	}
	return *p
}

func TestEveryRowHasASource(t *testing.T) {
	l := BuiltIn()
	for _, r := range l.Rows {
		if r.Source == "" || r.Status == "" {
			t.Errorf("row of %v has no source or status", r.Readings)
		}
	}
	for _, m := range l.Materials {
		if m.Source == "" || m.Status == "" || m.Title == "" {
			t.Errorf("material %+v lacks a title, source or status", m)
		}
	}
}

// The classes follow from the strengths: at least 50, 100, 300, 500 and 800 MPa
// for classes 1 to 5 (ISO 6872:2015, from memory). Strengths and moduli are in
// the range of Zhang & Kelly 2017, Dent Clin N Am 61:797, table 1 (read).
func TestMechanics(t *testing.T) {
	least := []float64{0, 50, 100, 300, 500, 800}
	top := map[string][2]float64{"zirconia-3y": {210, 1200}, "zirconia-5y": {210, 485}, "lithium-disilicate": {95, 480},
		"leucite": {65, 160}, "feldspathic": {72, 122}, "resin-infiltrated": {30, 159}}
	for _, m := range BuiltIn().Materials {
		k := m.Mechanics
		if k == (Mechanics{}) {
			continue
		}
		if k.Source == "" || k.Status == "" {
			t.Errorf("%s: no source or status", m.Name)
		}
		if w, ok := top[m.Name]; ok && (k.Modulus != w[0] || k.Strength > w[1]) {
			t.Errorf("%s = %+v, want modulus %g and strength at most %g", m.Name, k, w[0], w[1])
		}
		if c := k.Class; c > 0 && (k.Strength < least[c] || c < 5 && k.Strength >= least[c+1]) {
			t.Errorf("%s: class %d at %g MPa", m.Name, c, k.Strength)
		}
	}
}

// Blocks come from the smallest to the largest, each with its source.
func TestBlocks(t *testing.T) {
	volume := 0.0
	for _, b := range BuiltIn().Blocks {
		if v := b.Length * b.Width * b.Height; v <= volume || b.Source == "" || b.Status == "" {
			t.Errorf("block %+v after one of %g mm3", b, volume)
		} else {
			volume = v
		}
	}
}

func TestEveryMeasurandHasAnAction(t *testing.T) {
	for _, m := range reading.Measurands {
		a := actionOf(m.ID)
		if a.subject == "" || a.get == "" {
			t.Errorf("%s has no action", m.ID)
		}
		if m.Sense != reading.AtMost && m.Sense != reading.NoLimit && a.low == "" {
			t.Errorf("%s has nothing to do below its limit", m.ID)
		}
		if (m.Sense == reading.AtMost || m.Sense == reading.Within) && a.high == "" {
			t.Errorf("%s has nothing to do above its limit", m.ID)
		}
	}
}

func TestUnknownMaterial(t *testing.T) {
	_, err := BuiltIn().Material("zirconia")
	want := `find material "zirconia": not in the limits table; use one of zirconia-3y, zirconia-4y, zirconia-5y, ` +
		`lithium-disilicate, leucite, feldspathic, resin-infiltrated, cast-metal`
	if err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}

func TestOverlay(t *testing.T) {
	base := BuiltIn()
	n := len(base.Rows)
	l, err := base.Overlay("practice.yaml", []byte(`
cement_space: {mm: 0.08}
materials:
  - {name: zirconia-3y, thickness: 0.7}
  - {name: leucite, thickness: 1.5, mechanics: {modulus_gpa: 70, strength_mpa: 150}}
tool_radius: {mm: 0.5}
blocks: [{name: own, length: 20, width: 15, height: 15}]
rows:
  - {reading: preparation.clearance.occlusal, material: zirconia-3y, tooth: molar, min: 1.2, source: "remakes of last year"}
`))
	if err != nil {
		t.Fatal(err)
	}
	molar := l.Find("preparation.clearance.occlusal", "", "zirconia-3y", tooth.Molar)
	if *molar.Min != 1.2 || molar.Source != "remakes of last year" || molar.Status != Practice {
		t.Errorf("molar = %+v", molar)
	}
	if other := l.Find("preparation.clearance.occlusal", "", "zirconia-3y", tooth.Premolar); *other.Min != 1.0 {
		t.Errorf("premolar = %+v, want the built-in row", other)
	}
	if m, _ := l.Material("zirconia-3y"); m.Thickness != 0.7 || m.Title != "3Y zirconia" || m.Source != "the practice's own limit" {
		t.Errorf("material = %+v", m)
	}
	if m, _ := l.Material("zirconia-3y"); m.Mechanics.Strength != 800 || m.Mechanics.Status != "memory" {
		t.Errorf("mechanics = %+v, want the built-in ones", m.Mechanics)
	}
	if m, _ := l.Material("leucite"); m.Mechanics.Strength != 150 || m.Mechanics.Status != Practice {
		t.Errorf("mechanics = %+v, want the practice's", m.Mechanics)
	}
	if b, err := l.Block("own"); err != nil || b.Status != Practice || len(l.Blocks) != 1 || l.ToolRadius.MM != 0.5 {
		t.Errorf("blocks = %+v, tool %+v, %v", l.Blocks, l.ToolRadius, err)
	}
	if l.CementSpace.MM != 0.08 || l.CementSpace.Status != Practice {
		t.Errorf("cement space = %+v", l.CementSpace)
	}
	if m, _ := base.Material("zirconia-3y"); m.Thickness != 0.5 || len(base.Rows) != n || base.CementSpace.MM != 0.06 {
		t.Error("the base table was changed")
	}
}

func TestOverlayRefuses(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"rows:\n  - {reading: preparation.colour, min: 1}\n", `p.yaml:2: read row: unknown reading "preparation.colour"; "crownassay readings" lists the ids`},
		{"rows:\n  - {reading: scan.noise, max: 1}\n  - {reading: scan.noise, material: gold, max: 1}\n", `p.yaml:3: find material "gold"`},
		{"rows:\n  - {reading: scan.noise, tooth: tusk, max: 1}\n", `p.yaml:2: read row: unknown class of teeth "tusk"; use incisor`},
		{"rows:\n  - {reading: preparation.room, part: top, min: 1}\n", `p.yaml:2: read row: unknown part "top"; use functional cusps`},
		{"rows:\n  - {reading: preparation.room, max: 1}\n", "p.yaml:2: read row: preparation.room has a lower limit only, not max"},
		{"rows:\n  - {reading: scan.noise, min: 1}\n", "p.yaml:2: read row: scan.noise has an upper limit only, not min"},
		{"rows:\n  - {reading: preparation.convergence.mean, min: 20, max: 10}\n", "p.yaml:2: read row: min 20 is above max 10; exchange them"},
		{"rows:\n  - {reading: scan.noise}\n", "p.yaml:2: rows.0: min is missing; it is the lower limit"},
		{"rows:\n  - {reading: scan.noise, maximum: 1}\n", `p.yaml:2: rows.0.maximum: unknown field "maximum"`},
		{"rows:\n  - {reading: scan.noise, max: thick}\n", "p.yaml:2: rows.0.max: got string, want number; it is the upper limit"},
		{"materials:\n  - {name: gold, thickness: 1}\n", `p.yaml:2: find material "gold"`},
		{"cement_space: {mm: 60}\n", "p.yaml:1: cement_space.mm: maximum: got 60, want 0.5"},
	} {
		if _, err := BuiltIn().Overlay("p.yaml", []byte(c.in)); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%q:\n got %v\nwant %s", c.in, err, c.want)
		}
	}
}
