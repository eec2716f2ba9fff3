package bvh

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// The sign must be that of the winding number, which knows no nearest feature.
func TestSignIsThatOfTheWindingNumber(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	spike := tube(6, func(s, u float64) geom.Vec { // sharp ridges between deep valleys
		p := ballPoint(1, s, u)
		return p.Mul(2 + 1.5*math.Cos(2*math.Pi*6*u)*math.Sin(math.Pi*s))
	})
	for name, m := range map[string]*mesh.Mesh{
		"lumpy": lumpy(16), "torus": torus(5, 2, 8), "slab": slab3(geom.V(3, 2, 0.01)), "spike": spike, "cone": cone(0.05, 4, 4),
	} {
		g := randRigid(r)
		mixed, _ := shuffled(m.Move(g), r)
		tree := New(mixed)
		wrong := 0
		ps := probes(mixed, 400, r)
		for _, p := range ps {
			s, _ := tree.Signed(p, math.Inf(1))
			if s.BeyondBorder {
				t.Fatalf("%s: a closed mesh has no border", name)
			}
			// On the surface, to rounding, neither side is wrong.
			if math.Abs(s.Dist) > 1e-9 && (s.Dist < 0) != (winding(mixed, p) > 0.5) {
				wrong++
			}
		}
		if wrong > 0 {
			t.Errorf("%s: %d of %d signs differ from the winding number (seed 3, 1)", name, wrong, len(ps))
		}
	}
}

// Around a slab all three kinds of nearest feature occur, with known signed
// distances.
func TestSignedDistanceOfSlab(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 2))
	h := geom.V(3, 2, 1)
	tree := New(refined(refined(slab3(h))))
	for range 5000 {
		p := geom.V(4*(2*r.Float64()-1), 3*(2*r.Float64()-1), 2*(2*r.Float64()-1))
		s, _ := tree.Signed(p, math.Inf(1))
		if want := slabDistance(p, h); !within(s.Dist, want, 1e-12) {
			t.Fatalf("Signed(%v) = %g, want %g (seed 3, 2)", p, s.Dist, want)
		}
	}
}

// At a corner of a slab the three faces count the same, whichever of them is
// cut into two triangles there; along an edge its two faces do.
func TestFeatureNormals(t *testing.T) {
	tree := New(slab3(geom.V(1, 1, 1)))
	for _, c := range []struct{ p, want geom.Vec }{
		{geom.V(2, 2, 2), geom.V(1, 1, 1).Unit()},
		{geom.V(-2, 2, -2), geom.V(-1, 1, -1).Unit()},
		{geom.V(2, 0.3, 2), geom.V(1, 0, 1).Unit()},
		{geom.V(0.3, 0.2, -2), geom.V(0, 0, -1)},
		{geom.V(0, 0, 2), geom.V(0, 0, 1)}, // over the diagonal of a face
	} {
		h, _ := tree.Closest(c.p, math.Inf(1))
		if got := tree.FeatureNormal(h); got.Dist(c.want) > 1e-15 {
			t.Errorf("FeatureNormal at %v = %v, want %v", h.Point, got, c.want)
		}
	}
}

func TestBeyondTheBorder(t *testing.T) {
	g := randRigid(rand.New(rand.NewPCG(3, 3)))
	tree := New(sheet(4).Move(g))
	for _, c := range []struct {
		p      geom.Vec
		dist   float64
		beyond bool
	}{
		{geom.V(2, 2, 1), 1, false},
		{geom.V(2.3, 1.1, -1), -1, false},
		{geom.V(4, 2.5, 1), 1, false}, // straight above the border
		{geom.V(4, 4, -1), -1, false}, // straight below a corner
		{geom.V(5, 2.5, 1), math.Sqrt2, true},
		{geom.V(5, 5, 1), math.Sqrt(3), true},
		{geom.V(-3, -4, 0.01), math.Hypot(5, 0.01), true},
		{geom.V(-3, 2, -4), -5, true},
	} {
		s, _ := tree.Signed(g.Apply(c.p), math.Inf(1))
		if !within(s.Dist, c.dist, 1e-12) || s.BeyondBorder != c.beyond {
			t.Errorf("Signed(%v) = %g, beyond %v, want %g, %v", c.p, s.Dist, s.BeyondBorder, c.dist, c.beyond)
		}
	}
}

// A needle on an edge whose normal, being rounding, points the wrong way must
// not turn the sign of its neighbours.
func TestThinFacetsHaveNoSay(t *testing.T) {
	for _, bump := range []float64{0, 1e-12, -1e-12} {
		m := &mesh.Mesh{
			V: []geom.Vec{{}, {X: 2}, {X: 1, Y: 2}, {X: 1, Y: -2}, {X: 1, Y: bump}},
			F: [][3]int32{{0, 4, 1}, {0, 1, 2}, {0, 3, 4}, {4, 3, 1}},
		}
		tree := New(m)
		for _, x := range []float64{0.1, 0.999, 1, 1.001, 1.9} {
			for _, z := range []float64{1, -1} {
				if s, _ := tree.Signed(geom.V(x, 0, z), math.Inf(1)); !within(s.Dist, z, 1e-11) {
					t.Errorf("bump %g: Signed(%g, 0, %g) = %g, want %g", bump, x, z, s.Dist, z)
				}
			}
		}
	}
}
