package bvh

import (
	"slices"

	"crownassay/geom"
)

// Ball calls visit for every facet that comes within r of c, in an order that
// depends on the mesh alone.
func (t *Tree) Ball(c geom.Vec, r float64, visit func(facet int32)) {
	rSq := r * r
	t.ball(c, r, func(f int32) {
		a, b, d := t.m.Corner(f)
		if pt, _ := geom.ClosestOnTriangle(c, a, b, d); c.DistSq(pt) <= rSq {
			visit(f)
		}
	})
}

// BallVertices appends to dst[:0] the vertices of facets that lie within r of
// c, each once and by rising index, and returns the slice.
func (t *Tree) BallVertices(c geom.Vec, r float64, dst []int32) []int32 {
	dst, rSq := dst[:0], r*r
	t.ball(c, r, func(f int32) {
		for _, v := range t.m.F[f] {
			if c.DistSq(t.m.V[v]) <= rSq {
				dst = append(dst, v)
			}
		}
	})
	slices.Sort(dst)
	return slices.Compact(dst)
}

// ball calls f for the facets of all leaves whose box comes within r of c.
func (t *Tree) ball(c geom.Vec, r float64, f func(facet int32)) {
	if !(r >= 0) || len(t.nodes) == 0 {
		return
	}
	limit := r * r * roundSlack
	t.walk(func(n *node, k int) bool { return n.distSq(k, &c) <= limit }, f)
}

// walk calls f for the facets of all leaves whose boxes, from the root down,
// are all wanted.
func (t *Tree) walk(want func(n *node, k int) bool, f func(facet int32)) {
	var stack [2 * (maxDepth + 2)]int32
	top := 1
	for top > 0 {
		top--
		ref := stack[top]
		if ref < 0 {
			first, end := leaf(ref)
			for _, facet := range t.order[first:end] {
				f(facet)
			}
			continue
		}
		n := &t.nodes[ref]
		for k := 1; k >= 0; k-- {
			if want(n, k) {
				stack[top] = n.ref[k]
				top++
			}
		}
	}
}
