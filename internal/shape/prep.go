package shape

import "math"

// Prep is the half section of a preparation: a level top, a rounded rim, a
// straight wall, a level ledge and the root. The finish line is at height 0.
// The zero fields mean: no ledge, a sharp rim.
type Prep struct {
	Radius float64 // of the finish line, mm
	Width  float64 // of the ledge from the wall to the finish line, mm
	Height float64 // of the top above the finish line, mm
	Taper  float64 // degrees: the wall leans to the axis going up
	Rim    float64 // radius of the rim between wall and top, mm
	Root   float64 // degrees by which the root leans to the axis going down
	Deep   float64 // how far the root goes down, mm
}

// rimKnots is how many knots a rounded rim has: 6 degrees apart, sagitta
// 0.0014 of the radius.
const rimKnots = 16

// WallAt returns the distance of the wall's straight line from the axis at a
// height.
func (p Prep) WallAt(z float64) float64 { return p.Radius - p.Width - z*tan(p.Taper) }

// Center returns the middle of the rim's arc.
func (p Prep) Center() Point {
	z := p.Height - p.Rim
	s, c := math.Sincos(p.Taper * math.Pi / 180)
	return Point{p.WallAt(z+p.Rim*s) - p.Rim*c, z}
}

// Edge returns the occlusoaxial line angle: the point of the rim inclined 45
// degrees to the axis.
func (p Prep) Edge() Point {
	c := p.Center()
	return Point{c.R + p.Rim*math.Sqrt2/2, c.Z + p.Rim*math.Sqrt2/2}
}

// Path returns the half section.
func (p Prep) Path() Path { return p.PathWith(nil) }

// PathWith is Path with further knots on the wall, given from the top down.
func (p Prep) PathWith(wall []Point) Path {
	out := Path{{0, p.Height}}
	if p.Rim > 0 {
		out = out.Arc(p.Center(), p.Rim, 90, p.Taper, rimKnots)
	} else {
		out = append(out, Point{p.WallAt(p.Height), p.Height})
	}
	out = append(out, wall...)
	if p.Width > 0 {
		out = append(out, Point{p.Radius - p.Width, 0})
	}
	return append(out, Point{p.Radius, 0}, Point{p.Radius - p.Deep*tan(p.Root), -p.Deep})
}

func tan(deg float64) float64 { return math.Tan(deg * math.Pi / 180) }
