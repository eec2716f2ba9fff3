package fit

import (
	"math"

	"crownassay/geom"
)

// Sphere has the parameters center x, y, z and radius.
type Sphere struct {
	Center geom.Vec
	Radius float64
}

// Plane has the parameters offset along the normal and the two tilts, rad,
// about At; toward Normal.Normal() and Normal x that.
type Plane struct {
	At, Normal geom.Vec // Normal is a unit vector
}

// Cylinder has the parameters displacement of the axis at At along e1 and e2,
// tilt of the axis toward e1 and e2, rad, and radius, with e1 = Axis.Normal(), e2
// = Axis x e1. At is the foot of the points' middle.
type Cylinder struct {
	At, Axis geom.Vec
	Radius   float64
}

// Cone has the parameters displacement of the axis at At along e1 and e2, tilt
// toward e1 and e2, rad, radius at At and half angle, rad. Axis points to where
// it widens; at height s along it from At the radius is Radius + s tan(Half).
type Cone struct {
	At, Axis geom.Vec
	Radius   float64
	Half     float64
}

// RadiusAt returns the radius at the height s along the axis from At.
func (c Cone) RadiusAt(s float64) float64 { return c.Radius + s*math.Tan(c.Half) }

// Distance returns the signed distance of a point, + outside.
func (s Sphere) Distance(p geom.Vec) float64 { return p.Dist(s.Center) - s.Radius }

// Distance returns the signed distance of a point, + on the normal's side.
func (s Plane) Distance(p geom.Vec) float64 { return p.Sub(s.At).Dot(s.Normal) }

// Distance returns the signed distance of a point, + outside.
func (s Cylinder) Distance(p geom.Vec) float64 {
	return p.Sub(s.At).Reject(s.Axis).Norm() - s.Radius
}

// Distance returns the signed distance of a point from the side of the cone
// that it widens on, + outside.
func (s Cone) Distance(p geom.Vec) float64 {
	x := p.Sub(s.At)
	sin, cos := math.Sincos(s.Half)
	return (x.Reject(s.Axis).Norm()-s.Radius)*cos - x.Dot(s.Axis)*sin
}

// The local forms: angles are displacements at a reach of 1 mm, so radians and
// millimetres mix as they are; the damping is by the diagonal and does not mind.

type ball struct{ Sphere }

func (s ball) size() int { return 4 }

func (s ball) distance(_ int, p geom.Vec, g []float64) float64 {
	x := p.Sub(s.Center)
	r := x.Norm()
	u := x.Unit()
	g[0], g[1], g[2], g[3] = -u.X, -u.Y, -u.Z, -1
	return r - s.Radius
}

func (s ball) foot(_ int, p geom.Vec, r float64) geom.Vec {
	return p.Sub(p.Sub(s.Center).Unit().Mul(r))
}

func (s ball) moved(d []float64) surface {
	return ball{Sphere{s.Center.Add(geom.V(d[0], d[1], d[2])), s.Radius + d[3]}}
}

type flat struct{ Plane }

func (s flat) size() int { return 3 }

func (s flat) distance(_ int, p geom.Vec, g []float64) float64 {
	e1, e2 := across(s.Normal)
	x := p.Sub(s.At)
	g[0], g[1], g[2] = -1, x.Dot(e1), x.Dot(e2)
	return x.Dot(s.Normal)
}

func (s flat) foot(_ int, p geom.Vec, r float64) geom.Vec { return p.Sub(s.Normal.Mul(r)) }

func (s flat) moved(d []float64) surface {
	return flat{Plane{s.At.Add(s.Normal.Mul(d[0])), tilted(s.Normal, d[1], d[2])}}
}

// across returns the two directions square to a unit vector.
func across(a geom.Vec) (e1, e2 geom.Vec) {
	e1 = a.Normal()
	return e1, a.Cross(e1)
}

func tilted(a geom.Vec, t1, t2 float64) geom.Vec {
	e1, e2 := across(a)
	return a.Add(e1.Mul(t1)).Add(e2.Mul(t2)).Unit()
}

type pipe struct{ Cylinder }

func (s pipe) size() int { return 5 }

func (s pipe) distance(_ int, p geom.Vec, g []float64) float64 {
	e1, e2 := across(s.Axis)
	x := p.Sub(s.At)
	q := x.Reject(s.Axis)
	u, h := q.Unit(), x.Dot(s.Axis)
	c1, c2 := u.Dot(e1), u.Dot(e2)
	g[0], g[1], g[2], g[3], g[4] = -c1, -c2, -h*c1, -h*c2, -1
	return q.Norm() - s.Radius
}

func (s pipe) foot(_ int, p geom.Vec, r float64) geom.Vec {
	return p.Sub(p.Sub(s.At).Reject(s.Axis).Unit().Mul(r))
}

func (s pipe) moved(d []float64) surface {
	e1, e2 := across(s.Axis)
	return pipe{Cylinder{s.At.Add(e1.Mul(d[0])).Add(e2.Mul(d[1])), tilted(s.Axis, d[2], d[3]), s.Radius + d[4]}}
}

type funnel struct{ Cone }

func (s funnel) size() int { return 6 }

func (s funnel) distance(_ int, p geom.Vec, g []float64) float64 {
	e1, e2 := across(s.Axis)
	sin, cos := math.Sincos(s.Half)
	x := p.Sub(s.At)
	q := x.Reject(s.Axis)
	u, h, r := q.Unit(), x.Dot(s.Axis), q.Norm()
	c1, c2 := u.Dot(e1), u.Dot(e2)
	turn := h*cos + r*sin
	g[0], g[1], g[2], g[3] = -cos*c1, -cos*c2, -turn*c1, -turn*c2
	g[4], g[5] = -cos, -(r-s.Radius)*sin-h*cos
	return (r-s.Radius)*cos - h*sin
}

func (s funnel) foot(_ int, p geom.Vec, r float64) geom.Vec {
	sin, cos := math.Sincos(s.Half)
	u := p.Sub(s.At).Reject(s.Axis).Unit()
	return p.Sub(u.Mul(r * cos)).Add(s.Axis.Mul(r * sin))
}

func (s funnel) moved(d []float64) surface {
	e1, e2 := across(s.Axis)
	return funnel{Cone{s.At.Add(e1.Mul(d[0])).Add(e2.Mul(d[1])), tilted(s.Axis, d[2], d[3]), s.Radius + d[4], s.Half + d[5]}}
}
