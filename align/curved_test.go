package align

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/shape"
)

// On a ball of radius r the rise over a facet is r less the distance of the
// place from the center, seen along the facet's normal: the sagitta to second
// order in the edge e. The next order is e^4/r^3 times about 1/50; the normals
// of an uneven grid are off by e^2/r^2, which over an edge makes e^3/r^2 / 8; e is the
// longest edge.
func TestCurvedRisesToTheBall(t *testing.T) {
	const r = 4.0
	c := geom.V(1, -2, 3)
	m := shape.Ball(c, r, 0.3)
	tree, e, middle := bvh.New(m), 0.0, geom.Vec{}
	for f := range m.F {
		if a, b, _ := m.Corner(int32(f)); a.Dist(b) > e {
			e, middle = a.Dist(b), a.Lerp(b, 0.5)
		}
	}
	h, _ := tree.Closest(middle, 1)
	if rise, _ := curved(tree, h); math.Abs(rise-e*e/r/8) > e*e*e/r/r/8 {
		t.Errorf("rises by %g over the middle of an edge of %g, want %g", rise, e, e*e/r/8)
	}
	rng := rand.New(rand.NewPCG(9, 1))
	worst := 0.0
	for range 2000 {
		d := randomVec(rng).Unit()
		h, _ := tree.Closest(c.Add(d.Mul(r+0.01)), 1)
		rise, n := curved(tree, h)
		worst = max(worst, math.Abs(h.Point.Dist(c)+rise-r))
		if out := n.Dist(h.Point.Sub(c).Unit()); out > e*e/r/r*2 {
			t.Fatalf("normal is %g off", out)
		}
	}
	if worst > e*e*e/r/r/8 {
		t.Errorf("misses the ball by %g, want within %g", worst, e*e*e/r/r/8)
	}
}

// A crease is no curved surface: next to it nothing rises.
func TestCurvedLeavesCreasesFlat(t *testing.T) {
	p := shape.Path{{R: 0, Z: 0}, {R: 3, Z: 0}, {R: 3, Z: -3}}
	tree := bvh.New(shape.Lathe(shape.Round(p), 0.3, 1))
	for a := range 72 {
		s, c := math.Sincos(float64(a) * 5 * math.Pi / 180)
		h, _ := tree.Closest(geom.V(2.95*c, 2.95*s, 0.01), 1)
		if rise, _ := curved(tree, h); rise > 1e-6 {
			t.Errorf("azimuth %d: rises by %g beside the crease", 5*a, rise)
		}
	}
}
