package gauge

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"crownassay/fit"
	"crownassay/geom"
)

// The body is found by trying: a few places with their normals and the known
// size give a shape, and the shape on which most places lie is kept.
// Source: M. A. Fischler, R. C. Bolles, Random sample consensus, Communications
// of the ACM 24 (1981) 381-395.

const (
	// findShare is the distance, as a share of the radius, within which a place
	// counts for a shape that is tried: what an error of a normal of 3 degrees makes.
	findShare = 0.05
	// findLeast is added to it, mm: twice the noise of a poor scan.
	findLeast = 0.1
	// findTries is how many shapes are tried; of a body that has a third of the
	// places, three are on it in one draw of 27.
	findTries = 6000
	// findVotes is the least share of the places that the body must have.
	findVotes = 0.02
)

func findTol(r float64) float64 { return findShare*r + findLeast }

// findSphere returns the sphere of a known radius that most places lie on, of
// those that are not left out.
func (s *scan) findSphere(radius float64, without func(geom.Vec) bool) (fit.Sphere, int) {
	best, most := fit.Sphere{}, 0
	for i, q := range s.some {
		if i%3 != 0 || without(q.p) {
			continue
		}
		c := fit.Sphere{Center: q.p.Sub(q.n.Mul(radius)), Radius: radius}
		if n := s.votesWithout(c, findTol(radius), without); n > most {
			best, most = c, n
		}
	}
	return best, most
}

func (s *scan) votesWithout(f form, tol float64, without func(geom.Vec) bool) int {
	n := 0
	for _, q := range s.some {
		if math.Abs(f.Distance(q.p)) < tol && !without(q.p) && outward(f, q.p).Dot(q.n) > cosSide {
			n++
		}
	}
	return n
}

// findCylinder returns the cylinder of a known radius that most places lie on.
func (s *scan) findCylinder(radius float64) (fit.Cylinder, int) {
	rng := rand.New(rand.NewPCG(3, 4))
	best, most := fit.Cylinder{}, 0
	for range findTries {
		a, b := s.some[rng.IntN(len(s.some))], s.some[rng.IntN(len(s.some))]
		axis := a.n.Cross(b.n)
		if axis.Norm() < 0.3 {
			continue
		}
		axis = axis.Unit()
		ca, cb := a.p.Sub(a.n.Mul(radius)), b.p.Sub(b.n.Mul(radius))
		if cb.Sub(ca).Reject(axis).Norm() > 2*findTol(radius) {
			continue
		}
		c := fit.Cylinder{At: ca.Lerp(cb, 0.5), Axis: axis, Radius: radius}
		if n := s.votes(c, findTol(radius)); n > most {
			best, most = c, n
		}
	}
	return best, most
}

// findCone returns the cone of a known half angle that most places lie on; size
// is its radius, roughly.
func (s *scan) findCone(half, size float64) (fit.Cone, int) {
	rng := rand.New(rand.NewPCG(5, 6))
	best, most := fit.Cone{}, 0
	for range findTries {
		a, b, c := s.some[rng.IntN(len(s.some))], s.some[rng.IntN(len(s.some))], s.some[rng.IntN(len(s.some))]
		k, ok := coneThrough(a, b, c, half)
		if !ok || k.Radius > 3*size || k.Radius < size/3 {
			continue
		}
		if n := s.votes(k, findTol(size)); n > most {
			best, most = k, n
		}
	}
	return best, most
}

// coneThrough is the cone that touches three planes: the normals make one angle
// with its axis, and the planes meet in its apex.
func coneThrough(a, b, c place, half float64) (fit.Cone, bool) {
	axis := a.n.Sub(b.n).Cross(a.n.Sub(c.n))
	if axis.Norm() < 0.1 {
		return fit.Cone{}, false
	}
	axis = axis.Unit()
	if axis.Dot(a.n) > 0 {
		axis = axis.Neg()
	}
	if math.Abs(axis.Dot(a.n)+math.Sin(half)) > 0.08 {
		return fit.Cone{}, false
	}
	n := mat.NewDense(3, 3, []float64{a.n.X, a.n.Y, a.n.Z, b.n.X, b.n.Y, b.n.Z, c.n.X, c.n.Y, c.n.Z})
	var x mat.VecDense
	if err := x.SolveVec(n, mat.NewVecDense(3, []float64{a.n.Dot(a.p), b.n.Dot(b.p), c.n.Dot(c.p)})); err != nil {
		return fit.Cone{}, false
	}
	apex := geom.V(x.AtVec(0), x.AtVec(1), x.AtVec(2))
	h := a.p.Add(b.p).Add(c.p).Mul(1.0 / 3).Sub(apex).Dot(axis)
	if !(h > 0) || math.IsInf(h, 1) {
		return fit.Cone{}, false
	}
	return fit.Cone{At: apex.Add(axis.Mul(h)), Axis: axis, Radius: h * math.Tan(half), Half: half}, true
}

// nowhere leaves nothing out.
func nowhere(geom.Vec) bool { return false }
