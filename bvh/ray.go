package bvh

import (
	"math"

	"crownassay/geom"
)

// Ray is a half line.
type Ray struct{ Origin, Dir geom.Vec }

// RayHit is the first facet that a ray meets, from either side.
type RayHit struct {
	Facet int32   // -1 in a batch: no hit
	T     float64 // the hit is at Origin + T Dir
}

func missedRay() RayHit { return RayHit{Facet: -1, T: math.Inf(1)} }

// Ray returns the first facet that the ray from origin along dir meets at a
// T from 0 to tMax, which may be infinite; dir need not be a unit vector. Of
// facets met at exactly the same computed T the lowest index is named.
func (t *Tree) Ray(origin, dir geom.Vec, tMax float64) (RayHit, bool) {
	if !origin.Finite() || !dir.Finite() || dir == (geom.Vec{}) || !(tMax >= 0) || t.Empty() {
		return missedRay(), false
	}
	c := cast{t: t, shear: newShear(origin, dir), slabs: newSlabs(origin, dir), hit: RayHit{math.MaxInt32, tMax}}
	c.run()
	if c.hit.Facet == math.MaxInt32 {
		return missedRay(), false
	}
	return c.hit, true
}

// slabs is a ray prepared for the box test.
type slabs struct {
	near, far geom.Vec // the origin, moved outward by the rounding for each side
	inv       geom.Vec // 1/dir
	side      [3]int8  // 1 where dir is negative: the box's hi side is entered first
}

func newSlabs(o, d geom.Vec) slabs {
	g := roundGrow * max(math.Abs(o.X), math.Abs(o.Y), math.Abs(o.Z))
	var s slabs
	s.near.X, s.far.X, s.inv.X, s.side[0] = slab(o.X, d.X, g)
	s.near.Y, s.far.Y, s.inv.Y, s.side[1] = slab(o.Y, d.Y, g)
	s.near.Z, s.far.Z, s.inv.Z, s.side[2] = slab(o.Z, d.Z, g)
	return s
}

// slab prepares one axis. The inverse is huge but finite for 0, so that no
// 0 times Inf arises.
func slab(o, d, g float64) (near, far, inv float64, side int8) {
	if math.Abs(d) < 1e-300 {
		d = math.Copysign(1e-300, d)
	}
	if d < 0 {
		return o - g, o + g, 1 / d, 1
	}
	return o + g, o - g, 1 / d, 0
}

// ulps is the number of last digits allowed for the rounding of the box test.
const ulps = 16

// meet returns the bits of the T at which the ray enters the box, and whether
// it meets the box before T = last (bits). Bits of floats that are not
// negative are in order, and a negative float is a negative integer; so
// maximum and minimum need no branches.
func (s *slabs) meet(b *box32, last int64) (int64, bool) {
	x, y, z := s.side[0]&1, s.side[1]&1, s.side[2]&1
	near := max(
		bits((float64(b[x][0])-s.near.X)*s.inv.X),
		bits((float64(b[y][1])-s.near.Y)*s.inv.Y),
		bits((float64(b[z][2])-s.near.Z)*s.inv.Z), 0)
	far := min(
		bits((float64(b[x^1][0])-s.far.X)*s.inv.X),
		bits((float64(b[y^1][1])-s.far.Y)*s.inv.Y),
		bits((float64(b[z^1][2])-s.far.Z)*s.inv.Z), last)
	return near, near <= far+ulps
}

func bits(x float64) int64 { return int64(math.Float64bits(x)) }

// cast is a ray on its way through the tree.
type cast struct {
	t     *Tree
	shear shear
	slabs slabs
	hit   RayHit
}

// entered is a subtree still to be visited and the bits of the T where it
// begins.
type entered struct {
	at  int64
	ref int32
}

func (c *cast) run() {
	var stack [maxDepth + 1]entered
	stack[0] = entered{0, c.t.root}
	last := c.last()
	for top := 0; top >= 0; {
		e := stack[top]
		top--
		if e.at > last+ulps {
			continue
		}
		ref := e.ref
		for ref >= 0 {
			n := &c.t.nodes[ref]
			d0, ok0 := c.slabs.meet(&n.box[0], last)
			d1, ok1 := c.slabs.meet(&n.box[1], last)
			switch {
			case ok0 && ok1 && d0 <= d1:
				top++
				stack[top] = entered{d1, n.ref[1]}
				ref = n.ref[0]
			case ok0 && ok1:
				top++
				stack[top] = entered{d0, n.ref[0]}
				ref = n.ref[1]
			case ok0:
				ref = n.ref[0]
			case ok1:
				ref = n.ref[1]
			default:
				goto next
			}
		}
		c.leaf(ref)
		last = c.last()
	next:
	}
}

// last returns the bits of the best T so far; of a T of -0 those of 0.
func (c *cast) last() int64 { return max(bits(c.hit.T), 0) }

func (c *cast) leaf(ref int32) {
	first, end := c.t.leaf(ref)
	for i := first; i < end; i++ {
		t, ok := c.shear.hit(c.t.corners(i))
		if ok && (t < c.hit.T || t == c.hit.T && c.t.order[i] < c.hit.Facet) {
			c.hit = RayHit{c.t.order[i], t}
		}
	}
}
