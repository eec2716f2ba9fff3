package geom

import "math"

// orientBound times the permanent bounds the rounding error of Orient's
// determinant: (7 + 56 e) e with e = 2^-53, the bound A of orient3d in
// J. R. Shewchuk, Adaptive precision floating-point arithmetic and fast robust
// geometric predicates, Discrete & Computational Geometry 18 (1997) 305-363.
const orientBound = (7 + 56.0/(1<<53)) / (1 << 53)

// Orient tells on which side of the plane through a, b, c the point d lies: +1
// on the side from which a, b, c are seen clockwise, -1 on the other, 0 on the
// plane or nearer to it than rounding can tell.
func Orient(a, b, c, d Vec) int {
	u, v, w := a.Sub(d), b.Sub(d), c.Sub(d)
	x1, x2 := float64(v.X*w.Y), float64(w.X*v.Y)
	y1, y2 := float64(w.X*u.Y), float64(u.X*w.Y)
	z1, z2 := float64(u.X*v.Y), float64(v.X*u.Y)
	det := float64(u.Z*(x1-x2)) + float64(v.Z*(y1-y2)) + float64(w.Z*(z1-z2))
	permanent := (math.Abs(x1)+math.Abs(x2))*math.Abs(u.Z) + (math.Abs(y1)+math.Abs(y2))*math.Abs(v.Z) + (math.Abs(z1)+math.Abs(z2))*math.Abs(w.Z)
	switch bound := orientBound * permanent; {
	case det > bound:
		return 1
	case det < -bound:
		return -1
	}
	return 0
}

// Pierces reports whether the segment from p to q passes through the inside of
// the triangle abc. Touching, and what rounding can't tell from it, does not
// count; nor does a segment in the triangle's plane.
func Pierces(p, q, a, b, c Vec) bool {
	if s := Orient(a, b, c, p); s == 0 || Orient(a, b, c, q) != -s {
		return false
	}
	s := Orient(p, q, a, b)
	return s != 0 && Orient(p, q, b, c) == s && Orient(p, q, c, a) == s
}
