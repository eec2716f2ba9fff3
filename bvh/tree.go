package bvh

import (
	"context"
	"sync"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// Tree is a hierarchy of boxes over the facets of one mesh.
type Tree struct {
	m     *mesh.Mesh
	box   geom.Box
	root  int32      // reference to the whole
	nodes []node     // inner nodes
	start []int32    // leaf l holds the slots start[l] to start[l+1]-1
	order []int32    // the facet in each slot
	tri   [][3]int32 // its corners

	nearOnce sync.Once
	near     *nearness // use flat()
	adjOnce  sync.Once
	adj      *mesh.Adjacency // use adjacency()
	signOnce sync.Once
	normal   *pseudonormals // use pseudo()
}

// leafMax is how many facets a leaf holds at most: with 8 nearest points and the
// build are a little faster than with 4, rays the same (docs/PERFORMANCE.md).
const leafMax = 8

// New builds the tree of m, which must not change afterwards. The tree is the
// same for the same mesh, whatever the number of workers.
func New(m *mesh.Mesh) *Tree { return NewWith(m, nil) }

// NewWith is New for a mesh whose adjacency is known.
func NewWith(m *mesh.Mesh, a *mesh.Adjacency) *Tree {
	t := &Tree{m: m, box: m.Box(), adj: a}
	t.build()
	t.corner()
	return t
}

// corner notes the corners of the facet in each slot.
func (t *Tree) corner() {
	t.tri = make([][3]int32, len(t.order))
	for i, f := range t.order {
		t.tri[i] = t.m.F[f]
	}
}

// Ready makes what queries for nearest points and their sides need and would
// make when the first comes: to be called where several ask at once, since all
// but one would wait.
func (t *Tree) Ready() {
	par.Together(context.Background(),
		func() error { t.flat(); return nil },
		func() error { t.pseudo(); return nil })
}

// Mesh returns the mesh the tree was built over.
func (t *Tree) Mesh() *mesh.Mesh { return t.m }

// Empty reports whether the tree holds no facet.
func (t *Tree) Empty() bool { return len(t.order) == 0 }

// leaf returns the slots of the leaf that ref < 0 refers to.
func (t *Tree) leaf(ref int32) (first, end int32) { return t.start[^ref], t.start[^ref+1] }

// corners returns the corners of the facet in slot i.
func (t *Tree) corners(i int32) (a, b, c *geom.Vec) {
	v := &t.tri[i]
	return &t.m.V[v[0]], &t.m.V[v[1]], &t.m.V[v[2]]
}
