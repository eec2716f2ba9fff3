package shape

import "math"

// Crown is the half section of a closed crown over a Prep: a level top, a
// straight slope to the height of contour, a straight profile from there to
// the margin edge, a level rim and ledge, and the cavity at an even distance
// from the preparation.
type Crown struct {
	Prep
	Cement    float64 // mm between wall or top and cavity
	Gap       float64 // height of the margin edge above the finish line, mm
	Overhang  float64 // reach of the margin edge beyond the finish line, mm
	Emergence float64 // degrees: lean of the profile above the margin, outward
	Length    float64 // of that straight profile, mm
	Top       float64 // thickness over the level top, mm
}

// Margin returns the margin edge.
func (c Crown) Margin() Point { return Point{c.Radius + c.Overhang, c.Gap} }

// Contour returns the height of contour, where the straight profile ends.
func (c Crown) Contour() Point {
	s, k := math.Sincos(c.Emergence * math.Pi / 180)
	e := c.Margin()
	return Point{e.R + c.Length*s, e.Z + c.Length*k}
}

// CavityAt returns the distance of the cavity's wall from the axis at a height.
func (c Crown) CavityAt(z float64) float64 {
	return c.WallAt(z) + c.Cement/math.Cos(c.Taper*math.Pi/180)
}

// Path returns the half section, from the top's middle round to the cavity's.
func (c Crown) Path() Path {
	top := c.Height + c.Cement + c.Top
	out := Path{{0, top}, {c.Contour().R - 0.3, top}, c.Contour(), c.Margin(), {c.CavityAt(c.Gap), c.Gap}}
	rim := Path{}.Arc(c.Center(), c.Rim+c.Cement, c.Taper, 90, rimKnots)
	return append(append(out, rim...), Point{0, c.Height + c.Cement})
}
