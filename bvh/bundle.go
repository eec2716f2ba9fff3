package bvh

import (
	"math"

	"crownassay/geom"
)

// bundleSlack is how far planes of a bundle may miss lying between its first
// and its last, as a share of the coordinates: rounding of their normals.
const bundleSlack = 1e-10

// bundled reports whether each plane is a sum, with weights of one sign, of the
// first and the last, as planes in order about a line and parallel planes are:
// what lies on one side of these two then lies on that side of all. Offsets are
// seen from o, which is best near the planes.
func bundled(planes []geom.Plane, o geom.Vec) bool {
	if len(planes) < 2 {
		return len(planes) == 1
	}
	a, b := from(o, &planes[0]), from(o, &planes[len(planes)-1])
	aa, ab, bb := a.dot(&a), a.dot(&b), b.dot(&b)
	det := aa*bb - ab*ab
	for i := range planes {
		p := from(o, &planes[i])
		pa, pb := p.dot(&a), p.dot(&b)
		s, t := (pa*bb-pb*ab)/det, (pb*aa-pa*ab)/det
		if !(s >= -bundleSlack && t >= -bundleSlack) {
			return false
		}
		for k := range p {
			if !(math.Abs(p[k]-s*a[k]-t*b[k]) <= bundleSlack*(1+math.Abs(p[k]))) {
				return false
			}
		}
	}
	return true
}

// vec4 is a plane as four numbers: its normal and its offset.
type vec4 [4]float64

func from(o geom.Vec, p *geom.Plane) vec4 {
	return vec4{p.Normal.X, p.Normal.Y, p.Normal.Z, -p.Side(o)}
}

func (a *vec4) dot(b *vec4) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] + a[3]*b[3] }

// lean tells from the first and the last plane of a bundle which boxes none
// of its planes can cut.
type lean struct {
	plane [2]geom.Plane
	abs   [2]geom.Vec // normals with positive components
	grow  float64     // share of the coordinates by which boxes are grown
	plain float64     // mm: farther from both planes a corner lies plainly on one side
}

// newLean looks at a bundle that cuts what lies in a box.
func newLean(planes []geom.Plane, box geom.Box) lean {
	l := lean{plane: [2]geom.Plane{planes[0], planes[len(planes)-1]}, grow: roundGrow}
	if len(planes) > 1 {
		l.grow = 4 * bundleSlack
	}
	for i, p := range l.plane {
		l.abs[i] = geom.Vec{X: math.Abs(p.Normal.X), Y: math.Abs(p.Normal.Y), Z: math.Abs(p.Normal.Z)}
		l.plain = max(l.plain, l.grow*(3*largest(box)+math.Abs(p.Offset)))
	}
	return l
}

// passes reports whether a facet lies plainly on one side of both planes, and
// so of all of the bundle.
func (l *lean) passes(p, q, r *geom.Vec) bool {
	a, b := &l.plane[0], &l.plane[1]
	s, t := a.Side(*p), b.Side(*p)
	switch {
	case s > l.plain && t > l.plain:
		return a.Side(*q) > l.plain && b.Side(*q) > l.plain && a.Side(*r) > l.plain && b.Side(*r) > l.plain
	case s < -l.plain && t < -l.plain:
		return a.Side(*q) < -l.plain && b.Side(*q) < -l.plain && a.Side(*r) < -l.plain && b.Side(*r) < -l.plain
	}
	return false
}

// meets reports whether a plane of the bundle may cut the box.
func (l *lean) meets(b *box32) bool {
	lo, hi := vec(&b[0]), vec(&b[1])
	mid, half := lo.Add(hi).Mul(0.5), hi.Sub(lo).Mul(0.5)
	s, e := l.over(0, mid, half)
	if math.Abs(s) <= e {
		return true
	}
	t, f := l.over(1, mid, half)
	return math.Abs(t) <= f || (s > 0) != (t > 0)
}

// over returns the side of a box's middle and how far its corners may lie to
// either side of that.
func (l *lean) over(i int, mid, half geom.Vec) (side, reach float64) {
	p, abs := &l.plane[i], &l.abs[i]
	size := abs.X*math.Abs(mid.X) + abs.Y*math.Abs(mid.Y) + abs.Z*math.Abs(mid.Z) + math.Abs(p.Offset)
	return p.Side(mid), abs.Dot(half) + size*l.grow
}
