package bvh

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"

	"pgregory.net/rapid"
)

// aims are rays about m: free ones, along axes, at vertices and edges, in the
// planes of facets, starting on the surface.
func aims(m *mesh.Mesh, n int, r *rand.Rand) []Ray {
	box := m.Box()
	axes := []geom.Vec{{X: 1}, {Y: -1}, {Z: 1}, {X: -1, Y: 1}}
	var rays []Ray
	for range n {
		a, b, c := m.Corner(int32(r.IntN(len(m.F))))
		o := box.Center().Add(randVec(r, box.Diagonal()+1e-3))
		rays = append(rays,
			Ray{o, randVec(r, 1)}, Ray{o, a.Sub(o)}, Ray{o, a.Lerp(b, 0.25).Sub(o)},
			Ray{o, a.Lerp(b, 0.4).Lerp(c, 0.3).Sub(o).Mul(1e-3)},
			Ray{a, b.Sub(a).Add(geom.V(0, 0, 1e-9))}, Ray{b, randVec(r, 1)},
			Ray{geom.V(a.X, a.Y, o.Z), axes[r.IntN(len(axes))]})
	}
	return rays
}

func TestRayIsTheScan(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 1))
	for name, m := range specimens(r) {
		tree := New(m)
		for _, ray := range aims(m, 150, r) {
			if ray.Dir == (geom.Vec{}) {
				continue
			}
			for _, last := range []float64{math.Inf(1), 1} {
				got, ok := tree.Ray(ray.Origin, ray.Dir, last)
				want, found := scanRay(m, ray.Origin, ray.Dir, last)
				if got != want || ok != found {
					t.Fatalf("%s: Ray(%v, %g) = %v, %v, want %v, %v (seed 4, 1)", name, ray, last, got, ok, want, found)
				}
			}
		}
	}
}

func TestRayRefuses(t *testing.T) {
	tree := New(slab3(geom.V(1, 1, 1)))
	z := geom.V(0, 0, 1)
	for _, c := range []struct {
		name string
		tree *Tree
		o, d geom.Vec
		last float64
	}{
		{"empty mesh", New(&mesh.Mesh{}), geom.Vec{}, z, 9},
		{"no direction", tree, geom.Vec{}, geom.Vec{}, 9},
		{"NaN", tree, geom.V(math.NaN(), 0, 0), z, 9},
		{"Inf", tree, geom.Vec{}, geom.V(math.Inf(1), 0, 0), 9},
		{"away", tree, geom.V(0, 0, 2), z, 9},
		{"too short", tree, geom.V(0, 0, -3), z, 1.999},
		{"negative", tree, geom.V(0, 0, -3), z, -1},
	} {
		if h, ok := c.tree.Ray(c.o, c.d, c.last); ok || h != missedRay() {
			t.Errorf("%s: Ray = %v, %v, want a miss", c.name, h, ok)
		}
	}
}

// Rays from outside meet a ball where the quadratic equation says, a slab
// where its planes are.
func TestRayAgainstExactShapes(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 2))
	ball, slab := New(sphere(4, 150)), New(refined(slab3(geom.V(3, 2, 1))))
	for range 5000 {
		o := randVec(r, 1).Unit().Mul(9)
		at := randVec(r, 1).Unit().Mul(3 * r.Float64())
		d := at.Sub(o).Unit()
		b := o.Dot(d)
		want := -b - math.Sqrt(b*b-81+16)
		h, ok := ball.Ray(o, d, math.Inf(1))
		// The inscribed mesh lies 4 (1 - cos(pi/300)) 2 = 0.44 um inside; the
		// rays meet it at 48 degrees or more.
		if !ok || !within(h.T, want, 0.0007) {
			t.Fatalf("ball: T = %g, %v, want %g (seed 4, 2)", h.T, ok, want)
		}
		at = geom.V(2.9*(2*r.Float64()-1), 1.9*(2*r.Float64()-1), 1)
		o = at.Add(geom.V(r.NormFloat64(), r.NormFloat64(), 2))
		if h, ok := slab.Ray(o, at.Sub(o), math.Inf(1)); !ok || !within(h.T, 1, 1e-12) {
			t.Fatalf("slab: T = %g, %v, want 1 (seed 4, 2)", h.T, ok)
		}
	}
}

// From inside a closed mesh every ray hits, in particular at vertices and edges.
func TestRaysDoNotLeakOut(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 3))
	m := lumpy(30).Move(randRigid(r))
	tree := New(m)
	center := m.Box().Center()
	leaks := 0
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		o := center.Add(randVec(r, 0.3))
		for _, to := range []geom.Vec{a, a.Lerp(b, 0.5), b.Lerp(c, r.Float64())} {
			if _, ok := tree.Ray(o, to.Sub(o), math.Inf(1)); !ok {
				leaks++
			}
		}
	}
	if leaks > 0 {
		t.Errorf("%d of %d rays leaked through edges (seed 4, 3)", leaks, 3*len(m.F))
	}
}

func TestRayLaws(t *testing.T) {
	m := lumpy(16)
	tree := New(m)
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 5))
		o, at := randVec(r, 1).Unit().Mul(20), randVec(r, 1)
		d := at.Sub(o)
		h, ok := tree.Ray(o, d, math.Inf(1))
		g := randRigid(r)
		k, _ := New(m.Move(g)).Ray(g.Apply(o), g.Turn(d), math.Inf(1))
		if !ok || !within(h.T, k.T, 1e-9) { // grazing rays magnify the rounding
			t.Fatalf("moved: T = %v, want %v", k, h)
		}
		// Turned about, from beyond the far side, the last hit is the first.
		far, _ := tree.Ray(o.Add(d.Mul(2)), d.Neg(), math.Inf(1))
		if 2-far.T < h.T-1e-9 {
			t.Fatalf("last hit %g before first %g", 2-far.T, h.T)
		}
	})
}

func TestRayBatchIsSingle(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	r := rand.New(rand.NewPCG(4, 4))
	m := lumpy(40)
	tree := New(m)
	rays := append(aims(m, 600, r), Ray{}, Ray{geom.V(math.NaN(), 0, 0), geom.V(1, 0, 0)})
	out := make([]RayHit, len(rays))
	for _, par.Workers = range []int{1, 2, 7} {
		check(t, tree.RayAll(context.Background(), rays, math.Inf(1), out))
		for i, ray := range rays {
			if want, _ := tree.Ray(ray.Origin, ray.Dir, math.Inf(1)); out[i] != want {
				t.Fatalf("%d workers: ray %d: got %v, want %v", par.Workers, i, out[i], want)
			}
		}
	}
}
