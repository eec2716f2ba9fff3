package geom

// Plane is the set of points x with Normal . x = Offset; Normal is a unit
// vector, so that Side is a distance in millimetres.
type Plane struct {
	Normal Vec
	Offset float64
}

// PlaneThrough returns the plane through p square to the unit vector normal.
func PlaneThrough(p, normal Vec) Plane { return Plane{normal, normal.Dot(p)} }

// Side returns the signed distance of p, positive on the side that Normal
// points to.
func (pl Plane) Side(p Vec) float64 { return pl.Normal.Dot(p) - pl.Offset }
