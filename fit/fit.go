package fit

import (
	"math"

	"crownassay/geom"
)

// FitSphere fits a sphere from a start, or from one that it finds itself when
// start is nil.
func FitSphere(pts []geom.Vec, start *Sphere, o Options) (Sphere, Quality, error) {
	if start == nil {
		s, err := startSphere(pts)
		if err != nil {
			return Sphere{}, Quality{}, err
		}
		start = &s
	}
	s, q, err := settle(ball{*start}, pts, o)
	return s.(ball).Sphere, q, err
}

// FitPlane fits a plane. The normal keeps the side of the start's.
func FitPlane(pts []geom.Vec, start *Plane, o Options) (Plane, Quality, error) {
	if start == nil {
		s, err := startPlane(pts)
		if err != nil {
			return Plane{}, Quality{}, err
		}
		start = &s
	}
	at := *start
	at.At = at.At.Add(middle(pts).Sub(at.At).Reject(at.Normal))
	s, q, err := settle(flat{at}, pts, o)
	return s.(flat).Plane, q, err
}

// FitCylinder fits a cylinder. The axis keeps the direction of the start's.
func FitCylinder(pts []geom.Vec, start *Cylinder, o Options) (Cylinder, Quality, error) {
	if start == nil {
		s, err := startCylinder(pts)
		if err != nil {
			return Cylinder{}, Quality{}, err
		}
		start = &s
	}
	at := *start
	at.At = at.At.Add(at.Axis.Mul(middle(pts).Sub(at.At).Dot(at.Axis)))
	s, q, err := settle(pipe{at}, pts, o)
	return s.(pipe).Cylinder, q, err
}

// FitCone fits a cone. Its half angle comes back positive.
func FitCone(pts []geom.Vec, start *Cone, o Options) (Cone, Quality, error) {
	if start == nil {
		s, err := startCone(pts)
		if err != nil {
			return Cone{}, Quality{}, err
		}
		start = &s
	}
	at := *start
	h := middle(pts).Sub(at.At).Dot(at.Axis)
	at.At, at.Radius = at.At.Add(at.Axis.Mul(h)), at.RadiusAt(h)
	s, q, err := settle(funnel{at}, pts, o)
	c := s.(funnel).Cone
	if c.Half < 0 { // it widens the other way
		c.Axis, c.Half = c.Axis.Neg(), math.Abs(c.Half)
		if err == nil {
			s, q, err = settle(funnel{c}, pts, o)
			c = s.(funnel).Cone
		}
	}
	return c, q, err
}

func middle(pts []geom.Vec) geom.Vec {
	var sum geom.Vec
	for _, p := range pts {
		sum = sum.Add(p)
	}
	return sum.Mul(1 / float64(max(1, len(pts))))
}
