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
	c := crossers{t, make([]box32, len(t.order)), make([]box32, leaves)}
	err := par.Do(ctx, leaves, 64, c.fill)
	if err == nil {
		err = par.Do(ctx, leaves, 64, func(lo, hi int) {
			for l := lo; l < hi; l++ {
				found[l] = c.leaf(int32(l))
			}
		})
	}
	if err != nil {
		return nil, err
	}
	out := slices.Concat(found...)
	slices.Sort(out)
	return slices.Compact(out), nil
}

// crossers are the boxes that facets must share space in to cross.
type crossers struct {
	t    *Tree
	slot []box32 // of the facet in each slot
	all  []box32 // of each leaf
}

// fill makes the boxes of leaves lo to hi-1.
func (c *crossers) fill(lo, hi int) {
	for l := lo; l < hi; l++ {
		whole := emptyBox32()
		for i := c.t.start[l]; i < c.t.start[l+1]; i++ {
			b := c.t.around(i)
			o := outward(b.Min, b.Max)
			c.slot[i] = o
			for k := range 3 {
				whole[0][k], whole[1][k] = min(whole[0][k], o[0][k]), max(whole[1][k], o[1][k])
			}
		}
		c.all[l] = whole
	}
}

// leaf returns the facets of crossings between a leaf and itself or the
// leaves after it.
func (c *crossers) leaf(l int32) (out []int32) {
	t, whole := c.t, &c.all[l]
	var stack [maxDepth + 1]int32
	stack[0] = t.root
	for top := 0; top >= 0; {
		ref := stack[top]
		top--
		if ref < 0 {
			if ^ref >= l {
				out = c.between(l, ^ref, out)
			}
			continue
		}
		n := &t.nodes[ref]
		for k := 1; k >= 0; k-- {
			if n.box[k].touches(whole) {
				top++
				stack[top] = n.ref[k]
			}
		}
	}
	return out
}

// between appends the facets of crossings between leaf l and a leaf m not
// before it.
func (c *crossers) between(l, m int32, out []int32) []int32 {
	t, both := c.t, c.all[l].common(&c.all[m])
	var near [leafMax]int32 // of leaf l, those that reach into what both share
	n := 0
	for i := t.start[l]; i < t.start[l+1]; i++ {
		if c.slot[i].touches(&both) {
			near[n] = i
			n++
		}
	}
	for j := t.start[m]; j < t.start[m+1] && n > 0; j++ {
		other := &c.slot[j]
		if !other.touches(&both) {
			continue
		}
		for _, i := range near[:n] {
			if i < j && c.slot[i].touches(other) && t.crossing(i, j) {
				out = append(out, t.order[i], t.order[j])
			}
		}
	}
	return out
}

// common is the box that two boxes share.
func (b *box32) common(o *box32) (out box32) {
	for k := range 3 {
		out[0][k], out[1][k] = max(b[0][k], o[0][k]), min(b[1][k], o[1][k])
	}
	return out
}

// around is the box of the facet in slot i.
func (t *Tree) around(i int32) geom.Box {
	p, q, r := t.corners(i)
	return geom.EmptyBox().Include(*p).Include(*q).Include(*r)
}

// touches reports whether two boxes have a point in common.
func (b *box32) touches(o *box32) bool {
	return b[0][0] <= o[1][0] && b[1][0] >= o[0][0] &&
		b[0][1] <= o[1][1] && b[1][1] >= o[0][1] &&
		b[0][2] <= o[1][2] && b[1][2] >= o[0][2]
}

// crossing reports whether the facets in two slots cross.
func (t *Tree) crossing(i, j int32) bool {
	u, v := &t.tri[i], &t.tri[j]
	for _, x := range u {
		if x == v[0] || x == v[1] || x == v[2] {
			return false
		}
	}
	a, b, c := t.corners(i)
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
