package align

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

// vec6 is a small motion about a center: three components of rotation, in
// radians times the size of the surface, then three of displacement, mm. So
// all six are lengths.
type vec6 [6]float64

func (a *vec6) dot(b *vec6) float64 {
	s := 0.0
	for i := range a {
		s += float64(a[i] * b[i])
	}
	return s
}

// pivot is what small motions are written about: a center, and a size that
// makes lengths of angles.
type pivot struct {
	center geom.Vec
	size   float64 // mm
}

// pivotOf returns the weighted middle of the points and their root mean square
// distance from it.
func pivotOf(p []geom.Vec, w []float64) pivot {
	var c geom.Vec
	sum, sq := 0.0, 0.0
	for i := range p {
		c, sum = c.Add(p[i].Mul(w[i])), sum+w[i]
	}
	if sum <= 0 {
		return pivot{size: 1}
	}
	c = c.Mul(1 / sum)
	for i := range p {
		sq += float64(w[i] * p[i].DistSq(c))
	}
	return pivot{c, max(math.Sqrt(sq/sum), 1e-9)}
}

// row is how the distance of p from the plane through it with unit normal n
// grows with each component of a small motion.
func (v pivot) row(p, n geom.Vec) vec6 {
	m := p.Sub(v.center).Mul(1 / v.size).Cross(n)
	return vec6{m.X, m.Y, m.Z, n.X, n.Y, n.Z}
}

// motion is the rigid motion of x.
func (v pivot) motion(x vec6) geom.Rigid {
	w := geom.V(x[0], x[1], x[2]).Mul(1 / v.size)
	r := geom.Identity()
	if a := w.Norm(); a > 0 {
		r = geom.RotationAbout(w.Mul(1/a), a)
	}
	return geom.Rigid{R: r, T: v.center.Add(geom.V(x[3], x[4], x[5])).Sub(r.Apply(v.center))}
}

// length is about the root mean square displacement of the surface under x.
func (x vec6) length() float64 { return math.Sqrt(x.dot(&x)) }

// normalEq are the normal equations of a least squares problem in a small
// motion: the sums of w j j^T and of w j r over rows j with residuals r.
type normalEq struct {
	a   [6]vec6 // upper triangle
	b   vec6
	w   float64 // sum of weights
	wrr float64 // sum of w r^2
}

func (e *normalEq) add(j *vec6, r, w float64) {
	for i := range j {
		wj := float64(w * j[i])
		for k := i; k < len(j); k++ {
			e.a[i][k] += float64(wj * j[k])
		}
		e.b[i] += float64(wj * r)
	}
	e.w += w
	e.wrr += float64(float64(w*r) * r)
}

func (e *normalEq) merge(o *normalEq) {
	for i := range e.a {
		for k := i; k < len(e.a); k++ {
			e.a[i][k] += o.a[i][k]
		}
		e.b[i] += o.b[i]
	}
	e.w, e.wrr = e.w+o.w, e.wrr+o.wrr
}

// eigen returns the eigenvalues of the matrix divided by the sum of weights,
// rising, and unit eigenvectors.
func (e *normalEq) eigen() (values [6]float64, vectors [6]vec6, ok bool) {
	if e.w <= 0 {
		return values, vectors, false
	}
	s := mat.NewSymDense(6, nil)
	for i := range e.a {
		for k := i; k < 6; k++ {
			s.SetSym(i, k, e.a[i][k]/e.w)
		}
	}
	var f mat.EigenSym
	if !f.Factorize(s, true) {
		return values, vectors, false
	}
	f.Values(values[:])
	var v mat.Dense
	f.VectorsTo(&v)
	for i := range vectors {
		for k := range 6 {
			vectors[i][k] = v.At(k, i)
		}
	}
	return values, vectors, true
}

// within returns the matrix and the right side in a basis, as many rows as the
// basis has.
func (e *normalEq) within(basis []vec6) (*mat.SymDense, *mat.VecDense) {
	n := len(basis)
	a, b := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range basis {
		ai := e.times(&basis[i])
		for k := i; k < n; k++ {
			a.SetSym(i, k, ai.dot(&basis[k]))
		}
		b.SetVec(i, e.b.dot(&basis[i]))
	}
	return a, b
}

// times returns the matrix times x.
func (e *normalEq) times(x *vec6) vec6 {
	var y vec6
	for i := range y {
		for k := range x {
			y[i] += float64(e.a[min(i, k)][max(i, k)] * x[k])
		}
	}
	return y
}

// solve returns the small motion in the span of the basis that takes the
// residuals away in the sense of least squares, false if they do not determine
// it.
func (e *normalEq) solve(basis []vec6) (vec6, bool) {
	var x vec6
	if len(basis) == 0 {
		return x, true
	}
	a, b := e.within(basis)
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return x, false
	}
	y := mat.NewVecDense(len(basis), nil)
	if err := ch.SolveVecTo(y, b); err != nil {
		return x, false
	}
	for i := range basis {
		for k := range x {
			x[k] -= float64(y.AtVec(i) * basis[i][k])
		}
	}
	return x, true
}

// inverse returns the inverse of the matrix within the span of the basis; zero
// across it.
func (e *normalEq) inverse(basis []vec6) (out [6]vec6, ok bool) {
	if len(basis) == 0 {
		return out, true
	}
	a, _ := e.within(basis)
	var ch mat.Cholesky
	var inv mat.SymDense
	if !ch.Factorize(a) || ch.InverseTo(&inv) != nil {
		return out, false
	}
	for i := range basis {
		for k := range basis {
			for r := range 6 {
				for c := range 6 {
					out[r][c] += float64(float64(inv.At(i, k)*basis[i][r]) * basis[k][c])
				}
			}
		}
	}
	return out, true
}
