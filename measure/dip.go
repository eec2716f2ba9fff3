package measure

import (
	"math"

	"crownassay/curvature"
	"crownassay/geom"
)

// How the smallest distance between two smooth surfaces is read. Lengths mm.
const (
	dipReach  = 0.45 // around the lowest sample a quadric is fitted to the distances within
	dipRounds = 4    // times the fit is moved to its own lowest point
	dipRough  = 0.02 // residual above which the distances are no smooth dip
	dipFit    = 0.3  // of the reach: the lowest point of the last fit lies this near to its middle
)

// field is a distance known at points of a surface.
type field struct {
	p, n  []geom.Vec // points and unit normals
	value []float64  // NaN where unknown
	area  []float64  // mm^2 that each stands for
}

// samples returns the known values.
func (f *field) samples() []sample {
	var out []sample
	for i, v := range f.value {
		if !math.IsNaN(v) {
			out = append(out, sample{v, f.area[i], i})
		}
	}
	return out
}

// dip returns the smallest value of a field and where it is. Around the robust
// minimum a quadric is fitted to the values and moved to its own lowest point,
// so that neither facets nor single noisy points make the value; the standard
// uncertainty of the fit comes with it. Where the values are no smooth dip,
// the robust minimum stands.
func (f *field) dip() (value float64, at geom.Vec, std float64, ok bool) {
	m, ok := robustMin(f.samples())
	if !ok {
		return 0, geom.Vec{}, 0, false
	}
	value, at, std = m.value, f.p[m.i], dipRough/2
	c, n := f.p[m.i], f.n[m.i]
	for range dipRounds {
		fit, ok := f.quadricAt(c, n)
		if !ok || !(fit.RMS < dipRough) {
			return value, at, std, true
		}
		step, drop, ok := lowestOf(&fit)
		if !ok {
			return value, at, std, true
		}
		u := n.Normal()
		to := c.Add(u.Mul(step.X)).Add(n.Cross(u).Mul(step.Y))
		if l := to.Dist(c); l > dipReach*dipFit {
			c = c.Lerp(to, dipReach*dipFit/l)
			continue
		}
		return fit.Height - drop, to, 2 * fit.RMS / math.Sqrt(float64(fit.N)), true
	}
	return value, at, std, true
}

// quadricAt fits the values around c over the plane square to n.
func (f *field) quadricAt(c, n geom.Vec) (curvature.Fit, bool) {
	u := n.Normal()
	v := n.Cross(u)
	var pts []geom.Vec
	for i, x := range f.value {
		if math.IsNaN(x) || f.p[i].DistSq(c) > dipReach*dipReach {
			continue
		}
		d := f.p[i].Sub(c)
		pts = append(pts, geom.V(d.Dot(u), d.Dot(v), x))
	}
	return curvature.Quadric(pts, geom.Vec{}, geom.V(0, 0, 1))
}

// lowestOf returns the way from a fit's middle to its lowest point and how
// much lower that is; ok is false where the fit has none.
func lowestOf(fit *curvature.Fit) (step geom.Vec, drop float64, ok bool) {
	if fit.Normal.Z <= 0 || fit.K1 >= 0 {
		return geom.Vec{}, 0, false
	}
	g := geom.V(-fit.Normal.X/fit.Normal.Z, -fit.Normal.Y/fit.Normal.Z, 0)
	for _, e := range []struct {
		k   float64
		dir geom.Vec
	}{{fit.K1, fit.Dir1}, {fit.K2, fit.Dir2}} {
		d := geom.V(e.dir.X, e.dir.Y, 0)
		s := g.Dot(d)
		step = step.Add(d.Mul(s / e.k))
		drop -= s * s / e.k / 2
	}
	return step, drop, true
}
