package curvature

import (
	"math"

	"crownassay/geom"
)

// Fit is a height quadric h = c0 + c1 x + c2 y + c3 x^2 + c4 xy + c5 y^2 over
// the plane through an origin square to a normal, with what it says at x=y=0.
type Fit struct {
	Height     float64  // c0: of the fitted surface over the origin, mm along the normal given
	Normal     geom.Vec // unit normal of the fitted surface, on the side of the normal given
	K1, K2     float64  // principal curvatures, 1/mm, K1 >= K2, positive = convex
	Dir1, Dir2 geom.Vec // unit directions of K1 and K2; any, when the two are equal
	RMS        float64  // residual along the normal given, mm, over N - 6 degrees of freedom; NaN for N = 6
	SlopeStd   float64  // standard uncertainty of the slope, radians, from RMS; NaN for N = 6
	N          int      // points used
}

// unknowns is the number of coefficients, the fewest points that determine a
// quadric.
const unknowns = 6

// Quadric fits a height quadric to the points by least squares. It returns
// false if they do not determine one: fewer than six, or on a conic.
func Quadric(points []geom.Vec, origin, normal geom.Vec) (Fit, bool) {
	n := normal.Unit()
	if n == (geom.Vec{}) || len(points) < unknowns {
		return Fit{}, false
	}
	fr := frame{origin: origin, n: n, u: n.Normal()}
	fr.v = n.Cross(fr.u)
	fr.scale = reach(points, origin)
	if fr.scale == 0 || math.IsInf(fr.scale, 0) || math.IsNaN(fr.scale) {
		return Fit{}, false
	}
	var e equations
	for _, p := range points {
		row, h := fr.row(p)
		e.add(&row, h)
	}
	c, ok := e.solve()
	if !ok {
		return Fit{}, false
	}
	fit := fr.shape(&c)
	fit.N = len(points)
	fit.RMS, fit.SlopeStd = fr.residual(points, &c, &e)
	return fit, true
}

// reach returns the largest distance of the points from the origin.
func reach(points []geom.Vec, origin geom.Vec) float64 {
	r := 0.0
	for _, p := range points {
		r = max(r, p.DistSq(origin))
	}
	return math.Sqrt(r)
}

// frame is the local frame of a fit; inside it lengths are divided by scale,
// so that the equations are well balanced.
type frame struct {
	origin, u, v, n geom.Vec
	scale           float64
}

// row returns the six monomials at p and its height, scaled.
func (f *frame) row(p geom.Vec) (row [unknowns]float64, h float64) {
	d := p.Sub(f.origin).Mul(1 / f.scale)
	x, y := d.Dot(f.u), d.Dot(f.v)
	return [unknowns]float64{1, x, y, float64(x * x), float64(x * y), float64(y * y)}, d.Dot(f.n)
}

// shape turns coefficients into normal and curvatures.
// Source: M. P. do Carmo, Differential Geometry of Curves and Surfaces, 1976,
// section 3-3 (the shape operator of a graph).
func (f *frame) shape(c *[unknowns]float64) Fit {
	p, q := c[1], c[2]
	w := math.Sqrt(1 + float64(p*p) + float64(q*q))
	// Orthonormal tangents t1 (along the gradient) and t2; in them the second
	// fundamental form is a symmetric matrix whose eigenvalues are -k.
	g := math.Hypot(p, q)
	cx, cy := 1.0, 0.0
	if g > 0 {
		cx, cy = p/g, q/g
	}
	t1 := f.u.Mul(cx).Add(f.v.Mul(cy)).Add(f.n.Mul(g)).Mul(1 / w)
	t2 := f.v.Mul(cx).Sub(f.u.Mul(cy))
	h := func(ax, ay, bx, by float64) float64 {
		return (2*c[3]*ax*bx + c[4]*(ax*by+ay*bx) + 2*c[5]*ay*by) / (w * f.scale)
	}
	a, b, d := h(cx, cy, cx, cy)/(w*w), h(cx, cy, -cy, cx)/w, h(-cy, cx, -cy, cx)
	fit := Fit{Height: c[0] * f.scale}
	fit.Normal = f.n.Sub(f.u.Mul(p)).Sub(f.v.Mul(q)).Mul(1 / w)
	fit.K1, fit.K2, fit.Dir1, fit.Dir2 = principal(-a, -b, -d, t1, t2)
	return fit
}

// principal diagonalises the symmetric matrix (a b; b d) given in the
// orthonormal tangents t1, t2.
func principal(a, b, d float64, t1, t2 geom.Vec) (k1, k2 float64, d1, d2 geom.Vec) {
	mean, half := (a+d)/2, (a-d)/2
	r := math.Hypot(half, b)
	k1, k2 = mean+r, mean-r
	if r == 0 {
		return k1, k2, t1, t2
	}
	// (half+r, b) and (b, r-half) are both eigenvectors of k1; take the longer.
	x, y := half+r, b
	if half < 0 {
		x, y = b, r-half
	}
	n := math.Hypot(x, y)
	x, y = x/n, y/n
	return k1, k2, t1.Mul(x).Add(t2.Mul(y)), t2.Mul(x).Sub(t1.Mul(y))
}

// residual returns the RMS residual (mm) and the standard uncertainty of the
// slope (the RMS of its two components).
func (f *frame) residual(points []geom.Vec, c *[unknowns]float64, e *equations) (rms, slope float64) {
	s := 0.0
	for _, p := range points {
		row, h := f.row(p)
		for i := range row {
			h -= float64(row[i] * c[i])
		}
		s += float64(h * h)
	}
	dof := len(points) - unknowns
	if dof == 0 {
		return math.NaN(), math.NaN()
	}
	sigma := math.Sqrt(s / float64(dof))
	return sigma * f.scale, sigma * math.Sqrt((e.variance(1)+e.variance(2))/2)
}
