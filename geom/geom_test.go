package geom

import (
	"math"
	"math/rand/v2"
	"testing"
)

func random(r *rand.Rand, s float64) Vec {
	return V(s*(2*r.Float64()-1), s*(2*r.Float64()-1), s*(2*r.Float64()-1))
}

// The closest point is no farther than any of a dense sample of the triangle
// and lies on it.
func TestClosestOnTriangle(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	const n = 40
	for range 500 {
		a, b, c, p := random(r, 1), random(r, 1), random(r, 1), random(r, 2)
		q, f := ClosestOnTriangle(p, a, b, c)
		least := math.Inf(1)
		for i := range n + 1 {
			for j := range n + 1 - i {
				u, v := float64(i)/n, float64(j)/n
				least = math.Min(least, p.Dist(a.Add(b.Sub(a).Mul(u)).Add(c.Sub(a).Mul(v))))
			}
		}
		if d := p.Dist(q); d > least+1e-12 || least-d > 0.06 {
			t.Fatalf("closest(%v; %v %v %v) at %.6f, dense sample %.6f", p, a, b, c, d, least)
		}
		if off := math.Abs(TriangleNormal(a, b, c).Unit().Dot(q.Sub(a))); off > 1e-9 {
			t.Fatalf("the closest point lies %.2g off the plane", off)
		}
		if f > FeatureFace {
			t.Fatalf("feature %d", f)
		}
	}
}

func TestClosestFeatures(t *testing.T) {
	a, b, c := V(0, 0, 0), V(1, 0, 0), V(0, 1, 0)
	for _, x := range []struct {
		p, q Vec
		f    Feature
	}{
		{V(-1, -1, 2), a, FeatureVertex}, {V(2, 0, 0), b, FeatureVertex + 1}, {V(0, 3, -1), c, FeatureVertex + 2},
		{V(0.5, -1, 0), V(0.5, 0, 0), FeatureEdge}, {V(1, 1, 0), V(0.5, 0.5, 0), FeatureEdge + 1}, {V(-1, 0.25, 0), V(0, 0.25, 0), FeatureEdge + 2},
		{V(0.25, 0.25, 7), V(0.25, 0.25, 0), FeatureFace},
	} {
		if q, f := ClosestOnTriangle(x.p, a, b, c); q.Dist(x.q) > 1e-12 || f != x.f {
			t.Errorf("closest(%v) = %v on %d, want %v on %d", x.p, q, f, x.q, x.f)
		}
	}
	if q, _ := ClosestOnTriangle(V(3, 1, 0), a, a, a); q != a {
		t.Errorf("a triangle without size: %v, want its point", q)
	}
}

// A motion and its inverse undo each other and keep distances.
func TestRigid(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 2))
	for range 100 {
		g := Rigid{RotationAbout(random(r, 1).Unit(), 6*r.Float64()), random(r, 50)}
		p, q := random(r, 20), random(r, 20)
		if d := g.Inverse().Apply(g.Apply(p)).Dist(p); d > 1e-12*100 {
			t.Fatalf("inverse off by %.2g", d)
		}
		if d := math.Abs(g.Apply(p).Dist(g.Apply(q)) - p.Dist(q)); d > 1e-12*100 {
			t.Fatalf("distance changed by %.2g", d)
		}
	}
}

// The empty box holds nothing and a flat one is not empty.
func TestBox(t *testing.T) {
	e := EmptyBox()
	if !e.Empty() || e.Diagonal() != 0 {
		t.Errorf("empty box: %+v", e)
	}
	flat := e.Include(V(1, 2, 3)).Include(V(4, 2, 3))
	if flat.Empty() || flat.Diagonal() != 3 {
		t.Errorf("flat box: %+v", flat)
	}
	if d := flat.DistSq(V(2, 5, 7)); d != 25 {
		t.Errorf("distance^2 to the box = %v, want 25", d)
	}
}
