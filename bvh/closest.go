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

// missedHit is what batches write where there is no answer.
func missedHit() Hit { return Hit{Facet: -1, DistSq: math.Inf(1)} }

// roundSlack widens squared bounds for the rounding of the box test, which is
// relative once boxes are grown (see roundGrow).
const roundSlack = 1 + 64.0/(1<<53)

// search is a query for the nearest point on its way. Boxes are looked at in
// whole steps of a grid and patches in float32, with limits that let through
// whatever rounding could have made too far; facets are compared in float64.
type search struct {
	t      *Tree
	near   *nearness
	p      geom.Vec
	at     [3]int64 // the cell of the grid that p lies in
	hit    Hit
	slot   int32
	radius float64 // distance of the hit
	limit  int64   // squared, in steps: a box farther than this holds nothing better
}

// Closest returns the point of the mesh nearest to p if it is within maxDist,
// which may be infinite. Of facets at exactly the same computed distance the
// one with the lowest index is named.
func (t *Tree) Closest(p geom.Vec, maxDist float64) (Hit, bool) {
	s := search{t: t}
	ok := s.find(p, maxDist, -1)
	return s.hit, ok
}

// ClosestFrom is Closest for a point near one for which facet f was found: the
// search begins there.
func (t *Tree) ClosestFrom(f int32, p geom.Vec, maxDist float64) (Hit, bool) {
	s := search{t: t}
	ok := s.find(p, maxDist, t.flat().slot[f])
	return s.hit, ok
}

// find looks for the point nearest to p and puts it into s.hit. Slot hint, or
// -1, is looked at first; it makes the search shorter and leaves the answer
// as it is.
func (s *search) find(p geom.Vec, maxDist float64, hint int32) bool {
	s.hit, s.slot = missedHit(), -1
	if !p.Finite() || !(maxDist >= 0) || s.t.Empty() {
		return false
	}
	s.near, s.p = s.t.flat(), p
	s.at = s.near.grid.cell(p)
	s.hit.Facet = math.MaxInt32
	s.bound(maxDist*maxDist, maxDist)
	if hint >= 0 {
		s.facet(hint)
	}
	s.run()
	if s.slot < 0 {
		s.hit = missedHit()
		return false
	}
	return true
}

func (s *search) bound(distSq, dist float64) {
	s.hit.DistSq, s.radius = distSq, dist
	s.limit = s.near.grid.squared(dist)
}

// facet takes the facet in slot i into account.
func (s *search) facet(i int32) {
	a, b, c := s.t.corners(i)
	pt, feature, d := nearest(&s.p, a, b, c, s.near.prisms[i].n.thin())
	f := s.t.order[i]
	if d < s.hit.DistSq || d == s.hit.DistSq && f < s.hit.Facet {
		s.hit.Facet, s.hit.Feature, s.hit.Point = f, feature, pt
		s.slot = i
		s.bound(d, math.Sqrt(d))
	}
}

// subtree is a part of the tree still to be visited.
type subtree struct {
	at  int64 // squared distance of where it begins, as limit
	ref int32
}

// run visits the tree, nearer child first. What no branch can foretell, which
// child is nearer and whether the other is to be kept, is found without one.
func (s *search) run() {
	var stack [maxDepth]subtree
	top, ref := 0, s.t.root
	x, y, z := s.at[0], s.at[1], s.at[2]
	for {
		for ref >= 0 {
			n := &s.near.nodes[ref]
			d, e := n.distSq(x, y, z)
			limit, near := s.limit, uint64(e-d)>>63 // 1 where e < d
			if min(d, e) > limit {
				break
			}
			far := max(d, e)
			stack[top] = subtree{far, n.ref[near^1]}
			top += 1 - int(uint64(limit-far)>>63) // 0 where far > limit
			ref = n.ref[near]
		}
		if ref < 0 {
			s.leaf(^ref)
		}
		for top--; ; top-- {
			if top < 0 {
				return
			}
			if stack[top].at <= s.limit {
				break
			}
		}
		ref = stack[top].ref
	}
}

// leaf looks at the facets of leaf l, unless its patch or their prisms show
// that they are too far.
func (s *search) leaf(l int32) {
	p := &s.near.patches[l]
	x, y, z := s.p.X-float64(p.c[0]), s.p.Y-float64(p.c[1]), s.p.Z-float64(p.c[2])
	fx, fy, fz := float32(x), float32(y), float32(z)
	slack := prismSlack * (math.Abs(x) + math.Abs(y) + math.Abs(z) + float64(p.h[0]) + float64(p.h[1]) + float64(p.h[2]))
	within := s.within(slack)
	if p.distSq(fx, fy, fz) > within {
		return
	}
	first, end := s.t.start[l], s.t.start[l+1]
	prisms := s.near.prisms[first:end]
	for i := range prisms {
		if !(prisms[i].lowerSq(fx, fy, fz) > within) { // NaN, far out, passes
			s.facet(first + int32(i))
			within = s.within(slack)
		}
	}
}

// within returns the largest lowerSq that a facet no farther than the hit can
// have, for the given error of its root.
func (s *search) within(slack float64) float32 {
	r := s.radius + slack
	return float32(r * r * (1 + prismSlack))
}
