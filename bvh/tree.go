package bvh

import (
	"sync"

	"crownassay/geom"
	"crownassay/mesh"
)

// Tree is a hierarchy of boxes over the facets of one mesh.
type Tree struct {
	m     *mesh.Mesh
	nodes []node  // nodes[0] is the root; none for a mesh without facets
	order []int32 // facets in leaf order

	once   sync.Once
	normal *pseudonormals // use pseudo()
}

// node holds the boxes of its two children beside one another, so that one
// cache line decides about both.
type node struct {
	lo, hi [2][3]float32 // grown outward, see grow
	ref    [2]int32      // inner node if >= 0, else leaf(ref)
}

// leafMax is how many facets a leaf holds at most.
const leafMax = 4

// A reference to a leaf is ^(first<<3 | count), count 0 for no leaf at all.
func leafRef(first, count int) int32 { return ^int32(first<<3 | count) }

func leaf(ref int32) (first, end int32) {
	r := ^ref
	return r >> 3, r>>3 + r&7
}

// New builds the tree of m, which must not change afterwards. The tree is the
// same for the same mesh, whatever the number of workers.
func New(m *mesh.Mesh) *Tree {
	t := &Tree{m: m}
	t.nodes, t.order = build(m)
	return t
}

// Mesh returns the mesh the tree was built over.
func (t *Tree) Mesh() *mesh.Mesh { return t.m }

// distSq returns the squared distance from p to the box of child k, 0 inside.
func (n *node) distSq(k int, p *geom.Vec) float64 {
	lo, hi := &n.lo[k], &n.hi[k]
	x := outside(p.X, float64(lo[0]), float64(hi[0]))
	y := outside(p.Y, float64(lo[1]), float64(hi[1]))
	z := outside(p.Z, float64(lo[2]), float64(hi[2]))
	return float64(x*x) + float64(y*y) + float64(z*z)
}

func outside(x, lo, hi float64) float64 { return max(lo-x, x-hi, 0) }
