package geom

import "math"

// Mat3 is a 3 x 3 matrix, rows first.
type Mat3 [3][3]float64

// Identity returns the unit matrix.
func Identity() Mat3 { return Mat3{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}} }

// Apply returns m v.
func (m Mat3) Apply(v Vec) Vec {
	return Vec{
		float64(m[0][0]*v.X) + float64(m[0][1]*v.Y) + float64(m[0][2]*v.Z),
		float64(m[1][0]*v.X) + float64(m[1][1]*v.Y) + float64(m[1][2]*v.Z),
		float64(m[2][0]*v.X) + float64(m[2][1]*v.Y) + float64(m[2][2]*v.Z),
	}
}

// Transpose returns the transposed matrix, which is the inverse of a rotation.
func (m Mat3) Transpose() Mat3 {
	return Mat3{{m[0][0], m[1][0], m[2][0]}, {m[0][1], m[1][1], m[2][1]}, {m[0][2], m[1][2], m[2][2]}}
}

// Times returns m n.
func (m Mat3) Times(n Mat3) Mat3 {
	var r Mat3
	for i := range 3 {
		for j := range 3 {
			r[i][j] = float64(m[i][0]*n[0][j]) + float64(m[i][1]*n[1][j]) + float64(m[i][2]*n[2][j])
		}
	}
	return r
}

// RotationAbout returns the rotation by angle (radians, right-handed) about
// the unit vector axis (Rodrigues' formula).
func RotationAbout(axis Vec, angle float64) Mat3 {
	s, c := math.Sincos(angle)
	col := func(v Vec) Vec {
		return v.Mul(c).Add(axis.Cross(v).Mul(s)).Add(axis.Mul(axis.Dot(v) * (1 - c)))
	}
	x, y, z := col(Vec{1, 0, 0}), col(Vec{0, 1, 0}), col(Vec{0, 0, 1})
	return Mat3{{x.X, y.X, z.X}, {x.Y, y.Y, z.Y}, {x.Z, y.Z, z.Z}}
}

// Rigid is the motion x -> R x + T; R is a rotation.
type Rigid struct {
	R Mat3
	T Vec
}

// Still returns the motion that moves nothing.
func Still() Rigid { return Rigid{R: Identity()} }

// Apply moves a point.
func (g Rigid) Apply(p Vec) Vec { return g.R.Apply(p).Add(g.T) }

// Turn moves a direction: rotation only.
func (g Rigid) Turn(d Vec) Vec { return g.R.Apply(d) }

// Inverse returns the motion that undoes g.
func (g Rigid) Inverse() Rigid {
	r := g.R.Transpose()
	return Rigid{r, r.Apply(g.T).Neg()}
}

// After returns the motion that does h first, then g.
func (g Rigid) After(h Rigid) Rigid { return Rigid{g.R.Times(h.R), g.R.Apply(h.T).Add(g.T)} }
