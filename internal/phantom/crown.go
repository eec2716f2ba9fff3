package phantom

import (
	"math"

	"crownassay/geom"
)

// grooveWidth is the rounding of the grooves where two cusps meet, mm.
const grooveWidth = 0.22

// crown is a natural tooth crown: the set where level is below zero. z = 0 is
// the cervix and z = length the highest cusp tip.
type crown struct {
	anatomy
	hills                []hill
	grooveSin, grooveCos float64
}

// hill is a rounded cone or wedge in tooth coordinates.
type hill struct {
	x, y, top     float64
	ux, uy        float64 // unit direction of the ridge to the fossa
	along, across float64
	half          float64 // half length of a ridge along (ux, uy); 0 for a cusp
	round         float64
}

// newCrown lays out the hills of an anatomy.
func newCrown(a anatomy) *crown {
	c := &crown{anatomy: a}
	c.grooveSin, c.grooveCos = math.Sincos(a.grooveAt)
	for _, q := range a.cusps {
		x, y := q.x*a.md/2, q.y*a.bl/2
		n := math.Hypot(x, y)
		c.hills = append(c.hills, hill{x: x, y: y, top: a.length - q.drop, ux: -x / n, uy: -y / n,
			along: q.along, across: q.across, round: 0.35})
	}
	for _, q := range a.ridges {
		x0, y0, x1, y1 := q.x0*a.md/2, q.y0*a.bl/2, q.x1*a.md/2, q.y1*a.bl/2
		n := math.Hypot(x1-x0, y1-y0)
		c.hills = append(c.hills, hill{x: (x0 + x1) / 2, y: (y0 + y1) / 2, top: a.length - q.drop,
			ux: (x1 - x0) / n, uy: (y1 - y0) / n, along: q.slope, across: q.slope, half: n / 2, round: 0.3})
	}
	return c
}

// height returns the hill's height above the cervix at (x, y).
func (h *hill) height(x, y float64) float64 {
	dx, dy := x-h.x, y-h.y
	u := dx*h.ux + dy*h.uy
	v := dy*h.ux - dx*h.uy
	u = math.Copysign(math.Max(0, math.Abs(u)-h.half), u)
	u, v = u*h.along, v*h.across
	return h.top + h.round - math.Sqrt(h.round*h.round+u*u+v*v)
}

// relief returns the height of the occlusal surface at (x, y).
func (c *crown) relief(x, y float64) float64 {
	z := c.hills[0].height(x, y)
	for i := 1; i < len(c.hills); i++ {
		z = smoothMax(z, c.hills[i].height(x, y), grooveWidth)
	}
	return z
}

// outline returns the radius of the crown's side at height z, azimuth given
// by its cosine and sine.
func (c *crown) outline(cs, sn, z float64) float64 {
	h := z / c.length
	px, py := c.mesial, c.buccal
	if cs < 0 {
		px = c.distal
	}
	if sn < 0 {
		py = c.lingual
	}
	if c.front {
		return c.frontOutline(cs, sn, h)
	}
	x := math.Abs(cs) / (px.at(h) * c.md / 2)
	y := math.Abs(sn) / (py.at(h) * c.bl / 2)
	// The superellipse's radius, with the larger share taken out of the root.
	if x < y {
		x, y = y, x
	}
	r := math.Pow(1+math.Pow(y/x, c.power), -1/c.power) / x
	return r * (1 + c.skew*2*sn*cs)
}

// frontOutline is the outline of an incisor or canine, whose section is not
// centred: its middle moves to the face with the height.
func (c *crown) frontOutline(cs, sn, h float64) float64 {
	b, l := c.buccal.at(h)*c.bl/2, c.lingual.at(h)*c.bl/2
	mid, half := (b-l)/2, math.Max(0.35, (b+l)/2)
	w := math.Max(0.35, c.mesial.at(h)*c.md/2)
	lo, hi := 0.0, w+half+math.Abs(mid)
	for range 40 {
		r := (lo + hi) / 2
		if math.Pow(math.Abs(r*cs)/w, c.power)+math.Pow(math.Abs(r*sn-mid)/half, c.power) < 1 {
			lo = r
		} else {
			hi = r
		}
	}
	return (lo + hi) / 2
}

// couldHold reports whether p is less than 0.5 mm outside the crown's bounds.
func (c *crown) couldHold(p geom.Vec) bool {
	return p.Z < c.length+0.5 && math.Abs(p.X) < c.md/2+0.7 && math.Abs(p.Y) < c.bl/2+0.7
}

// level is negative inside the crown and close to a distance near its surface.
func (c *crown) level(p geom.Vec) float64 {
	r := math.Sqrt(p.X*p.X + p.Y*p.Y)
	if r < 1e-12 {
		return p.Z - c.relief(p.X, p.Y)
	}
	return smoothMax(p.Z-c.relief(p.X, p.Y), c.side(p, r), c.blend)
}

func (c *crown) side(p geom.Vec, r float64) float64 {
	cs, sn := p.X/r, p.Y/r
	if c.front {
		h := p.Z / c.length
		b, l := c.buccal.at(h)*c.bl/2, c.lingual.at(h)*c.bl/2
		mid, half := (b-l)/2, math.Max(0.35, (b+l)/2)
		w := math.Max(0.35, c.mesial.at(h)*c.md/2)
		q := math.Pow(math.Pow(math.Abs(p.X)/w, c.power)+math.Pow(math.Abs(p.Y-mid)/half, c.power), 1/c.power)
		return (q - 1) * half
	}
	s := r - c.outline(cs, sn, p.Z)
	if c.groove > 0 {
		// The angle from the groove; near it the sine is the angle.
		d := (sn*c.grooveCos - cs*c.grooveSin) / 0.13
		if cs*c.grooveCos+sn*c.grooveSin > 0 && d*d < 30 {
			s += c.groove * math.Exp(-d*d) * step((p.Z/c.length-0.45)/0.4)
		}
	}
	return s
}
