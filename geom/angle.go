package geom

import "math"

// CornerAngle returns the angle at a in the triangle abc, radians; 0 where a
// side from a has no length.
func CornerAngle(a, b, c Vec) float64 {
	u, v := b.Sub(a), c.Sub(a)
	return math.Atan2(u.Cross(v).Norm(), u.Dot(v))
}
