package geom

// thinSq is the square of Thin's ratio, 1e-5. Corners of a scan are rounded to
// 24 bits, about 1e-6 of a tooth arch, so the plane of anything thinner than
// this is made of rounding; a larger ratio would take honest needles along.
const thinSq = 1e-10

// Thin reports whether triangle abc is so thin, its height less than 1e-5 of
// its longest edge, that its normal means nothing.
func Thin(a, b, c Vec) bool {
	l := max(a.DistSq(b), b.DistSq(c), c.DistSq(a))
	return TriangleNormal(a, b, c).NormSq() <= float64(thinSq*l)*l
}
