package bvh

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// prim is a facet while the tree is built.
type prim struct {
	box   box32
	facet int32
}

type box32 struct{ lo, hi [3]float32 }

// roundGrow is how far a box is grown outward, as a multiple of the largest
// coordinate. The nearest point of a facet is computed with an error of a few
// 2^-53 of its coordinates and can lie that far outside the box; with less
// than this the tree would now and then miss the facet a full scan finds.
const roundGrow = 64.0 / (1 << 53)

// build makes the nodes and the leaf order; none for a mesh without facets.
func build(m *mesh.Mesh) ([]node, []int32) {
	b := builder{prims: prims(m)}
	if len(b.prims) == 0 {
		return nil, nil
	}
	b.nodes = append(b.nodes, node{})
	all := bounds(b.prims)
	b.nodes[0].set(0, all, b.child(0, len(b.prims), 0))
	b.nodes[0].set(1, box32Empty(), leafRef(0, 0))
	order := make([]int32, len(b.prims))
	for i := range b.prims {
		order[i] = b.prims[i].facet
	}
	return b.nodes, order
}

func prims(m *mesh.Mesh) []prim {
	g := roundGrow * largest(m)
	ps := make([]prim, 0, len(m.F))
	for f, t := range m.F {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		a, b, c := m.Corner(int32(f))
		ps = append(ps, prim{outward(geom.EmptyBox().Include(a).Include(b).Include(c).Grow(g)), int32(f)})
	}
	return ps
}

// largest returns the largest absolute coordinate.
func largest(m *mesh.Mesh) float64 {
	b := m.Box()
	return max(-b.Min.X, -b.Min.Y, -b.Min.Z, b.Max.X, b.Max.Y, b.Max.Z, 0)
}

// outward rounds a box to float32 so that it holds the original.
func outward(b geom.Box) box32 {
	return box32{
		[3]float32{down(b.Min.X), down(b.Min.Y), down(b.Min.Z)},
		[3]float32{up(b.Max.X), up(b.Max.Y), up(b.Max.Z)},
	}
}

func down(x float64) float32 {
	f := float32(x)
	if float64(f) > x {
		return math.Nextafter32(f, float32(math.Inf(-1)))
	}
	return f
}

func up(x float64) float32 { return -down(-x) }

func box32Empty() box32 {
	inf := float32(math.Inf(1))
	return box32{[3]float32{inf, inf, inf}, [3]float32{-inf, -inf, -inf}}
}

func (b *box32) include(o *box32) {
	for k := range 3 {
		if o.lo[k] < b.lo[k] {
			b.lo[k] = o.lo[k]
		}
		if o.hi[k] > b.hi[k] {
			b.hi[k] = o.hi[k]
		}
	}
}

// area is half the surface area; 0 for the empty box.
func (b *box32) area() float32 {
	x, y, z := b.hi[0]-b.lo[0], b.hi[1]-b.lo[1], b.hi[2]-b.lo[2]
	if x < 0 {
		return 0
	}
	return float32(x*y) + float32(y*z) + float32(z*x)
}

func bounds(ps []prim) box32 {
	b := box32Empty()
	for i := range ps {
		b.include(&ps[i].box)
	}
	return b
}

func (n *node) set(k int, b box32, ref int32) {
	n.lo[k], n.hi[k], n.ref[k] = b.lo, b.hi, ref
}

type builder struct {
	prims []prim
	nodes []node
}

// maxHeuristic is the depth below which ranges are halved by count, so that
// no arrangement of facets makes the tree deeper than maxDepth.
const (
	maxHeuristic = 48
	maxDepth     = maxHeuristic + 32
)

// child builds the subtree of prims[lo:hi] and returns the reference to it.
func (b *builder) child(lo, hi, depth int) int32 {
	if hi-lo <= leafMax {
		return leafRef(lo, hi-lo)
	}
	mid := lo + b.split(b.prims[lo:hi], depth)
	at := len(b.nodes)
	b.nodes = append(b.nodes, node{})
	for k, r := range [2][2]int{{lo, mid}, {mid, hi}} {
		box := bounds(b.prims[r[0]:r[1]])
		ref := b.child(r[0], r[1], depth+1)
		b.nodes[at].set(k, box, ref)
	}
	return int32(at)
}

func (b *builder) split(ps []prim, depth int) int {
	if depth < maxHeuristic {
		if mid := heuristic(ps); mid > 0 && mid < len(ps) {
			return mid
		}
	}
	return len(ps) / 2
}

const bins = 16

type bin struct {
	box   box32
	count int
}

// heuristic parts ps in place where the surface area heuristic is least along
// the axis of the widest spread of centres, and returns how many come first;
// 0 if all centres coincide.
// Source: I. Wald, On fast construction of SAH-based bounding volume
// hierarchies, IEEE Symposium on Interactive Ray Tracing 2007 (binning).
func heuristic(ps []prim) int {
	axis, lo, scale := spread(ps)
	if scale == 0 {
		return 0
	}
	var bs [bins]bin
	for i := range bs {
		bs[i].box = box32Empty()
	}
	for i := range ps {
		j := &bs[slot(&ps[i], axis, lo, scale)]
		j.box.include(&ps[i].box)
		j.count++
	}
	cut := cheapest(&bs)
	return partition(ps, func(p *prim) bool { return slot(p, axis, lo, scale) < cut })
}

// spread returns the axis along which the centres spread most, their least
// (doubled) coordinate on it and the bins per unit; 0 bins for no spread.
func spread(ps []prim) (axis int, lo, scale float32) {
	c := box32Empty()
	for i := range ps {
		for k := range 3 {
			x := ps[i].center(k)
			if x < c.lo[k] {
				c.lo[k] = x
			}
			if x > c.hi[k] {
				c.hi[k] = x
			}
		}
	}
	for k := 1; k < 3; k++ {
		if c.hi[k]-c.lo[k] > c.hi[axis]-c.lo[axis] {
			axis = k
		}
	}
	if w := c.hi[axis] - c.lo[axis]; w > 0 {
		scale = bins / w
	}
	if math.IsInf(float64(scale), 0) {
		scale = 0
	}
	return axis, c.lo[axis], scale
}

// center returns twice the centre along one axis.
func (p *prim) center(axis int) float32 { return p.box.lo[axis] + p.box.hi[axis] }

func slot(p *prim, axis int, lo, scale float32) int {
	return min(max(int(float32((p.center(axis)-lo)*scale)), 0), bins-1)
}

// cheapest returns the first bin of the right side of the best cut; the
// lowest of equal ones.
func cheapest(bs *[bins]bin) int {
	var right [bins]float32
	acc, n := box32Empty(), 0
	for i := bins - 1; i > 0; i-- {
		acc.include(&bs[i].box)
		n += bs[i].count
		right[i] = acc.area() * float32(n)
	}
	acc, n = box32Empty(), 0
	best, cost := 1, float32(math.Inf(1))
	for i := 1; i < bins; i++ {
		acc.include(&bs[i-1].box)
		n += bs[i-1].count
		if c := float32(acc.area()*float32(n)) + right[i]; c < cost {
			best, cost = i, c
		}
	}
	return best
}

// partition moves the elements that are first to the front and returns their
// number.
func partition(ps []prim, first func(*prim) bool) int {
	i, j := 0, len(ps)
	for i < j {
		if first(&ps[i]) {
			i++
			continue
		}
		j--
		ps[i], ps[j] = ps[j], ps[i]
	}
	return i
}
