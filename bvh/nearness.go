package bvh

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
)

// nearness is what searches for nearest points need beside the tree.
type nearness struct {
	grid    steps
	nodes   []stepNode // as the tree's
	patches []patch    // one a leaf
	prisms  []prism    // one a slot
	slot    []int32    // of each facet; -1 for one that takes no part
}

// flat returns the nearness, made when first asked for.
func (t *Tree) flat() *nearness {
	t.nearOnce.Do(func() { t.near = t.newNearness() })
	return t.near
}

func (t *Tree) newNearness() *nearness {
	n := &nearness{nodes: make([]stepNode, len(t.nodes)), patches: make([]patch, len(t.start)-1), prisms: make([]prism, len(t.order))}
	n.slot = make([]int32, len(t.m.F))
	for f := range n.slot {
		n.slot[f] = -1
	}
	for i, f := range t.order {
		n.slot[f] = int32(i)
	}
	if t.root >= 0 {
		n.grid = newSteps(&t.nodes[t.root].box)
	}
	for i := range t.nodes {
		n.nodes[i] = n.grid.node(&t.nodes[i])
	}
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
