package bvh

import (
	"math"

	"crownassay/geom"
)

// patch is the oriented box of a leaf. It lies along the surface and is thin
// across it, so it keeps out most queries that the leaf's upright box, which
// sticks out on both sides of a slanting surface, lets through.
type patch struct {
	c, u, v, n [3]float32 // centre; three directions, square to one another but for rounding
	h          [3]float32 // half edges along them, grown outward
	_          float32    // fills the line of 64 bytes
}

// newPatch returns the oriented box of the slots [first, end), grown by grow.
func (t *Tree) newPatch(first, end int32, grow float64) patch {
	n, u := t.tangent(first, end)
	p := patch{u: float32s(u), v: float32s(n.Cross(u)), n: float32s(n)}
	o := t.m.V[t.tri[first][0]]
	lo, hi := t.extent(first, end, &p, o)
	mid, half := lo.Add(hi).Mul(0.5), hi.Sub(lo).Mul(0.5)
	c := o.Add(vec(&p.u).Mul(mid.X)).Add(vec(&p.v).Mul(mid.Y)).Add(vec(&p.n).Mul(mid.Z))
	p.c = float32s(c)
	// The three directions are square only to 2^-24 or so: what the mid-point
	// misses by that, and by its own rounding, goes into the half edges.
	d := vec(&p.c).Sub(o)
	p.h = [3]float32{
		up(half.X + math.Abs(vec(&p.u).Dot(d)-mid.X) + grow),
		up(half.Y + math.Abs(vec(&p.v).Dot(d)-mid.Y) + grow),
		up(half.Z + math.Abs(vec(&p.n).Dot(d)-mid.Z) + grow),
	}
	return p
}

// tangent returns a unit normal of the slots' facets, weighted by area, and
// the direction of the longest edge square to it.
func (t *Tree) tangent(first, end int32) (n, u geom.Vec) {
	for i := first; i < end; i++ {
		a, b, c := t.corners(i)
		ab, bc := b.Sub(*a), c.Sub(*b)
		n = n.Add(ab.Cross(bc))
		for _, e := range [3]geom.Vec{ab, bc, a.Sub(*c)} {
			if e.NormSq() > u.NormSq() {
				u = e
			}
		}
	}
	if n = n.Unit(); n == (geom.Vec{}) {
		n = u.Normal()
	}
	if u = u.Reject(n).Unit(); u == (geom.Vec{}) {
		u = n.Normal()
	}
	return n, u
}

// extent returns the bounds of the slots' corners along p's directions, seen
// from o.
func (t *Tree) extent(first, end int32, p *patch, o geom.Vec) (lo, hi geom.Vec) {
	inf := math.Inf(1)
	lo, hi = geom.Vec{X: inf, Y: inf, Z: inf}, geom.Vec{X: -inf, Y: -inf, Z: -inf}
	u, v, n := vec(&p.u), vec(&p.v), vec(&p.n)
	for _, tri := range t.tri[first:end] {
		for _, k := range tri {
			d := t.m.V[k].Sub(o)
			x, y, z := u.Dot(d), v.Dot(d), n.Dot(d)
			lo = geom.Vec{X: min(lo.X, x), Y: min(lo.Y, y), Z: min(lo.Z, z)}
			hi = geom.Vec{X: max(hi.X, x), Y: max(hi.Y, y), Z: max(hi.Z, z)}
		}
	}
	return lo, hi
}

// distSq returns the squared distance from (x, y, z), seen from the centre, to
// the patch, with an error in its root of prismSlack: along each direction five
// roundings of float32, 3e-7 of the coordinates, and 4e-7 of the distance
// because the directions are not quite square to one another.
func (p *patch) distSq(x, y, z float32) float32 {
	a := over(p.u[0]*x+p.u[1]*y+p.u[2]*z, p.h[0])
	b := over(p.v[0]*x+p.v[1]*y+p.v[2]*z, p.h[1])
	c := over(p.n[0]*x+p.n[1]*y+p.n[2]*z, p.h[2])
	return a*a + b*b + c*c
}

// over is how far |x| is over h, else 0.
func over(x, h float32) float32 {
	d := int32(math.Float32bits(math.Float32frombits(math.Float32bits(x)&^(1<<31)) - h))
	return math.Float32frombits(uint32(max(d, 0)))
}

func float32s(v geom.Vec) [3]float32 {
	return [3]float32{float32(v.X), float32(v.Y), float32(v.Z)}
}

func vec(v *[3]float32) geom.Vec {
	return geom.Vec{X: float64(v[0]), Y: float64(v[1]), Z: float64(v[2])}
}
