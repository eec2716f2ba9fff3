package measure

import (
	"math"

	"crownassay/curvature"
	"crownassay/geom"
)

// How the smallest distance between two smooth surfaces is read. Lengths mm.
const (
	dipReach  = 0.45  // around the lowest sample a quadric is fitted to the distances within
	dipShrink = 0.6   // of the reach is tried next where the distances are no quadric
	dipLeast  = 0.15  // and no less
	dipRounds = 4     // times the fit is moved to its own lowest point
	dipRough  = 0.003 // residual that a quadric may have without noise
	dipNoise  = 1.3   // and this times the noise
	dipStray  = 0.04  // lower than the robust minimum by more is a stray value, as across a thin sheet
	dipNoises = 2.0   // times the noise that the lowest of the samples of a contact lies too low
	dipFit    = 0.3   // of the reach: the lowest point of the last fit lies this near to its middle
	dipFacets = 0.003 // standard uncertainty of a robust minimum, of facets on both sides
)

// dipAround is how far, mm, from the robust minimum a value may count for the
// smallest one: the fit moves that far, and reaches beyond.
const dipAround = dipReach * (1 + dipRounds*dipFit)

// field is a distance known at points of a surface.
type field struct {
	to    *Surface   // from which; nil where it is none
	p, n  []geom.Vec // points and unit normals
	value []float64  // NaN where unknown
	area  []float64  // mm^2 that each stands for
	noise float64    // mm, of the values

	closer func(at geom.Vec) (float64, geom.Vec) // looks between the points around one of them; nil for none
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
// uncertainty of the fit comes with it. Where the values are no smooth dip, as
// where an edge touches, the lowest sample stands, less what the noise makes
// the lowest of many too low, and the robust minimum at most.
func (f *field) dip() (value float64, at geom.Vec, std float64, ok bool) {
	m, ok := robustMin(f.samples())
	if !ok {
		return 0, geom.Vec{}, 0, false
	}
	low := m
	for _, x := range f.samples() {
		if x.value < low.value && x.value > m.value-dipStray && f.p[x.i].DistSq(f.p[m.i]) < dipReach*dipReach {
			low = x
		}
	}
	for reach := dipReach; reach >= dipLeast; reach *= dipShrink {
		if v, p, s, ok := f.bottom(m.i, reach); ok && v > low.value-dipRough {
			return v, p, math.Hypot(s, dipFacets), true
		}
	}
	at = f.p[low.i]
	if f.closer != nil {
		if v, p := f.closer(at); v < low.value && v > m.value-dipStray {
			low.value, at = v, p
		}
	}
	std = math.Hypot(f.noise, math.Max(dipFacets, (m.value-low.value)/2))
	if quiet := low.value + dipNoises*f.noise; quiet < m.value {
		return quiet, at, std, true
	}
	return m.value, f.p[m.i], std, true
}

// bottom fits quadrics around point i, each moved to the lowest point of the
// one before, until that lies in its middle.
func (f *field) bottom(i int, reach float64) (value float64, at geom.Vec, std float64, ok bool) {
	c, n := f.p[i], f.n[i]
	for range dipRounds {
		fit, ok := f.quadricAt(c, n, reach)
		if !ok || !(fit.RMS < dipRough+dipNoise*f.noise) {
			break
		}
		step, drop, ok := lowestOf(&fit)
		if !ok {
			break
		}
		u := n.Normal()
		to := c.Add(u.Mul(step.X)).Add(n.Cross(u).Mul(step.Y))
		if l := to.Dist(c); l > reach*dipFit {
			c = c.Lerp(to, reach*dipFit/l)
			continue
		}
		return fit.Height - drop, to, 2 * fit.RMS / math.Sqrt(float64(fit.N)), true
	}
	return 0, geom.Vec{}, 0, false
}

// quadricAt fits the values around c over the plane square to n.
func (f *field) quadricAt(c, n geom.Vec, reach float64) (curvature.Fit, bool) {
	u := n.Normal()
	v := n.Cross(u)
	var pts []geom.Vec
	for i, x := range f.value {
		if math.IsNaN(x) || f.p[i].DistSq(c) > reach*reach {
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
