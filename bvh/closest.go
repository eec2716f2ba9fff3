package bvh

import (
	"math"

	"crownassay/geom"
)

// Hit is the nearest point of the mesh.
type Hit struct {
	Facet   int32        // -1 in a batch: nothing within reach
	Feature geom.Feature // of the facet
	Point   geom.Vec
	DistSq  float64 // squared distance, mm^2
}

// Missed is what batches write where there is no answer.
func missedHit() Hit { return Hit{Facet: -1, DistSq: math.Inf(1)} }

// roundSlack widens squared bounds for the rounding of the box test, which is
// relative once boxes are grown (see roundGrow).
const roundSlack = 1 + 64.0/(1<<53)

// search is a query for the nearest point on its way.
type search struct {
	t     *Tree
	p     geom.Vec
	hit   Hit
	limit float64 // boxes farther than this (squared) hold nothing better
}

// Closest returns the point of the mesh nearest to p if it is within maxDist,
// which may be infinite. Of facets at exactly the same computed distance the
// one with the lowest index is named.
func (t *Tree) Closest(p geom.Vec, maxDist float64) (Hit, bool) {
	return t.closest(p, maxDist, -1)
}

// closest is Closest with a facet that is likely to be near, or -1. The
// answer does not depend on it.
func (t *Tree) closest(p geom.Vec, maxDist float64, near int32) (Hit, bool) {
	if !p.Finite() || !(maxDist >= 0) || len(t.nodes) == 0 {
		return missedHit(), false
	}
	s := search{t: t, p: p, hit: Hit{Facet: math.MaxInt32, DistSq: maxDist * maxDist}}
	s.limit = s.hit.DistSq * roundSlack
	if near >= 0 {
		s.facet(near)
	}
	s.run()
	if s.hit.Facet == math.MaxInt32 {
		return missedHit(), false
	}
	return s.hit, true
}

// facet takes one facet into account.
func (s *search) facet(f int32) {
	a, b, c := s.t.m.Corner(f)
	pt, feature := geom.ClosestOnTriangle(s.p, a, b, c)
	d := s.p.DistSq(pt)
	if d < s.hit.DistSq || d == s.hit.DistSq && f < s.hit.Facet {
		s.hit = Hit{f, feature, pt, d}
		s.limit = d * roundSlack
	}
}

// waiting is a subtree still to be visited.
type waiting struct {
	ref    int32
	distSq float64
}

// run visits the tree, nearer child first.
func (s *search) run() {
	var stack [maxDepth + 2]waiting
	top := 0
	ref, distSq := int32(0), 0.0
	for {
		if distSq <= s.limit {
			if ref >= 0 {
				n := &s.t.nodes[ref]
				d0, d1 := n.distSq(0, &s.p), n.distSq(1, &s.p)
				near, far := waiting{n.ref[0], d0}, waiting{n.ref[1], d1}
				if d1 < d0 {
					near, far = far, near
				}
				stack[top] = far
				top++
				ref, distSq = near.ref, near.distSq
				continue
			}
			s.leaf(ref)
		}
		if top == 0 {
			return
		}
		top--
		ref, distSq = stack[top].ref, stack[top].distSq
	}
}

func (s *search) leaf(ref int32) {
	first, end := leaf(ref)
	for _, f := range s.t.order[first:end] {
		s.facet(f)
	}
}
