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

// shear is a ray prepared for the watertight test: the axes are permuted so
// that z is the longest component, and sheared so that the ray runs along z.
// Source: S. Woop, C. Benthin, I. Wald, Watertight ray/triangle intersection,
// Journal of Computer Graphics Techniques 2 (2013) 65-82.
type shear struct {
	origin     geom.Vec
	kx, ky, kz int
	sx, sy, sz float64
}

func newShear(origin, dir geom.Vec) shear {
	d := [3]float64{dir.X, dir.Y, dir.Z}
	kz := 0
	for k := 1; k < 3; k++ {
		if math.Abs(d[k]) > math.Abs(d[kz]) {
			kz = k
		}
	}
	kx, ky := (kz+1)%3, (kz+2)%3
	return shear{origin, kx, ky, kz, d[kx] / d[kz], d[ky] / d[kz], 1 / d[kz]}
}

// corner moves a corner into the sheared frame. Every facet at a vertex gets
// the same digits for it, which is what keeps edges tight.
func (s *shear) corner(v geom.Vec) (x, y, z float64) {
	v = v.Sub(s.origin)
	a := [3]float64{v.X, v.Y, v.Z}
	z = a[s.kz]
	return a[s.kx] - float64(s.sx*z), a[s.ky] - float64(s.sy*z), float64(s.sz * z)
}

// hit returns where the ray meets triangle abc; edges and corners belong to
// it. A triangle seen edge-on is not met.
func (s *shear) hit(a, b, c geom.Vec) (float64, bool) {
	ax, ay, az := s.corner(a)
	bx, by, bz := s.corner(b)
	cx, cy, cz := s.corner(c)
	u := float64(cx*by) - float64(cy*bx)
	v := float64(ax*cy) - float64(ay*cx)
	w := float64(bx*ay) - float64(by*ax)
	if (u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0) {
		return 0, false
	}
	det := u + v + w
	if det == 0 {
		return 0, false
	}
	t := (float64(u*az) + float64(v*bz) + float64(w*cz)) / det
	return t, t >= 0
}

// cast is a ray on its way through the tree.
type cast struct {
	t      *Tree
	shear  shear
	origin [3]float64
	inv    [3]float64
	hit    RayHit
}

// Ray returns the first facet that the ray from origin along dir meets at a
// T from 0 to tMax, which may be infinite; dir need not be a unit vector. Of
// facets met at exactly the same computed T the lowest index is named.
func (t *Tree) Ray(origin, dir geom.Vec, tMax float64) (RayHit, bool) {
	if !origin.Finite() || !dir.Finite() || dir == (geom.Vec{}) || !(tMax >= 0) || len(t.nodes) == 0 {
		return missedRay(), false
	}
	c := cast{t: t, shear: newShear(origin, dir), hit: RayHit{math.MaxInt32, tMax}}
	c.origin = [3]float64{origin.X, origin.Y, origin.Z}
	c.inv = [3]float64{inverse(dir.X), inverse(dir.Y), inverse(dir.Z)}
	c.run()
	if c.hit.Facet == math.MaxInt32 {
		return missedRay(), false
	}
	return c.hit, true
}

// inverse is 1/x, huge but finite for 0, so that no 0 times Inf arises.
func inverse(x float64) float64 {
	if math.Abs(x) < 1e-300 {
		return math.Copysign(1e300, x)
	}
	return 1 / x
}

// enter returns the T at which the ray enters the box of child k, and whether
// it meets the box before the best hit so far.
func (c *cast) enter(n *node, k int) (float64, bool) {
	lo, hi := &n.lo[k], &n.hi[k]
	near, far := 0.0, c.hit.T
	for i := range 3 {
		a := (float64(lo[i]) - c.origin[i]) * c.inv[i]
		b := (float64(hi[i]) - c.origin[i]) * c.inv[i]
		near = max(near, min(a, b)*(2-roundSlack))
		far = min(far, max(a, b)*roundSlack)
	}
	return near, near <= far*roundSlack
}

func (c *cast) run() {
	var stack [maxDepth + 2]waiting
	top := 0
	stack[0] = waiting{0, 0}
	for top >= 0 {
		w := stack[top]
		top--
		if w.distSq > c.hit.T*roundSlack {
			continue
		}
		if w.ref < 0 {
			c.leaf(w.ref)
			continue
		}
		n := &c.t.nodes[w.ref]
		t0, ok0 := c.enter(n, 0)
		t1, ok1 := c.enter(n, 1)
		first, second := waiting{n.ref[0], t0}, waiting{n.ref[1], t1}
		if t1 < t0 {
			first, second, ok0, ok1 = second, first, ok1, ok0
		}
		if ok1 {
			top++
			stack[top] = second
		}
		if ok0 {
			top++
			stack[top] = first
		}
	}
}

func (c *cast) leaf(ref int32) {
	first, end := leaf(ref)
	for _, f := range c.t.order[first:end] {
		a, b, d := c.t.m.Corner(f)
		t, ok := c.shear.hit(a, b, d)
		if ok && (t < c.hit.T || t == c.hit.T && f < c.hit.Facet) {
			c.hit = RayHit{f, t}
		}
	}
}
