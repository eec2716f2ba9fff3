package bvh

import (
	"slices"

	"crownassay/geom"
)

// Ball calls visit for every facet that comes within r of c, each once, in an
// order that depends on the mesh alone.
func (t *Tree) Ball(c geom.Vec, r float64, visit func(facet int32)) {
	t.ball(c, r, func(i int32) {
		p, q, s := t.corners(i)
		if _, _, d := nearest(&c, p, q, s, geom.Thin(*p, *q, *s)); d <= r*r {
			visit(t.order[i])
		}
	})
}

// BallVertices appends to dst[:0] the vertices of facets that lie within r of
// c, each once and by rising index, and returns the slice.
func (t *Tree) BallVertices(c geom.Vec, r float64, dst []int32) []int32 {
	dst = dst[:0]
	t.ball(c, r, func(i int32) {
		for _, v := range t.tri[i] {
			if c.DistSq(t.m.V[v]) <= r*r {
				dst = append(dst, v)
			}
		}
	})
	slices.Sort(dst)
	return slices.Compact(dst)
}

// ball calls visit for the slots of all leaves whose box comes within r of c.
func (t *Tree) ball(c geom.Vec, r float64, visit func(slot int32)) {
	if !c.Finite() || !(r >= 0) {
		return
	}
	limit := r * r * roundSlack
	t.walk(func(b *box32) bool { return b.distSq(c.X, c.Y, c.Z) <= limit }, visit)
}
