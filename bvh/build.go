package bvh

import (
	"context"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// roundGrow is how far boxes are grown outward, as a multiple of the largest
// coordinate. The nearest point of a facet is computed with an error of a few
// 2^-53 of its coordinates and can lie that far outside the facet's box; with
// less than this the tree would now and then miss the facet a scan finds.
const roundGrow = 64.0 / (1 << 53)

// prim is a facet while the tree is built.
type prim struct {
	span  span
	facet int32
	bin   int32 // of the split at hand
}

// builder builds one subtree.
type builder struct {
	prims []prim // of the whole mesh
	nodes []node
	start []int32
	later int // ranges up to this long are left to tasks; 0 = none are
	tasks []task
}

// newBuilder has room for n facets in leaves two thirds full.
func newBuilder(ps []prim, n int) builder {
	leaves := 3*n/(2*leafMax) + 4
	return builder{prims: ps, nodes: make([]node, 0, leaves), start: make([]int32, 0, leaves)}
}

// task is a subtree to be built apart.
type task struct {
	lo, hi, depth int
	box           box32
	builder       builder
	root          int32
}

// From parallelFrom facets on the tree is built in parallel, in about
// taskShare pieces; both depend on the mesh alone.
const (
	parallelFrom = 8192
	taskShare    = 32
)

// build fills in the tree over t.m.
func (t *Tree) build() {
	ps := prims(t.m, roundGrow*largest(t.box))
	n := len(ps)
	if n == 0 {
		return
	}
	b := newBuilder(ps, n)
	if n >= parallelFrom {
		b.later = n / taskShare
	}
	box := bounds(b.prims)
	t.root = b.child(0, n, 0, &box)
	b.join(&t.root)
	t.nodes, t.start = b.nodes, append(b.start, int32(n))
	t.order = make([]int32, n)
	for i := range b.prims {
		t.order[i] = b.prims[i].facet
	}
}

// prims returns the facets that take part, with their boxes grown by g.
func prims(m *mesh.Mesh, g float64) []prim {
	ps := make([]prim, 0, len(m.F))
	grow := geom.Vec{X: g, Y: g, Z: g}
	for f, t := range m.F {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		a, b, c := &m.V[t[0]], &m.V[t[1]], &m.V[t[2]]
		lo := geom.Vec{X: min(a.X, b.X, c.X), Y: min(a.Y, b.Y, c.Y), Z: min(a.Z, b.Z, c.Z)}
		hi := geom.Vec{X: max(a.X, b.X, c.X), Y: max(a.Y, b.Y, c.Y), Z: max(a.Z, b.Z, c.Z)}
		box := outward(lo.Sub(grow), hi.Add(grow))
		ps = append(ps, prim{span: newSpan(&box), facet: int32(f)})
	}
	return ps
}

// largest returns the largest absolute coordinate; 0 for the empty box.
func largest(b geom.Box) float64 {
	if b.Empty() {
		return 0
	}
	return max(-b.Min.X, -b.Min.Y, -b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z)
}

// child builds the subtree of prims[lo:hi], whose box is given, and returns
// the reference to it. What is left to tasks is referred to by ^task.
func (b *builder) child(lo, hi, depth int, box *box32) int32 {
	if hi-lo <= leafMax {
		b.start = append(b.start, int32(lo))
		return ^int32(len(b.start) - 1)
	}
	if hi-lo <= b.later {
		b.tasks = append(b.tasks, task{lo: lo, hi: hi, depth: depth, box: *box})
		return ^int32(len(b.tasks) - 1)
	}
	at := int32(len(b.nodes))
	b.nodes = append(b.nodes, node{})
	mid, left, right := b.split(lo, hi, depth, box)
	b.nodes[at].box = [2]box32{left, right}
	l := b.child(lo, mid, depth+1, &left)
	r := b.child(mid, hi, depth+1, &right)
	b.nodes[at].ref = [2]int32{l, r}
	return at
}

// join builds the tasks and puts their subtrees in place, in their order. A
// top that leaves ranges to tasks has no leaves of its own.
func (b *builder) join(root *int32) {
	if len(b.tasks) == 0 {
		return
	}
	par.Do(context.Background(), len(b.tasks), 1, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			k := &b.tasks[i]
			k.builder = newBuilder(b.prims, k.hi-k.lo)
			k.root = k.builder.child(k.lo, k.hi, k.depth, &k.box)
		}
	})
	top := len(b.nodes)
	for i := range b.tasks {
		b.tasks[i].root = b.adopt(&b.tasks[i].builder, b.tasks[i].root)
	}
	for i := range b.nodes[:top] {
		for k, ref := range b.nodes[i].ref {
			if ref < 0 {
				b.nodes[i].ref[k] = b.tasks[^ref].root
			}
		}
	}
}

// adopt appends the nodes and leaves of s and returns the new reference.
func (b *builder) adopt(s *builder, root int32) int32 {
	node0, leaf0 := int32(len(b.nodes)), int32(len(b.start))
	move := func(ref int32) int32 {
		if ref < 0 {
			return ref - leaf0
		}
		return ref + node0
	}
	for _, n := range s.nodes {
		n.ref = [2]int32{move(n.ref[0]), move(n.ref[1])}
		b.nodes = append(b.nodes, n)
	}
	b.start = append(b.start, s.start...)
	return move(root)
}
