package align

import (
	"math"

	"crownassay/geom"
)

// Frame is the tooth's frame: origin at the centroid of the finish line, Z
// the placement axis (outward to the occlusal), X mesial square to Z, Y
// buccal. It is left-handed in quadrants 1 and 3. X, Y and Z are unit vectors
// square to one another.
type Frame struct {
	Origin  geom.Vec
	X, Y, Z geom.Vec
}

// NewFrame makes a frame from an origin, an axis, any direction x that is not
// along the axis, and the handedness (x x y).z, +1 or -1.
func NewFrame(origin, axis, x geom.Vec, hand float64) Frame {
	z := axis.Unit()
	ex := x.Reject(z)
	if ex.NormSq() < 1e-12*x.NormSq() || x.NormSq() == 0 {
		ex = z.Normal()
	}
	ex = ex.Unit()
	return Frame{Origin: origin, X: ex, Y: z.Cross(ex).Mul(hand), Z: z}
}

// Hand returns (X x Y).Z, +1 or -1.
func (f Frame) Hand() float64 {
	if f.X.Cross(f.Y).Dot(f.Z) < 0 {
		return -1
	}
	return 1
}

// Local returns the coordinates of p in the frame.
func (f Frame) Local(p geom.Vec) geom.Vec {
	d := p.Sub(f.Origin)
	return geom.V(d.Dot(f.X), d.Dot(f.Y), d.Dot(f.Z))
}

// World returns the point with the given coordinates in the frame.
func (f Frame) World(q geom.Vec) geom.Vec {
	return f.Origin.Add(f.X.Mul(q.X)).Add(f.Y.Mul(q.Y)).Add(f.Z.Mul(q.Z))
}

// Direction returns the unit direction square to the axis at an azimuth in
// degrees.
func (f Frame) Direction(azimuth float64) geom.Vec {
	s, c := math.Sincos(azimuth * math.Pi / 180)
	return f.X.Mul(c).Add(f.Y.Mul(s))
}

// At returns the point at an azimuth (degrees), distance r from the axis and
// height z.
func (f Frame) At(azimuth, r, z float64) geom.Vec {
	return f.Origin.Add(f.Direction(azimuth).Mul(r)).Add(f.Z.Mul(z))
}

// Azimuth returns the azimuth of p in degrees, 0 to 360.
func (f Frame) Azimuth(p geom.Vec) float64 {
	d := p.Sub(f.Origin)
	a := math.Atan2(d.Dot(f.Y), d.Dot(f.X)) * 180 / math.Pi
	if a < 0 {
		a += 360
	}
	return a
}

// Cylinder returns azimuth (degrees), distance from the axis and height of p.
func (f Frame) Cylinder(p geom.Vec) (azimuth, r, z float64) {
	q := f.Local(p)
	a := math.Atan2(q.Y, q.X) * 180 / math.Pi
	if a < 0 {
		a += 360
	}
	return a, math.Sqrt(q.X*q.X + q.Y*q.Y), q.Z
}
