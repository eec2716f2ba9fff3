package bvh

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
)

// nearness is what searches for nearest points need beside the tree.
type nearness struct {
	patches []patch // one a leaf
	prisms  []prism // one a slot
}

// flat returns the nearness, made when first asked for.
func (t *Tree) flat() *nearness {
	t.nearOnce.Do(func() { t.near = t.newNearness() })
	return t.near
}

func (t *Tree) newNearness() *nearness {
	n := &nearness{make([]patch, len(t.start)-1), make([]prism, len(t.order))}
	grow := roundGrow * largest(t.box)
	par.Do(context.Background(), len(n.patches), 0, func(lo, hi int) {
		for l := lo; l < hi; l++ {
			first, end := t.start[l], t.start[l+1]
			n.patches[l] = t.newPatch(first, end, grow)
			o := vec(&n.patches[l].c)
			for i := first; i < end; i++ {
				if a, b, c := t.corners(i); !geom.Thin(*a, *b, *c) {
					n.prisms[i] = newPrism(a.Sub(o), b.Sub(o), c.Sub(o))
				}
			}
		}
	})
	return n
}
