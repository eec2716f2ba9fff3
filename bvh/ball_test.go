package bvh

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

func TestBallIsTheScan(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	for name, m := range specimens(r) {
		tree := New(m)
		var scratch []int32
		for _, c := range probes(m, 30, r) {
			radius := math.Pow(10, 2*r.Float64()-1.5)
			var got []int32
			tree.Ball(c, radius, func(f int32) { got = append(got, f) })
			slices.Sort(got)
			if want := scanBall(m, c, radius); !slices.Equal(got, want) {
				t.Fatalf("%s: Ball(%v, %g) = %v, want %v (seed 6, 1)", name, c, radius, got, want)
			}
			scratch = tree.BallVertices(c, radius, scratch)
			if want := scanBallVertices(m, c, radius); !slices.Equal(scratch, want) {
				t.Fatalf("%s: BallVertices(%v, %g) = %v, want %v (seed 6, 1)", name, c, radius, scratch, want)
			}
		}
	}
}

func scanBall(m *mesh.Mesh, c geom.Vec, r float64) []int32 {
	var out []int32
	for f := range m.F {
		one := &mesh.Mesh{V: m.V, F: m.F[f : f+1]}
		if _, ok := scanClosest(one, c, r); ok {
			out = append(out, int32(f))
		}
	}
	return out
}

func scanBallVertices(m *mesh.Mesh, c geom.Vec, r float64) []int32 {
	in := map[int32]bool{}
	for _, t := range m.F {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		for _, v := range t {
			in[v] = c.DistSq(m.V[v]) <= r*r
		}
	}
	var out []int32
	for v := range m.V {
		if in[int32(v)] {
			out = append(out, int32(v))
		}
	}
	return out
}

// Queries do not allocate; a batch allocates the same for many queries as for
// few.
func TestQueriesDoNotAllocate(t *testing.T) {
	tree := New(lumpy(30))
	tree.flat()
	tree.pseudo()
	p, d := geom.V(1, 2, 7), geom.V(0, 0.1, -1)
	scratch := make([]int32, 0, 4000)
	for name, f := range map[string]func(){
		"Closest":      func() { tree.Closest(p, math.Inf(1)) },
		"Signed":       func() { tree.Signed(p, math.Inf(1)) },
		"Ray":          func() { tree.Ray(p, d, math.Inf(1)) },
		"Ball":         func() { tree.Ball(p, 3, func(int32) {}) },
		"BallVertices": func() { scratch = tree.BallVertices(p, 3, scratch) },
	} {
		if n := testing.AllocsPerRun(20, f); n != 0 {
			t.Errorf("%s allocates %g times", name, n)
		}
	}
	perBatch := func(n int) float64 {
		ps, out := make([]geom.Vec, n), make([]Hit, n)
		return testing.AllocsPerRun(5, func() { tree.ClosestAll(context.Background(), ps, math.Inf(1), out) })
	}
	if few, many := perBatch(3000), perBatch(30000); many > few+4 {
		t.Errorf("a batch of 30,000 allocates %g times, of 3,000 %g times", many, few)
	}
}
