package curvature

import "math"

// equations are the normal equations of a fit, after solve in the form of
// their Cholesky factor.
type equations struct {
	a   [unknowns][unknowns]float64 // lower triangle
	rhs [unknowns]float64
}

// add takes one observation into account.
func (e *equations) add(row *[unknowns]float64, h float64) {
	for i := range row {
		for j := 0; j <= i; j++ {
			e.a[i][j] += float64(row[i] * row[j])
		}
		e.rhs[i] += float64(row[i] * h)
	}
}

// pivotLeast is the least pivot, relative to the diagonal element it came
// from, that counts as determined. The monomials are scaled to 1, so rounding
// leaves pivots of about 1e-15; points on a conic would else give curvatures
// made of rounding.
const pivotLeast = 1e-11

// solve factors the matrix in place and returns the coefficients; false if
// the points do not determine them.
func (e *equations) solve() (c [unknowns]float64, ok bool) {
	if !e.factor() {
		return c, false
	}
	for i := range c {
		s := e.rhs[i]
		for j := range i {
			s -= float64(e.a[i][j] * c[j])
		}
		c[i] = s / e.a[i][i]
	}
	for i := unknowns - 1; i >= 0; i-- {
		s := c[i]
		for j := i + 1; j < unknowns; j++ {
			s -= float64(e.a[j][i] * c[j])
		}
		c[i] = s / e.a[i][i]
	}
	return c, true
}

// factor replaces the lower triangle by its Cholesky factor.
func (e *equations) factor() bool {
	for i := range unknowns {
		whole := e.a[i][i]
		for j := 0; j <= i; j++ {
			s := e.a[i][j]
			for k := range j {
				s -= float64(e.a[i][k] * e.a[j][k])
			}
			if j < i {
				e.a[i][j] = s / e.a[j][j]
				continue
			}
			if !(s > pivotLeast*whole) {
				return false
			}
			e.a[i][i] = math.Sqrt(s)
		}
	}
	return true
}

// variance returns element (k, k) of the inverse matrix, after solve: the
// squared length of the solution of L y = unit vector k.
func (e *equations) variance(k int) float64 {
	var y [unknowns]float64
	sum := 0.0
	for i := k; i < unknowns; i++ {
		s := 0.0
		if i == k {
			s = 1
		}
		for j := k; j < i; j++ {
			s -= float64(e.a[i][j] * y[j])
		}
		y[i] = s / e.a[i][i]
		sum += float64(y[i] * y[i])
	}
	return sum
}
