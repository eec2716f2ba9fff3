package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The nearest point y of a convex set to x is known by its law: it lies in the
// set, and (x - y) . (q - y) <= 0 for every q of the set.
func TestNearestWithin(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 1))
	for trial := range 300 {
		dim := 2 + trial%5
		var x vec6
		for i := range dim {
			x[i] = 2 * rng.NormFloat64()
		}
		var b []bound
		for range 3 + rng.IntN(20) {
			var a vec6
			for i := range dim {
				a[i] = rng.NormFloat64()
			}
			l := math.Sqrt(a.dot(a))
			for i := range a {
				a[i] /= l
			}
			b = append(b, bound{a, -rng.Float64()}) // holds at 0
		}
		y, ok := nearestWithin(x, b)
		if !ok {
			t.Fatalf("trial %d: no point", trial)
		}
		worst := 0.0
		for _, c := range b {
			worst = math.Max(worst, c.b-c.a.dot(y))
		}
		if worst > 1e-8 {
			t.Fatalf("trial %d: misses a bound by %g", trial, worst)
		}
		for range 200 {
			var q vec6
			for i := range dim {
				q[i] = rng.NormFloat64()
			}
			far := 1.0
			for _, c := range b { // from 0, which lies within, toward q as far as it goes
				if d := c.a.dot(q); d < 0 {
					far = math.Min(far, c.b/d)
				}
			}
			d := vec6{}.plus(far, q).plus(-1, y)
			if s := x.plus(-1, y).dot(d); s > 1e-7 {
				t.Fatalf("trial %d: a point within is nearer: %g", trial, s)
			}
		}
	}
	if _, ok := nearestWithin(vec6{}, []bound{{vec6{1}, 1}, {vec6{-1}, 1}}); ok {
		t.Error("x >= 1 and x <= -1 have a point in common")
	}
}
