package bvh

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"crownassay/geom"
)

// turnedAbout returns n planes about a line through o, from one direction on
// by step radians each.
func turnedAbout(o, axis geom.Vec, n int, from, step float64) []geom.Plane {
	x := axis.Normal()
	y := axis.Cross(x)
	out := make([]geom.Plane, n)
	for i := range out {
		s, c := math.Sincos(from + step*float64(i))
		out[i] = geom.PlaneThrough(o, x.Mul(c).Add(y.Mul(s)).Unit())
	}
	return out
}

// besideOne returns n parallel planes.
func besideOne(pl geom.Plane, n int, step float64) []geom.Plane {
	out := make([]geom.Plane, n)
	for i := range out {
		out[i] = geom.Plane{Normal: pl.Normal, Offset: pl.Offset + step*float64(i)}
	}
	return out
}

// Planes cut together give the same sections as one by one, whether they are a
// bundle or not.
func TestSectionsTogether(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	m := sphere(4, 60)
	off := geom.V(20, -7, 11)
	for i := range m.V {
		m.V[i] = m.V[i].Add(off)
	}
	tree := New(m)
	for range 20 {
		o := off.Add(geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()))
		axis := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit()
		about := turnedAbout(o, axis, 7, 6*rng.Float64(), 0.02)
		for name, c := range map[string]struct {
			planes []geom.Plane
			bundle bool
		}{
			"about a line":      {about, true},
			"parallel":          {besideOne(about[0], 9, 0.15), true},
			"one":               {about[:1], true},
			"wide":              {turnedAbout(o, axis, 8, 1, 0.44), true},
			"round":             {turnedAbout(o, axis, 8, 1, 0.5), false},
			"the same twice":    {[]geom.Plane{about[0], about[0]}, false},
			"out of order":      {[]geom.Plane{about[0], about[6], about[3]}, false},
			"not about a line":  {[]geom.Plane{about[0], geom.PlaneThrough(off, axis), about[3]}, false},
			"not a direction":   {[]geom.Plane{about[0], {Normal: geom.V(math.NaN(), 0, 0)}, about[3]}, false},
			"one not direction": {[]geom.Plane{{Normal: geom.V(math.NaN(), 0, 0)}}, true},
		} {
			if got := bundled(c.planes, o); got != c.bundle {
				t.Errorf("%s: bundled = %v, want %v", name, got, c.bundle)
			}
			for _, radius := range []float64{2.5, math.Inf(1), math.NaN()} {
				out := make([][]Polyline, len(c.planes))
				tree.Sections(c.planes, o, radius, out)
				for i, pl := range c.planes {
					if want := tree.SectionNear(pl, o, radius); !reflect.DeepEqual(out[i], want) {
						t.Fatalf("%s, radius %g: plane %d: %d pieces, want %d", name, radius, i, len(out[i]), len(want))
					}
				}
			}
		}
	}
}
