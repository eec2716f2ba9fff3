package foreign

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

// seen keeps what a scanner sees from above: facets that face it, somewhat
// beyond square.
func seen(m *mesh.Mesh, tilt geom.Vec) *mesh.Mesh {
	up := tilt.Unit()
	return Keep(m, func(_, n geom.Vec) bool { return n.Dot(up) > -0.25 })
}

// gum is a molar's preparation in gingiva with a sulcus.
func gum(change func(p *Prep)) Prep {
	return with(func(p *Prep) {
		p.Sulcus, p.Crest, p.Outside = 0.6, 0.4, 14
		if change != nil {
			change(p)
		}
	})
}

// above is a molar's preparation that ends above the gingiva.
func above(down float64) Field {
	p := with(func(p *Prep) { p.Root = 5 })
	return Union(p.Field(5), Beside{Base: -down}.Gingiva(8))
}

var row = Beside{Gap: 1.2, Count: 2, Boxes: true, Base: -0.8}

func neighbours(gap float64) map[reading.ID]float64 {
	return map[reading.ID]float64{"finish_line.neighbour.mesial": gap, "finish_line.neighbour.distal": gap}
}

// TestGingiva measures preparations in gingiva and above it, alone and
// between neighbours.
func TestGingiva(t *testing.T) {
	wide := box(-12, 12, -7.5, 7.5, -2.5, 9)
	sunk := gum(nil)
	deep := gum(func(p *Prep) { p.Sulcus, p.Crest = 1, 0.8 })
	shallow := gum(func(p *Prep) { p.Sulcus, p.Crest = 0.3, 0 })
	free := with(func(p *Prep) { p.Root = 5 })
	for i, c := range []struct {
		name  string
		p     Prep
		f     Field
		extra map[reading.ID]float64
	}{
		{"sulcus 0.6", sunk, sunk.Field(5), nil},
		{"sulcus 1.0", deep, deep.Field(5), nil},
		{"equigingival 0.3", shallow, shallow.Field(5), nil},
		{"supragingival 1", free, above(1), nil},
		{"supragingival 2", free, above(2), nil},
		{"boxes beside", free, Union(free.Field(5), row.Gingiva(8), row.Teeth(free.A)), neighbours(1.2)},
		{"boxes beside, sulcus", sunk, Union(sunk.Field(5), row.Teeth(sunk.A)), nil},
		{"superellipsoids beside", sunk, Union(sunk.Field(5), Beside{Gap: 1.4, Count: 2, Base: 0.3}.Teeth(sunk.A)), nil},
	} {
		if !swept(i, 5) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := seen(March(c.f, wide, 0.15), geom.V(0, 0, 1))
			r, back, took, err := run(t, given{prepared: m, mesial: true}, uint64(i))
			if err != nil {
				t.Fatalf("%d facets, %v: %v", len(m.F), took, err)
			}
			truth := c.p.Truth()
			for k, v := range c.extra {
				truth[k] = v
			}
			for _, f := range faults(r, back, c.p.Line, truth, near{covered: c.p.Sulcus == 0.3}) { // two facets deep: the edge is hardly seen, less than is stated
				t.Error(f)
			}
		})
	}
}

// TestArch measures a preparation on a curved arch, mesial not given.
func TestArch(t *testing.T) {
	b := Beside{Gap: 1, Curve: 24, Count: 3, Base: -0.7}
	p := with(func(p *Prep) { p.Root = 5 })
	f := Union(p.Field(5), b.Gingiva(8), b.Teeth(p.A))
	m := seen(March(f, box(-28, 28, -26, 8, -2.5, 9), 0.24), geom.V(0, 0, 1))
	r, back, took, err := run(t, given{prepared: m}, 1)
	if err != nil {
		t.Fatalf("%d facets, %v: %v", len(m.F), took, err)
	}
	for _, f := range faults(r, back, p.Line, p.Truth(), near{}) {
		t.Error(f)
	}
	for _, n := range r.Notes {
		t.Log(n)
	}
}

// TestTilted measures preparations that lean against the scan.
func TestTilted(t *testing.T) {
	for i, lean := range []float64{25, 15} {
		if !swept(i, 2) {
			continue
		}
		t.Run(fmt.Sprint(lean), func(t *testing.T) {
			t.Parallel()
			p := with(func(p *Prep) { p.Root, p.Height = 5, 4.5 })
			up := geom.V(0, math.Sin(lean*math.Pi/180), math.Cos(lean*math.Pi/180))
			f := Union(p.Field(6), Below(geom.V(0, 0, -2.6), up))
			// walls lean away from up by as much as lean less the taper; a scanner that is moved sees them
			m := Keep(March(f, box(-12, 12, -12, 12, -7, 9), 0.2), func(_, n geom.Vec) bool { return n.Dot(up) > -0.5 })
			r, back, took, err := run(t, given{prepared: m, mesial: true}, 1)
			if err != nil {
				t.Fatalf("%d facets, %v: %v", len(m.F), took, err)
			}
			for _, f := range faults(r, back, p.Line, p.Truth(), near{}) {
				t.Error(f)
			}
		})
	}
}

// TestOpposing: the distance of a flat top to a plate is exact; a ball
// touches it at its lowest point.
func TestOpposing(t *testing.T) {
	p := gum(nil)
	m := seen(March(p.Field(5), box(-12, 12, -7.5, 7.5, -2.5, 9), 0.15), geom.V(0, 0, 1))
	ball := March(Ball(geom.V(0.5, 0.3, p.Height+1.1+20), 20), box(-12, 12, -12, 12, 0, 11), 0.2)
	// The ball's distance to the top: 0.05 mm^2 of it lie within 0.126 mm of the lowest point.
	dip := math.Hypot(20+1.1, math.Sqrt(0.05/math.Pi)) - 20
	for _, c := range []struct {
		name string
		o    *mesh.Mesh
		want float64
	}{
		{"plate of big facets", plate(p.Height+1.3, 12, 2), 1.3},
		{"plate of small facets", plate(p.Height+0.62, 12, 160), 0.62},
		{"ball", Keep(ball, func(p, _ geom.Vec) bool { return true }), dip},
		{"plate inside out", Flipped(plate(p.Height+1.3, 12, 40), 2, rand.New(rand.NewPCG(1, 1))), 1.3},
		{"plate through the top", plate(p.Height-0.2, 12, 160), -0.2},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, back, _, err := run(t, given{prepared: m, opposing: c.o, mesial: true}, 1)
			if err != nil {
				t.Fatal(err)
			}
			truth := map[reading.ID]float64{"preparation.clearance.occlusal": c.want}
			for _, f := range faults(r, back, p.Line, truth, near{}) {
				t.Error(f)
			}
		})
	}
}
