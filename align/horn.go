package align

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

// link is a pair of places that belong together: a sample of the moving
// surface and one of the fixed surface.
type link struct {
	p, n geom.Vec // of the moving surface
	q, m geom.Vec // of the fixed surface
}

// Superpose returns the rigid motion that takes the points p to the points q
// with the least sum of squares, each pair alike. Fewer than three points, or
// points in a line, leave a rotation open; one that is right is returned then.
// Source: B. K. P. Horn, Closed-form solution of absolute orientation using
// unit quaternions, Journal of the Optical Society of America A 4 (1987)
// 629-642.
func Superpose(p, q []geom.Vec) geom.Rigid {
	links := make([]link, min(len(p), len(q)))
	for i := range links {
		links[i] = link{p: p[i], q: q[i]}
	}
	return superpose(links, 0)
}

// superpose is Superpose with normals: each counts like a point at the given
// distance, mm, from its own place.
func superpose(links []link, arm float64) geom.Rigid {
	if len(links) == 0 {
		return geom.Still()
	}
	var a, b geom.Vec
	for _, l := range links {
		a, b = a.Add(l.p), b.Add(l.q)
	}
	a, b = a.Mul(1/float64(len(links))), b.Mul(1/float64(len(links)))
	var s geom.Mat3
	for _, l := range links {
		addOuter(&s, l.p.Sub(a), l.q.Sub(b), 1)
		addOuter(&s, l.n, l.m, arm*arm)
	}
	r := hornRotation(&s)
	return geom.Rigid{R: r, T: b.Sub(r.Apply(a))}
}

// addOuter adds w x y^T.
func addOuter(s *geom.Mat3, x, y geom.Vec, w float64) {
	u, v := [3]float64{x.X, x.Y, x.Z}, [3]float64{y.X, y.Y, y.Z}
	for i := range 3 {
		for j := range 3 {
			s[i][j] += float64(w * float64(u[i]*v[j]))
		}
	}
}

// hornRotation returns the rotation R with the largest trace of R s: that of
// the unit quaternion which is the eigenvector of the largest eigenvalue of
// Horn's symmetric 4 x 4 matrix.
func hornRotation(s *geom.Mat3) geom.Mat3 {
	n := mat.NewSymDense(4, []float64{
		s[0][0] + s[1][1] + s[2][2], s[1][2] - s[2][1], s[2][0] - s[0][2], s[0][1] - s[1][0],
		0, s[0][0] - s[1][1] - s[2][2], s[0][1] + s[1][0], s[2][0] + s[0][2],
		0, 0, s[1][1] - s[0][0] - s[2][2], s[1][2] + s[2][1],
		0, 0, 0, s[2][2] - s[0][0] - s[1][1],
	})
	var e mat.EigenSym
	if !e.Factorize(n, true) {
		return geom.Identity()
	}
	var v mat.Dense
	e.VectorsTo(&v)
	return quaternionRotation(v.At(0, 3), v.At(1, 3), v.At(2, 3), v.At(3, 3))
}

// quaternionRotation returns the rotation of w + xi + yj + zk, of any length.
func quaternionRotation(w, x, y, z float64) geom.Mat3 {
	l := math.Sqrt(float64(w*w) + float64(x*x) + float64(y*y) + float64(z*z))
	w, x, y, z = w/l, x/l, y/l, z/l
	return geom.Mat3{
		{1 - 2*(float64(y*y)+float64(z*z)), 2 * (float64(x*y) - float64(w*z)), 2 * (float64(x*z) + float64(w*y))},
		{2 * (float64(x*y) + float64(w*z)), 1 - 2*(float64(x*x)+float64(z*z)), 2 * (float64(y*z) - float64(w*x))},
		{2 * (float64(x*z) - float64(w*y)), 2 * (float64(y*z) + float64(w*x)), 1 - 2*(float64(x*x)+float64(y*y))},
	}
}
