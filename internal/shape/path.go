package shape

import (
	"math"

	"crownassay/geom"
)

// Point is a point of a half plane: distance from the axis and height, mm.
type Point struct{ R, Z float64 }

// To returns the point at share t of the way to b.
func (a Point) To(b Point, t float64) Point { return Point{a.R + t*(b.R-a.R), a.Z + t*(b.Z-a.Z)} }

// Dist returns the distance between two points of one half plane.
func (a Point) Dist(b Point) float64 { return math.Hypot(a.R-b.R, a.Z-b.Z) }

// At returns the point in space at an azimuth in degrees.
func (a Point) At(azimuth float64) geom.Vec {
	s, c := math.Sincos(azimuth * math.Pi / 180)
	return geom.V(a.R*c, a.R*s, a.Z)
}

// Path is a line in a half plane, from the axis outward, the outside on its
// left. Its knots become rows of vertices.
type Path []Point

// Arc appends knots of the circle round c from one angle to another, both
// ends included; angles in degrees from outward (0) to up (90).
func (p Path) Arc(c Point, radius, from, to float64, knots int) Path {
	for k := range knots {
		s, co := math.Sincos((from + (to-from)*float64(k)/float64(knots-1)) * math.Pi / 180)
		p = append(p, Point{c.R + radius*co, c.Z + radius*s})
	}
	return p
}
