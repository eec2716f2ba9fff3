package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// TestFoot: the distance of a point from a ball in closed form, where facets of
// 0.4 mm stand for it, from without and from within, where it is hollow. The
// lifted nearest point of the facets is not the foot: 1 to 4 um farther on the
// mean.
func TestFoot(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	const radius = 1.5
	s := NewSurface(shape.Ball(geom.V(0, 0, 0), radius, 0.4))
	for _, from := range []float64{0.4, 0.7, 1.8, 2.6, 3.5} { // from the middle
		var plain, foot, worst float64
		for range 2000 {
			p := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit().Mul(from)
			h, ok := s.Tree.Closest(p, 5)
			if !ok {
				t.Fatal("no nearest point")
			}
			want := math.Abs(from - radius)
			plain += math.Abs(s.lifted(h.Facet, h.Point).Dist(p) - want)
			e := math.Abs(s.foot(p, h).Dist(p) - want)
			foot, worst = foot+e, math.Max(worst, e)
		}
		t.Logf("%.1f mm from the middle: lifted %.5f, foot %.5f mean, %.5f most", from, plain/2000, foot/2000, worst)
		if worst > 0.0015 || foot/2000 > 0.0004 {
			t.Errorf("%.1f mm from the middle of a ball of %.1f: off by %.4f mean, %.4f most", from, radius, foot/2000, worst)
		}
		if foot > plain/5 {
			t.Errorf("%.1f mm from the middle the foot (%.5f) is not nearer than the lifted point (%.5f)", from, foot/2000, plain/2000)
		}
	}
}
