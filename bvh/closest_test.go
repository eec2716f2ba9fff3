package bvh

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"

	"pgregory.net/rapid"
)

// specimens are the meshes that fast queries are held against their twins on.
func specimens(r *rand.Rand) map[string]*mesh.Mesh {
	far := lumpy(20).Move(geom.Rigid{R: geom.Identity(), T: geom.V(1e5, -2e5, 3e5)})
	tangle, _ := shuffled(lumpy(24), r)
	return map[string]*mesh.Mesh{
		"lumpy":      lumpy(30),
		"renumbered": tangle,
		"far off":    far,
		"sheet":      sheet(20),
		"torus":      torus(5, 2, 16),
		"slab":       slab3(geom.V(3, 2, 1)),
		"flat slab":  slab3(geom.V(3, 2, 0)),
		"soup":       soup(700, r),
		"one":        {V: []geom.Vec{{}, {X: 1}, {Y: 1}}, F: [][3]int32{{0, 1, 2}}},
		"two equal":  {V: []geom.Vec{{}, {X: 1}, {Y: 1}}, F: [][3]int32{{0, 1, 2}, {1, 2, 0}}},
		"collapsed":  {V: []geom.Vec{{}, {X: 1}, {Y: 1}}, F: [][3]int32{{0, 0, 2}, {0, 1, 2}, {1, 1, 1}}},
		"point":      {V: []geom.Vec{{X: 1}, {X: 1}, {X: 1}}, F: [][3]int32{{0, 1, 2}}},
		"fan of one": fan(200),
	}
}

// fan is needles around one vertex, whose boxes all overlap.
func fan(n int) *mesh.Mesh {
	m := &mesh.Mesh{V: []geom.Vec{{}}}
	for i := range n {
		s, c := math.Sincos(float64(i) * 1e-4)
		m.V = append(m.V, geom.V(10*c, 10*s, 0.1*s*s))
		if i > 0 {
			m.F = append(m.F, [3]int32{0, int32(i), int32(i + 1)})
		}
	}
	return m
}

// probes are queries about m: around it, on its vertices, edges and facets, a
// hair off them, and far away.
func probes(m *mesh.Mesh, n int, r *rand.Rand) []geom.Vec {
	box := m.Box()
	var ps []geom.Vec
	for range n {
		f := int32(r.IntN(len(m.F)))
		a, b, c := m.Corner(f)
		on := a.Lerp(b, r.Float64()).Lerp(c, r.Float64())
		ps = append(ps,
			box.Center().Add(randVec(r, 0.5*box.Diagonal()+1e-3)),
			a, a.Lerp(b, 0.5), on, on.Add(randVec(r, 0.3)), on.Add(randVec(r, 1e-7)),
			b.Add(geom.TriangleNormal(a, b, c).Unit().Mul(r.NormFloat64())),
			on.Add(randVec(r, math.Pow(10, 12*r.Float64()))))
	}
	return ps
}

func TestClosestIsTheScan(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 1))
	for name, m := range specimens(r) {
		tree := New(m)
		for _, p := range probes(m, 120, r) {
			for _, reach := range []float64{math.Inf(1), 0.2, 0} {
				got, ok := tree.Closest(p, reach)
				want, found := scanClosest(m, p, reach)
				if got != want || ok != found {
					t.Fatalf("%s: Closest(%v, %g) = %v, %v, want %v, %v (seed 1, 1)", name, p, reach, got, ok, want, found)
				}
				f := int32(r.IntN(len(m.F)))
				if got, ok = tree.ClosestFrom(f, p, reach); got != want || ok != found {
					t.Fatalf("%s: ClosestFrom(%d, %v, %g) = %v, %v, want %v, %v (seed 1, 1)", name, f, p, reach, got, ok, want, found)
				}
			}
		}
	}
}

// A large tree built in tasks, where thousands of answers are near-ties.
func TestClosestIsTheScanOnALargeMesh(t *testing.T) {
	if testing.Short() {
		t.Skip("slow twin on 80,000 facets")
	}
	r := rand.New(rand.NewPCG(1, 2))
	m := lumpy(142)
	tree := New(m)
	for _, p := range probes(m, 60, r) {
		got, _ := tree.Closest(p, math.Inf(1))
		if want, _ := scanClosest(m, p, math.Inf(1)); got != want {
			t.Fatalf("Closest(%v) = %v, want %v (seed 1, 2)", p, got, want)
		}
	}
}

func TestClosestRefuses(t *testing.T) {
	tree, empty := New(slab3(geom.V(1, 1, 1))), New(&mesh.Mesh{})
	nan := math.NaN()
	for _, c := range []struct {
		name  string
		tree  *Tree
		p     geom.Vec
		reach float64
	}{
		{"empty mesh", empty, geom.Vec{}, math.Inf(1)},
		{"vertices only", New(&mesh.Mesh{V: []geom.Vec{{}}}), geom.Vec{}, math.Inf(1)},
		{"NaN", tree, geom.V(nan, 0, 0), math.Inf(1)},
		{"Inf", tree, geom.V(0, math.Inf(-1), 0), math.Inf(1)},
		{"NaN reach", tree, geom.Vec{}, nan},
		{"negative reach", tree, geom.Vec{}, -1},
		{"out of reach", tree, geom.V(3, 0, 0), 1.999},
	} {
		if h, ok := c.tree.Closest(c.p, c.reach); ok || h != missedHit() {
			t.Errorf("%s: Closest = %v, %v, want a miss", c.name, h, ok)
		}
	}
	if h, ok := tree.Closest(geom.V(3, 0, 0), 2); !ok || h.DistSq != 4 {
		t.Errorf("Closest at exactly the reach = %v, %v, want DistSq 4", h, ok)
	}
}

// Distances to a ball, a torus, a cone and a slab are known; a mesh inscribed
// in a curved one lies at most the sagitta r (1 - cos(half the step)) inside.
func TestClosestDistanceOfExactShapes(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 3))
	const n = 100
	sag := func(radius float64) float64 { return 2 * radius * (1 - math.Cos(math.Pi/(2*n))) }
	coneEdge := geom.V(3, 0, 0)
	for _, c := range []struct {
		name  string
		m     *mesh.Mesh
		tol   float64
		exact func(geom.Vec) float64
	}{
		{"sphere", sphere(4, n), sag(4), func(p geom.Vec) float64 { return math.Abs(p.Norm() - 4) }},
		{"torus", torus(5, 2, n), sag(7) + sag(2), func(p geom.Vec) float64 {
			return math.Abs(math.Hypot(math.Hypot(p.X, p.Y)-5, p.Z) - 2)
		}},
		{"slab", slab3(geom.V(3, 2, 1)), 1e-12, func(p geom.Vec) float64 {
			return math.Abs(slabDistance(p, geom.V(3, 2, 1)))
		}},
		{"cone", cone(3, 4, n), sag(3), func(p geom.Vec) float64 {
			q := geom.V(math.Hypot(p.X, p.Y), 0, p.Z)
			_, _, d := alongEdge(&q, &coneEdge, &geom.Vec{Z: 4}, 0)
			_, _, e := alongEdge(&q, &coneEdge, &geom.Vec{}, 0)
			return math.Sqrt(min(d, e))
		}},
	} {
		g := randRigid(r)
		tree := New(c.m.Move(g))
		for range 2000 {
			p := randVec(r, 4)
			h, _ := tree.Closest(g.Apply(p), math.Inf(1))
			if got, want := math.Sqrt(h.DistSq), c.exact(p); !within(got, want, c.tol) {
				t.Fatalf("%s: distance from %v = %g, want %g within %g (seed 1, 3)", c.name, p, got, want, c.tol)
			}
		}
	}
}

// cone stands on z = 0 with radius r and height h.
func cone(r, h float64, n int) *mesh.Mesh {
	return tube(n, func(s, t float64) geom.Vec {
		p := ballPoint(1, 0.5, t)
		if s <= 0.5 {
			return geom.V(p.X*2*s*r, p.Y*2*s*r, h*(1-2*s))
		}
		return geom.V(p.X*(2-2*s)*r, p.Y*(2-2*s)*r, 0)
	})
}

// slabDistance is the signed distance to the box from -h to h (folklore).
func slabDistance(p, h geom.Vec) float64 {
	q := geom.V(math.Abs(p.X)-h.X, math.Abs(p.Y)-h.Y, math.Abs(p.Z)-h.Z)
	out := geom.V(max(q.X, 0), max(q.Y, 0), max(q.Z, 0)).Norm()
	return out + min(max(q.X, q.Y, q.Z), 0)
}

// Moving everything moves the answer; renumbering renames it.
func TestClosestLaws(t *testing.T) {
	m := lumpy(16)
	tree := New(m)
	rapid.Check(t, func(t *rapid.T) {
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 4))
		g := randRigid(r)
		moved := New(m.Move(g))
		mixed, _ := shuffled(m, r)
		other := New(mixed)
		for _, p := range probes(m, 4, r) {
			if p.Norm() > 1e4 {
				continue // distances are then too coarse to compare
			}
			h, _ := tree.Closest(p, math.Inf(1))
			k, _ := moved.Closest(g.Apply(p), math.Inf(1))
			// 1e-10 mm: 1e-13 of the largest coordinate here, with room.
			if !within(math.Sqrt(h.DistSq), math.Sqrt(k.DistSq), 1e-10*(1+p.Norm()/100)) {
				t.Fatalf("moved: distance of %v = %g, want %g", p, math.Sqrt(k.DistSq), math.Sqrt(h.DistSq))
			}
			o, _ := other.Closest(p, math.Inf(1))
			if !within(math.Sqrt(h.DistSq), math.Sqrt(o.DistSq), 1e-10*(1+p.Norm()/100)) {
				t.Fatalf("renumbered: distance of %v = %g, want %g", p, math.Sqrt(o.DistSq), math.Sqrt(h.DistSq))
			}
		}
	})
}

// Batches give the digits of single queries for any number of workers and in
// any order.
func TestBatchIsSingle(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	r := rand.New(rand.NewPCG(1, 5))
	m := lumpy(40)
	tree := New(m)
	ps := append(probes(m, 700, r), geom.V(math.NaN(), 0, 0), geom.V(1e300, 0, 0))
	r.Shuffle(len(ps), func(i, j int) { ps[i], ps[j] = ps[j], ps[i] })
	hits, signed := make([]Hit, len(ps)), make([]SignedHit, len(ps))
	for _, par.Workers = range []int{1, 2, 7} {
		for _, reach := range []float64{math.Inf(1), 0.3} {
			check(t, tree.ClosestAll(context.Background(), ps, reach, hits))
			check(t, tree.SignedAll(context.Background(), ps, reach, signed))
			for i, p := range ps {
				want, _ := tree.Closest(p, reach)
				wantSigned, _ := tree.Signed(p, reach)
				if hits[i] != want || signed[i] != wantSigned {
					t.Fatalf("%d workers, reach %g: query %d %v: got %v, %v, want %v, %v", par.Workers, reach, i, p, hits[i], signed[i], want, wantSigned)
				}
			}
		}
	}
}

func check(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// Each query of a batch may have its own reach, a negative one for none.
func TestEachWithItsReach(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 6))
	m := lumpy(40)
	tree := New(m)
	ps := probes(m, 3000, r)
	reach, hits, signed := make([]float64, len(ps)), make([]Hit, len(ps)), make([]SignedHit, len(ps))
	for i := range reach {
		reach[i] = r.Float64() - 0.2
	}
	check(t, tree.ClosestEach(context.Background(), ps, reach, hits))
	check(t, tree.SignedEach(context.Background(), ps, reach, signed))
	for i, p := range ps {
		want, _ := tree.Closest(p, reach[i])
		wantSigned, _ := tree.Signed(p, reach[i])
		if hits[i] != want || signed[i] != wantSigned {
			t.Fatalf("query %d %v within %g: got %v, %v, want %v, %v", i, p, reach[i], hits[i], signed[i], want, wantSigned)
		}
	}
}

func TestBatchStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	tree := New(slab3(geom.V(1, 1, 1)))
	ps := make([]geom.Vec, 5000)
	if err := tree.ClosestAll(ctx, ps, 1, make([]Hit, len(ps))); err != context.Canceled {
		t.Errorf("ClosestAll = %v, want context.Canceled", err)
	}
	if err := tree.SectionAll(ctx, make([]geom.Plane, 9), geom.Vec{}, 1, make([][]Polyline, 9)); err != context.Canceled {
		t.Errorf("SectionAll = %v, want context.Canceled", err)
	}
}

func ExampleTree_Signed() {
	tree := New(slab3(geom.V(3, 2, 1)))
	in, _ := tree.Signed(geom.V(0, 0, 0.75), math.Inf(1))
	out, _ := tree.Signed(geom.V(6, 6, 1), math.Inf(1))
	fmt.Println(in.Dist, out.Dist, out.Point)
	// Output: -0.25 5 {3 2 1}
}
