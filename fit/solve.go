package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

// Options say how a shape is fitted; the zero value is plain least squares.
type Options struct {
	// Robust weighs points down by their distance (Tukey's biweight), so that up
	// to nearly half of them may belong to something else.
	Robust bool
	// Patch, mm, is the edge of the cubes over which noise may hold together;
	// zero: no patches, Clustered is Covariance.
	Patch float64
}

// Quality says how well the points hold the shape.
type Quality struct {
	RMS    float64 // mm, root mean square distance of the points that count
	Points int     // that count
	Rounds int     // of the iteration
	// Covariance of the parameters, of noise that is independent from point to
	// point; Clustered of noise that holds together within a patch, never less
	// on the diagonal. Both are of the noise found in the points themselves.
	Covariance, Clustered *mat.SymDense
	// Distances of all points given, mm, + outside, and the nearest points of the
	// shape to them.
	Distances []float64
	Feet      []geom.Vec
}

// Standard returns the standard uncertainty of a parameter: the larger of the
// two covariances'.
func (q *Quality) Standard(i int) float64 {
	return math.Sqrt(math.Max(q.Covariance.At(i, i), q.Clustered.At(i, i)))
}

// ErrOpen says that the points leave the shape open.
var ErrOpen = errors.New("the points do not hold the shape")

const (
	// tukeyCut is the distance in robust standard deviations from which a point
	// counts for nothing: 95 % efficiency under normal noise (P. J. Huber, Robust
	// Statistics, 1981; J. W. Tukey's biweight). Smaller wastes points, larger lets
	// outliers in.
	tukeyCut = 4.685
	// madScale turns the median absolute distance of normal noise into its
	// standard deviation: 1 / Phi^-1(3/4).
	madScale = 1.4826
	// near is the distance in robust standard deviations within which points tell
	// the scale: of normal noise 0.3 % lie farther off.
	near = 3
	// scaleRounds is how often strangers are left out before the scale is taken.
	scaleRounds = 10
	// restStep is the step, as a share of the points' extent, below which the
	// iteration rests. Far below any length that matters; much smaller and rounding
	// keeps it moving.
	restStep = 1e-11
	// mostRounds ends an iteration that does not rest; good starts take under 30.
	mostRounds = 200
	// openRatio is the least ratio of the smallest to the largest eigenvalue of
	// the scaled normal matrix: below it the points leave a parameter open.
	openRatio = 1e-13
)

// surface is a shape with local parameters: the distance of a point, which is
// the i-th of those given, its derivatives, and the shape after a small change of the parameters. Angles are
// measured as displacements at the distance reach, so that steps are lengths.
type surface interface {
	size() int
	distance(i int, p geom.Vec, grad []float64) float64
	// foot is the nearest point of the shape to p, whose distance is r.
	foot(i int, p geom.Vec, r float64) geom.Vec
	moved(step []float64) surface
}

// normal is the normal matrix of a weighed fit.
type normal struct {
	a    *mat.SymDense
	b    *mat.VecDense
	cost float64
}

// weight is Tukey's weight of a distance in units of the cut.
func weight(u float64) float64 {
	if math.Abs(u) >= 1 {
		return 0
	}
	k := 1 - u*u
	return k * k
}

// loss is Tukey's loss of a distance under a cut; plain squares without one.
func loss(r, cut float64) float64 {
	if cut == 0 {
		return r * r / 2
	}
	u := r / cut
	if math.Abs(u) >= 1 {
		return cut * cut / 6
	}
	k := 1 - u*u
	return cut * cut / 6 * (1 - k*k*k)
}

func equations(s surface, pts []geom.Vec, cut float64) normal {
	n := s.size()
	e := normal{mat.NewSymDense(n, nil), mat.NewVecDense(n, nil), 0}
	g := make([]float64, n)
	for i, p := range pts {
		r := s.distance(i, p, g)
		e.cost += loss(r, cut)
		w := 1.0
		if cut > 0 {
			w = weight(r / cut)
		}
		if w == 0 {
			continue
		}
		for k := range g {
			for j := k; j < n; j++ {
				e.a.SetSym(k, j, e.a.At(k, j)+w*g[k]*g[j])
			}
			e.b.SetVec(k, e.b.AtVec(k)-w*r*g[k])
		}
	}
	return e
}

func cost(s surface, pts []geom.Vec, cut float64) float64 {
	g := make([]float64, s.size())
	sum := 0.0
	for i, p := range pts {
		sum += loss(s.distance(i, p, g), cut)
	}
	return sum
}

// scaleOf is the robust standard deviation of the distances from a surface: by
// the median, of those within near times it, until that rests. So strangers
// do not widen it.
func scaleOf(s surface, pts []geom.Vec) float64 {
	g := make([]float64, s.size())
	d := make([]float64, len(pts))
	for i, p := range pts {
		d[i] = math.Abs(s.distance(i, p, g))
	}
	slices.Sort(d)
	scale := madScale * middleOf(d)
	for range scaleRounds {
		n, _ := slices.BinarySearch(d, near*scale)
		if n == len(d) || n <= s.size() {
			break
		}
		d = d[:n]
		scale = madScale * middleOf(d)
	}
	return scale
}

// middleOf is the median of sorted numbers.
func middleOf(d []float64) float64 {
	if n := len(d); n%2 == 0 {
		return (d[n/2-1] + d[n/2]) / 2
	}
	return d[len(d)/2]
}

func median(d []float64) float64 {
	d = slices.Clone(d)
	slices.Sort(d)
	return middleOf(d)
}

// minimize follows Levenberg and Marquardt from a start to the least cost.
// Source: J. J. More, The Levenberg-Marquardt algorithm, Numerical Analysis
// 1977, Lecture Notes in Mathematics 630.
func minimize(s surface, pts []geom.Vec, cut, extent float64) (surface, int, error) {
	damp := 1e-6
	for round := 1; round <= mostRounds; round++ {
		e := equations(s, pts, cut)
		for {
			step, err := damped(e, damp)
			if err != nil {
				return s, round, err
			}
			next := s.moved(step)
			c := cost(next, pts, cut)
			small := longest(step) <= restStep*extent
			if c <= e.cost || small {
				s, damp = next, math.Max(damp/10, 1e-15)
				if small {
					return s, round, nil
				}
				break
			}
			if damp *= 10; damp > 1e8 {
				return s, round, nil // no step is any better: at rest within rounding
			}
		}
	}
	return s, mostRounds, fmt.Errorf("fit: it did not come to rest in %d rounds: %w", mostRounds, ErrOpen)
}

func longest(x []float64) float64 {
	m := 0.0
	for _, v := range x {
		m = math.Max(m, math.Abs(v))
	}
	return m
}

// damped solves the normal equations with a share of the diagonal added.
func damped(e normal, damp float64) ([]float64, error) {
	n := e.a.SymmetricDim()
	a := mat.NewSymDense(n, nil)
	a.CopySym(e.a)
	for i := range n {
		a.SetSym(i, i, a.At(i, i)*(1+damp))
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return nil, fmt.Errorf("fit: %w", ErrOpen)
	}
	var x mat.VecDense
	if err := ch.SolveVecTo(&x, e.b); err != nil && ch.Cond() > 1/openRatio {
		return nil, fmt.Errorf("fit: %w", ErrOpen)
	}
	return x.RawVector().Data, nil
}

// settle fits the surface from a start and judges the fit.
func settle(s surface, pts []geom.Vec, o Options) (surface, Quality, error) {
	var q Quality
	extent := extentOf(pts)
	if len(pts) < s.size()+1 {
		return s, q, fmt.Errorf("fit: %d points are too few, %d are the least: %w", len(pts), s.size()+1, ErrOpen)
	}
	cut, floor := 0.0, 1e-12*extent
	rounds := 1
	if o.Robust {
		cut, rounds = tukeyCut*math.Max(scaleOf(s, pts), floor), 20
	}
	for range rounds {
		next, n, err := minimize(s, pts, cut, extent)
		q.Rounds += n
		if err != nil {
			return s, q, err
		}
		s = next
		if !o.Robust {
			break
		}
		again := tukeyCut * math.Max(scaleOf(s, pts), floor)
		if math.Abs(again-cut) <= 1e-6*cut {
			break
		}
		cut = again
	}
	return s, q, judge(s, pts, cut, o.Patch, &q)
}

func extentOf(pts []geom.Vec) float64 {
	b := geom.EmptyBox()
	for _, p := range pts {
		b = b.Include(p)
	}
	return b.Diagonal()
}

// judge fills in distances, noise and covariances: those of an M-estimator,
// sum psi^2 / (sum psi')^2 times the inverse of the mean normal matrix (Huber
// 1981, section 7.6), and the same with psi summed over patches (K.-Y. Liang, S.
// L. Zeger, Biometrika 73 (1986) 13-22).
func judge(s surface, pts []geom.Vec, cut, patch float64, q *Quality) error {
	n := s.size()
	h, sq, sum, slope := mat.NewSymDense(n, nil), 0.0, 0.0, 0.0
	scores := map[[3]int]int{}
	var rows [][]float64
	q.Distances, q.Feet = make([]float64, len(pts)), make([]geom.Vec, len(pts))
	g := make([]float64, n)
	for i, p := range pts {
		r := s.distance(i, p, g)
		q.Distances[i], q.Feet[i] = r, s.foot(i, p, r)
		w, d := 1.0, 1.0
		if cut > 0 {
			u := r / cut
			w = weight(u)
			d = (1 - u*u) * (1 - 5*u*u)
		}
		if w == 0 {
			continue
		}
		q.Points++
		sq, sum, slope = sq+w*r*r, sum+w*w*r*r, slope+d
		for a := range n {
			for b := a; b < n; b++ {
				h.SetSym(a, b, h.At(a, b)+g[a]*g[b])
			}
		}
		if patch > 0 {
			// where a patch ends must not depend on the noise
			f := q.Feet[i]
			key := [3]int{int(math.Floor(f.X / patch)), int(math.Floor(f.Y / patch)), int(math.Floor(f.Z / patch))}
			k, ok := scores[key]
			if !ok {
				k = len(rows)
				scores[key], rows = k, append(rows, make([]float64, n))
			}
			for a := range n {
				rows[k][a] += w * r * g[a]
			}
		}
	}
	if q.Points <= n || slope <= 0 {
		return fmt.Errorf("fit: %d of %d points count, which is too few: %w", q.Points, len(pts), ErrOpen)
	}
	var eig mat.EigenSym
	if !eig.Factorize(h, false) || eig.Values(nil)[0] < openRatio*eig.Values(nil)[n-1] {
		return fmt.Errorf("fit: %w", ErrOpen)
	}
	var inv mat.SymDense
	var ch mat.Cholesky
	if !ch.Factorize(h) {
		return fmt.Errorf("fit: %w", ErrOpen)
	}
	if err := ch.InverseTo(&inv); err != nil && ch.Cond() > 1/openRatio {
		return fmt.Errorf("fit: %w", ErrOpen)
	}
	m, free := float64(q.Points), float64(q.Points-n)
	q.RMS = math.Sqrt(sq / m)
	q.Covariance = mat.NewSymDense(n, nil)
	q.Covariance.ScaleSym(sum/free*(m/slope)*(m/slope), &inv)
	q.Clustered = q.Covariance
	if k := float64(len(rows)); len(rows) > n {
		mid := mat.NewSymDense(n, nil)
		for _, r := range rows {
			mid.SymRankOne(mid, (m/slope)*(m/slope)*k/(k-float64(n)), mat.NewVecDense(n, r))
		}
		var half, whole mat.Dense
		half.Mul(&inv, mid)
		whole.Mul(&half, &inv)
		q.Clustered = mat.NewSymDense(n, nil)
		for a := range n {
			for b := a; b < n; b++ {
				q.Clustered.SetSym(a, b, (whole.At(a, b)+whole.At(b, a))/2)
			}
		}
	}
	return nil
}
