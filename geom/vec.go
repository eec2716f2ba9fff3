package geom

import "math"

// Vec is a point or a direction in space, millimetres.
type Vec struct{ X, Y, Z float64 }

// V makes a Vec.
func V(x, y, z float64) Vec { return Vec{x, y, z} }

// Add returns a + b.
func (a Vec) Add(b Vec) Vec { return Vec{a.X + b.X, a.Y + b.Y, a.Z + b.Z} }

// Sub returns a - b.
func (a Vec) Sub(b Vec) Vec { return Vec{a.X - b.X, a.Y - b.Y, a.Z - b.Z} }

// Mul returns a scaled by s.
func (a Vec) Mul(s float64) Vec { return Vec{a.X * s, a.Y * s, a.Z * s} }

// Neg returns -a.
func (a Vec) Neg() Vec { return Vec{-a.X, -a.Y, -a.Z} }

// Dot returns the scalar product. The products are rounded one by one, so
// that no fused multiply-add changes a digit between machines.
func (a Vec) Dot(b Vec) float64 {
	return float64(a.X*b.X) + float64(a.Y*b.Y) + float64(a.Z*b.Z)
}

// Cross returns the vector product, products rounded one by one.
func (a Vec) Cross(b Vec) Vec {
	return Vec{
		float64(a.Y*b.Z) - float64(a.Z*b.Y),
		float64(a.Z*b.X) - float64(a.X*b.Z),
		float64(a.X*b.Y) - float64(a.Y*b.X),
	}
}

// NormSq returns the squared length.
func (a Vec) NormSq() float64 { return a.Dot(a) }

// Norm returns the length.
func (a Vec) Norm() float64 { return math.Sqrt(a.Dot(a)) }

// Dist returns the distance between a and b.
func (a Vec) Dist(b Vec) float64 { return a.Sub(b).Norm() }

// DistSq returns the squared distance between a and b.
func (a Vec) DistSq(b Vec) float64 { return a.Sub(b).NormSq() }

// Unit returns a scaled to length 1; the zero vector stays zero.
func (a Vec) Unit() Vec {
	n := a.Norm()
	if n == 0 {
		return a
	}
	return a.Mul(1 / n)
}

// Lerp returns a + t (b - a).
func (a Vec) Lerp(b Vec, t float64) Vec { return a.Add(b.Sub(a).Mul(t)) }

// Finite reports whether no coordinate is NaN or infinite.
func (a Vec) Finite() bool {
	s := a.X + a.Y + a.Z
	return !math.IsNaN(s) && !math.IsInf(s, 0) &&
		!math.IsInf(a.X, 0) && !math.IsInf(a.Y, 0) && !math.IsInf(a.Z, 0)
}

// Reject returns the part of a square to the unit vector n.
func (a Vec) Reject(n Vec) Vec { return a.Sub(n.Mul(a.Dot(n))) }

// Normal returns a unit vector square to a, the same one for the same a.
func (a Vec) Normal() Vec {
	if math.Abs(a.X) < 0.7*a.Norm() {
		return Vec{1, 0, 0}.Cross(a).Unit()
	}
	return Vec{0, 1, 0}.Cross(a).Unit()
}
