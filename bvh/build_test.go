package bvh

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
)

// Every facet with three corners lies in exactly one leaf, inside all boxes
// above it.
func TestBoxesHoldTheirFacets(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 1))
	for name, m := range specimens(r) {
		tree := New(m)
		seen := make([]int, len(m.F))
		var visit func(ref int32, boxes []box32)
		visit = func(ref int32, boxes []box32) {
			if len(boxes) > maxDepth {
				t.Fatalf("%s: depth over %d", name, maxDepth)
			}
			if ref >= 0 {
				n := tree.nodes[ref]
				visit(n.ref[0], append(slices.Clone(boxes), n.box[0]))
				visit(n.ref[1], append(slices.Clone(boxes), n.box[1]))
				return
			}
			first, end := tree.leaf(ref)
			if end-first < 1 || end-first > leafMax {
				t.Fatalf("%s: leaf of %d", name, end-first)
			}
			for i := first; i < end; i++ {
				seen[tree.order[i]]++
				for _, v := range m.F[tree.order[i]] {
					for _, b := range boxes {
						if b.distSq(m.V[v].X, m.V[v].Y, m.V[v].Z) != 0 {
							t.Fatalf("%s: vertex %d outside its box", name, v)
						}
					}
				}
			}
		}
		visit(tree.root, nil)
		for f, n := range seen {
			c := m.F[f]
			want := 1
			if c[0] == c[1] || c[1] == c[2] || c[2] == c[0] {
				want = 0
			}
			if n != want {
				t.Fatalf("%s: facet %d in %d leaves, want %d", name, f, n, want)
			}
		}
	}
}

func TestTreeIsTheSameForAnyWorkers(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	m := lumpy(80)
	par.Workers = 1
	want := New(m)
	want.flat()
	for _, par.Workers = range []int{2, 3, 16} {
		got := New(m)
		got.flat()
		if !reflect.DeepEqual(got.nodes, want.nodes) || !slices.Equal(got.order, want.order) ||
			!slices.Equal(got.start, want.start) || !reflect.DeepEqual(got.near, want.near) {
			t.Errorf("%d workers: another tree", par.Workers)
		}
	}
}

// Facets whose sizes fall by halves would make a tree as deep as they are
// many, if ranges were not halved by count from some depth on.
func TestDepthIsBounded(t *testing.T) {
	m := soup(0, nil)
	for i := range 120 {
		x := math.Ldexp(1, -i)
		at := int32(len(m.V))
		m.V = append(m.V, geom.V(x, 0, 0), geom.V(x*1.1, 0, 0), geom.V(x, x*0.1, 0))
		m.F = append(m.F, [3]int32{at, at + 1, at + 2})
	}
	tree := New(m)
	for i := range m.F {
		if h, ok := tree.Closest(m.V[3*i], math.Inf(1)); !ok || h.DistSq != 0 {
			t.Fatalf("facet %d: %v", i, h)
		}
	}
}

// The prism's bound may not exceed the true distance by more than its slack.
func TestPrismBoundsFromBelow(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 2))
	for range 20000 {
		size := math.Pow(10, -6*r.Float64())
		a, b, c := randVec(r, size), randVec(r, size), randVec(r, size)
		p := a.Add(randVec(r, size*math.Pow(10, 4*r.Float64()-2)))
		if geom.Thin(a, b, c) {
			continue
		}
		_, _, d := nearest(&p, &a, &b, &c, false)
		pr := newPrism(a, b, c)
		low := math.Sqrt(float64(pr.lowerSq(float32(p.X), float32(p.Y), float32(p.Z))))
		slack := prismSlack * (math.Abs(p.X) + math.Abs(p.Y) + math.Abs(p.Z) + a.Norm() + b.Norm() + c.Norm())
		if low > math.Sqrt(d)+slack {
			t.Fatalf("bound %g over distance %g for %v %v %v %v (seed 2, 2)", low, math.Sqrt(d), p, a, b, c)
		}
	}
}
