package bvh

import (
	"context"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
)

// SelfCrossings returns the facets that cross another facet of the same mesh
// with which they share no vertex, by rising index. Facets that only touch, or
// lie over each other in one plane, do not count. The error is the context's.
func (t *Tree) SelfCrossings(ctx context.Context) ([]int32, error) {
	leaves := max(0, len(t.start)-1)
	found := make([][]int32, leaves)
	err := par.Do(ctx, leaves, 64, func(lo, hi int) {
		for l := lo; l < hi; l++ {
			found[l] = t.crossingLeaf(int32(l))
		}
	})
	if err != nil {
		return nil, err
	}
	out := slices.Concat(found...)
	slices.Sort(out)
	return slices.Compact(out), nil
}

// crossingLeaf returns the facets of crossings between a leaf and itself or
// the leaves after it.
func (t *Tree) crossingLeaf(l int32) (out []int32) {
	first, end := t.start[l], t.start[l+1]
	whole := geom.EmptyBox()
	for i := first; i < end; i++ {
		whole = t.around(whole, i)
	}
	t.walk(func(b *box32) bool { return b.touches(&whole) }, func(j int32) {
		if j < first {
			return
		}
		box := t.around(geom.EmptyBox(), j)
		for i := first; i < end && i < j; i++ {
			if t.crossing(i, j, &box) {
				out = append(out, t.order[i], t.order[j])
			}
		}
	})
	return out
}

// around is the box that holds the corners of the facet in slot i too.
func (t *Tree) around(b geom.Box, i int32) geom.Box {
	p, q, r := t.corners(i)
	return b.Include(*p).Include(*q).Include(*r)
}

// touches reports whether two boxes have a point in common.
func (b *box32) touches(o *geom.Box) bool {
	return float64(b[0][0]) <= o.Max.X && float64(b[1][0]) >= o.Min.X &&
		float64(b[0][1]) <= o.Max.Y && float64(b[1][1]) >= o.Min.Y &&
		float64(b[0][2]) <= o.Max.Z && float64(b[1][2]) >= o.Min.Z
}

// crossing reports whether the facets in two slots cross; box is that of the
// second.
func (t *Tree) crossing(i, j int32, box *geom.Box) bool {
	u, v := &t.tri[i], &t.tri[j]
	for _, x := range u {
		if x == v[0] || x == v[1] || x == v[2] {
			return false
		}
	}
	a, b, c := t.corners(i)
	if max(a.X, b.X, c.X) < box.Min.X || min(a.X, b.X, c.X) > box.Max.X ||
		max(a.Y, b.Y, c.Y) < box.Min.Y || min(a.Y, b.Y, c.Y) > box.Max.Y ||
		max(a.Z, b.Z, c.Z) < box.Min.Z || min(a.Z, b.Z, c.Z) > box.Max.Z {
		return false
	}
	p, q, r := t.corners(j)
	return pierced(a, b, c, p, q, r) || pierced(p, q, r, a, b, c)
}

// pierced reports whether an edge of pqr passes through abc.
func pierced(a, b, c, p, q, r *geom.Vec) bool {
	s, t, u := geom.Orient(*a, *b, *c, *p), geom.Orient(*a, *b, *c, *q), geom.Orient(*a, *b, *c, *r)
	return s*t < 0 && geom.Pierces(*p, *q, *a, *b, *c) ||
		t*u < 0 && geom.Pierces(*q, *r, *a, *b, *c) ||
		u*s < 0 && geom.Pierces(*r, *p, *a, *b, *c)
}
