package foreign

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

// standing is the scan that is damaged below: a preparation in gingiva.
func standing(step float64) (Prep, *mesh.Mesh) {
	p := gum(nil)
	return p, seen(March(p.Field(5), box(-10, 10, -9, 9, -2.5, 9), step), geom.V(0, 0, 1))
}

// floats are small pieces beside the teeth.
func floats(rng *rand.Rand, n int) *mesh.Mesh {
	var all []*mesh.Mesh
	for range n {
		a, r := 2*math.Pi*rng.Float64(), 6.5+2.5*rng.Float64()
		c := geom.V(r*math.Cos(a), r*math.Sin(a), 1+6*rng.Float64())
		all = append(all, March(Ball(c, 0.25+0.2*rng.Float64()), geom.EmptyBox().Include(c).Grow(1), 0.15))
	}
	return Joined(all...)
}

// strips cuts a surface into pieces that share no vertex.
func strips(m *mesh.Mesh) *mesh.Mesh {
	var all []*mesh.Mesh
	for i := range 5 {
		lo, hi := -10+4*float64(i), -6+4*float64(i)
		all = append(all, Keep(m, func(p, _ geom.Vec) bool {
			return p.X+0.3*p.Y >= lo-6 && p.X+0.3*p.Y < hi-6 || (i == 4 && p.X+0.3*p.Y >= hi-6) || (i == 0 && p.X+0.3*p.Y < lo-6)
		}))
	}
	return Joined(all...)
}

// TestDamaged measures one preparation through what happens to scans.
func TestDamaged(t *testing.T) {
	p, m := standing(0.15)
	rng := rand.New(rand.NewPCG(9, 9))
	top := geom.V(0.5, 0.3, p.Height)
	wall := geom.V(p.A-p.Width-2*tan(p.Taper), 0, 2)
	height := []reading.ID{"preparation.retention.area"}
	for i, c := range []struct {
		name string
		m    *mesh.Mesh
		near near
	}{
		{"noise 5 um", Noisy(m, 0.005, rng), near{scale: 2}},
		{"noise 10 um", Noisy(m, 0.010, rng), near{scale: 2}},
		{"noise 20 um", Noisy(m, 0.020, rng), near{scale: 2, covered: true}},
		{"noise 30 um", Noisy(m, 0.030, rng), near{scale: 2, covered: true}},
		{"hole in the top", Hole(m, top, 1), near{}},
		{"large hole in the top", Hole(m, top, 1.9), near{}},
		{"hole in the wall", Hole(m, wall, 0.8), near{covered: true}},
		{"islands", Joined(m, floats(rng, 12)), near{}},
		{"inside out", Flipped(m, 2, rng), near{}},
		{"mixed", Flipped(m, 0.3, rng), near{}},
		{"mixed to half", Flipped(m, 0.5, rng), near{}},
		{"twice", Twice(m, 0.2, rng), near{}},
		{"all twice", Twice(m, 2, rng), near{}},
		{"pieces", strips(m), near{}},
		{"thinned", Thinned(Thinned(m, 0.9, rng), 0.9, rng), near{}},
		{"crumbs", crumbs(m, rng), near{covered: true, skip: height}},
	} {
		if !swept(i, 5) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			check(t, p, given{prepared: c.m, mesial: true}, c.near, uint64(i))
		})
	}
}

// crumbs has small holes all over.
func crumbs(m *mesh.Mesh, rng *rand.Rand) *mesh.Mesh {
	return Keep(m, func(p, _ geom.Vec) bool { return rng.Float64() > 0.01 })
}

// TestMissingArcs: the finish line is not scanned over an arc.
func TestMissingArcs(t *testing.T) {
	p, m := standing(0.15)
	for i, arc := range []float64{60, 30, 90, 120} {
		if !swept(i, 3) {
			continue
		}
		t.Run(fmt.Sprint(arc), func(t *testing.T) {
			t.Parallel()
			inArc := func(q geom.Vec) bool { return math.Abs(math.Atan2(q.Y, q.X)*180/math.Pi-40) <= arc/2 }
			cut := Keep(m, func(q, _ geom.Vec) bool {
				return !inArc(q) || math.Abs(q.Z) > 0.5 || math.Hypot(q.X, q.Y) > 6
			})
			r, back, took, err := run(t, given{prepared: cut, mesial: true}, uint64(arc))
			if err != nil {
				t.Fatalf("%v: %v", took, err)
			}
			skip := []reading.ID{"finish_line.width.min", "finish_line.width.mean", "preparation.retention.area"}
			for _, f := range faults(r, back, p.Line, p.Truth(), near{scale: 2, covered: true, skip: skip}) {
				t.Error(f)
			}
			for _, q := range r.Readings {
				if want := whole(p, cut, inArc); q.ID == "finish_line.legible" && math.Abs(q.Value-want) > 2 {
					t.Errorf("legible %.1f %% with %v degrees missing, want %.1f", q.Value, arc, want)
				}
			}
		})
	}
}

// whole is the share of the finish line, in percent, that was scanned and has
// no border of the scan within 0.2 mm (definition of legible; its turn is
// sharp all round).
func whole(p Prep, m *mesh.Mesh, missing func(geom.Vec) bool) float64 {
	n := 0.0
	loops := mesh.Adjacent(m).BorderLoops()
	for a := range 360 {
		at := p.Line(float64(a))
		bad := missing(at)
		for _, l := range loops {
			bad = bad || slices.ContainsFunc(l, func(v int32) bool { return m.V[v].Dist(at) <= 0.2 })
		}
		if !bad {
			n++
		}
	}
	return n / 3.6
}

// TestCoarse: with edges of half a millimetre errors stay within what is
// stated.
func TestCoarse(t *testing.T) {
	for i, s := range shapes {
		for _, step := range []float64{0.3, 0.45} {
			if !swept(i, 3) || step == 0.3 && !swept(i, 9) {
				continue
			}
			t.Run(fmt.Sprintf("%s/%v", s.name, step), func(t *testing.T) {
				t.Parallel()
				m := March(s.p.Field(4), box(-8, 8, -8, 8, -3.5, 9), step)
				check(t, s.p, given{prepared: m, mesial: true}, near{scale: 2, covered: true}, uint64(i))
			})
		}
	}
}
