package bvh

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
)

// Distances in steps are never more than the true ones to the boxes, and at
// most six steps an axis less.
func TestStepsBound(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 1))
	for name, m := range specimens(r) {
		tree := New(m)
		if tree.root < 0 {
			continue
		}
		near := tree.flat()
		size := tree.box.Diagonal()
		for i := range tree.nodes {
			n := &tree.nodes[i]
			p := tree.box.Center().Add(randVec(r, math.Pow(2, 4*r.Float64())*size))
			at := near.grid.cell(p)
			var got [2]int64
			got[0], got[1] = near.nodes[i].distSq(at[0], at[1], at[2])
			for k := range got {
				want := math.Sqrt(n.box[k].distSq(p.X, p.Y, p.Z)) * near.grid.scale
				if d := math.Sqrt(float64(got[k])); d > want || d < want-6*math.Sqrt(3) {
					t.Fatalf("%s: node %d, box %d from %v: %.2f steps, want %.2f or a little less (seed 9, 1)", name, i, k, p, d, want)
				}
				if want := near.grid.squared(want / near.grid.scale); got[k] > want {
					t.Fatalf("%s: node %d, box %d from %v: farther than its own distance (seed 9, 1)", name, i, k, p)
				}
			}
		}
	}
}

// What lies too far out to be told in steps holds nothing back.
func TestStepsFarOut(t *testing.T) {
	g := newSteps(&[2]box32{{{0, 0, 0}, {1, 1, 1}}, {{1, 0, 0}, {2, 1, 1}}})
	for _, x := range []float64{1e300, -1e300} {
		if c := g.cell(geom.V(x, 0, 0)); max(c[0], -c[0]) != stepsMost {
			t.Errorf("cell at %g is %d, want %d away", x, c[0], stepsMost)
		}
	}
	for _, d := range []float64{math.Inf(1), 1e300} {
		if g.squared(d) != math.MaxInt64 {
			t.Errorf("squared(%g) = %d, want no limit", d, g.squared(d))
		}
	}
}
