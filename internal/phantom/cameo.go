package phantom

import (
	"context"
	"math"

	"crownassay/geom"
)

// The way over which an outer surface comes from its margin edge back to the
// natural tooth, mm: a designed crown soon, an old bulky restoration later.
const (
	cameoFade = 1.6
	bulkyFade = 3.5
)

// cameoCentre is the height of the rays' start as a share of the crown's length:
// so low that a ray that has left a fossa meets no ridge behind it.
const cameoCentre = 0.1

// cameo is the outer surface of a restoration: the natural crown along rays
// from its middle, brought to the margin edge over the lowest part and
// changed by hills.
type cameo struct {
	nat    *natural
	length float64
	fade   float64 // way from the margin edge to the natural tooth, mm
	reach  loop    // margin edge: distance from the axis
	height loop    // margin edge: height
	low    loop    // margin edge: elevation of its ray
	shift  loop    // margin edge: how much farther out than the natural crown
	mounds []mound
	error  *wave // of a milled copy; nil for none
	runs   float64
}

// mound is a hill laid out: the direction of its middle, its half width as an
// angle's chord, its rise along the rays.
type mound struct {
	dir        geom.Vec
	half, rise float64
}

// outer is the shape that an outer surface follows away from its margin edge:
// its level, its length above the cervix, and the way over which it is reached.
type outer struct {
	level        func(geom.Vec) float64
	length, fade float64
}

// newCameo lays an outer surface over the margin edge.
func newCameo(ctx context.Context, c outer, p *prep, margin func(a float64) point2) (*cameo, error) {
	o := &cameo{nat: newNatural(c.level, cameoCentre*c.length, p.finish, p.border), length: c.length, fade: c.fade}
	o.runs = o.nat.crownQ
	loops, err := newLoops(ctx, 4, func(a float64) []float64 {
		m := margin(a)
		e := math.Atan2(m.z-o.nat.centre, m.r)
		r := math.Hypot(m.z-o.nat.centre, m.r)
		return []float64{m.r, m.z, e, r - o.nat.cast(a, e, r)}
	})
	if err == nil {
		o.reach, o.height, o.low, o.shift = loops[0], loops[1], loops[2], loops[3]
	}
	return o, err
}

// margin is the margin edge in the half plane of azimuth a.
func (o *cameo) margin(a float64) point2 { return point2{o.reach.at(a), o.height.at(a)} }

// along is the surface's distance from the middle on a ray.
func (o *cameo) along(a, e, guess float64) float64 {
	r := o.nat.cast(a, e, guess)
	x := (e - o.low.at(a)) * o.reach.at(a) / o.fade
	if x < 1 {
		r += o.shift.at(a) * (1 - step(x))
	}
	d := unitRay(a, e)
	if o.error != nil {
		r += o.error.at(d.Mul(o.length/2)) * step(x)
	}
	for i := range o.mounds {
		m := &o.mounds[i]
		if x := m.dir.Dist(d) / m.half; x < 1 {
			r += m.rise * bump(x)
		}
	}
	return r
}

func unitRay(a, e float64) geom.Vec {
	sa, ca := math.Sincos(a)
	se, ce := math.Sincos(e)
	return geom.Vec{X: ce * ca, Y: ce * sa, Z: se}
}

// elevation turns the share t of the way from the pole to the margin edge into
// the elevation of the ray, and a first guess of the distance.
func (o *cameo) elevation(a, t float64) (e, guess float64) {
	e, guess = o.nat.lookup(a, t)
	low, _ := o.nat.lookup(a, 1)
	return e + t*(o.low.at(a)-low), guess
}

// at returns the point at azimuth a and the share t of the way.
func (o *cameo) at(a, t float64) geom.Vec {
	e, guess := o.elevation(a, t)
	return o.nat.on(a, e, o.along(a, e, guess))
}

// The sheet of a cameo surface, even along the profile.
func (o *cameo) span() float64               { return o.runs }
func (o *cameo) point(a, q float64) geom.Vec { return o.at(a, math.Min(1, q/o.runs)) }
func (o *cameo) edge() (float64, bool)       { return 0, false }
func (o *cameo) grain(q float64) float64     { return 0.6 + 0.4*step((o.runs-q-0.5)/1.5) }

// raise adds a hill and returns its place in the list.
func (o *cameo) raise(h Hill) int {
	a := h.Azimuth * degree
	e := math.Pi / 2
	if h.Height < 1 {
		e = o.elevationOf(a, h.Height*o.length)
	}
	r := o.nat.cast(a, e, 4)
	o.mounds = append(o.mounds, mound{unitRay(a, e), h.Half / r, h.Rise})
	return len(o.mounds) - 1
}

// elevationOf finds the lowest ray that meets the natural crown at height z, or
// the one that comes nearest to it.
func (o *cameo) elevationOf(a, z float64) float64 {
	const steps = 100
	low := o.low.at(a)
	ray := func(k float64) float64 { return low + (math.Pi/2-low)*k/steps }
	short := func(e float64) float64 { return z - o.nat.centre - o.nat.cast(a, e, 4)*math.Sin(e) }
	best, nearest := ray(0), math.Inf(1)
	for k := range steps {
		e := ray(float64(k))
		d := short(e)
		if d < 0 && k > 0 {
			return bisect(ray(float64(k)-1), e, func(e float64) bool { return short(e) > 0 })
		}
		if d < nearest {
			best, nearest = e, d
		}
	}
	return best
}

// bisect returns where below turns from true at lo to false at hi.
func bisect(lo, hi float64, below func(float64) bool) float64 {
	for range 50 {
		if x := (lo + hi) / 2; below(x) {
			lo = x
		} else {
			hi = x
		}
	}
	return lo
}
