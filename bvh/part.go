package bvh

import (
	"math"

	"crownassay/mesh"
)

// Part returns a tree of a mesh m that has some of the facets of t's mesh: to
// gives the number there of each of those, -1 where it is left out. It keeps
// t's boxes, which takes a tenth of building them anew and answers as fast.
// What lies across m's edges is a.
func (t *Tree) Part(m *mesh.Mesh, a *mesh.Adjacency, to []int32) *Tree {
	k := parting{from: t, to: to, tree: &Tree{m: m, box: m.Box(), adj: a, order: make([]int32, 0, len(m.F))}}
	p := k.tree
	if t.Empty() {
		return p
	}
	if p.root = k.part(t.root); p.root == nothing {
		return &Tree{m: m, box: p.box, adj: a}
	}
	p.start = append(p.start, int32(len(p.order)))
	p.corner()
	return p
}

// parting makes a tree of a part.
type parting struct {
	from, tree *Tree
	to         []int32
}

// nothing refers to a subtree without facets.
const nothing = math.MinInt32

// part takes over the subtree that ref refers to and returns the new reference.
// A node with one child left is left out.
func (k *parting) part(ref int32) int32 {
	if ref < 0 {
		return k.leaf(ref)
	}
	n := k.from.nodes[ref]
	l, r := k.part(n.ref[0]), k.part(n.ref[1])
	switch {
	case l == nothing:
		return r
	case r == nothing:
		return l
	}
	n.ref = [2]int32{l, r}
	k.tree.nodes = append(k.tree.nodes, n)
	return int32(len(k.tree.nodes) - 1)
}

func (k *parting) leaf(ref int32) int32 {
	p, at := k.tree, int32(len(k.tree.order))
	first, end := k.from.leaf(ref)
	for _, f := range k.from.order[first:end] {
		if g := k.to[f]; g >= 0 {
			p.order = append(p.order, g)
		}
	}
	if int(at) == len(p.order) {
		return nothing
	}
	p.start = append(p.start, at)
	return ^int32(len(p.start) - 1)
}
