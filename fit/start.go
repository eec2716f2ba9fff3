package fit

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"

	"crownassay/geom"
)

// Starts are found by trying: a few points at random give a shape, the median
// distance of the points from it judges it, and the best one is kept. Less than
// half of the points may belong to something else. The draws are the same each
// time. Source: P. J. Rousseeuw, Least median of squares regression, Journal
// of the American Statistical Association 79 (1984) 871-880.

const (
	// judged is how many points judge a try; more only takes time.
	judged = 400
	// plainTries is how many small sets of points are tried for a plane or a
	// sphere: with 40 % strangers a set of 4 is clean with 0.13, so 200 all fail with
	// less than 1e-12.
	plainTries = 200
	// axisDirections is how many directions of an axis are tried over the half
	// sphere: every direction is within 8 degrees of one.
	axisDirections = 200
	// axisTries is how many small sets are tried for each direction; neighbouring
	// directions are tries too.
	axisTries = 20
	// bestStarts is how many of the best starts are followed to the end.
	bestStarts = 5
)

// trial draws points.
type trial struct {
	pts   []geom.Vec
	some  []geom.Vec
	rng   *rand.Rand
	dists []float64
}

func newTrial(pts []geom.Vec) *trial {
	t := &trial{pts: pts, rng: rand.New(rand.NewPCG(7, 11))}
	for i := range min(judged, len(pts)) {
		k := i
		if len(pts) > judged {
			k = t.rng.IntN(len(pts))
		}
		t.some = append(t.some, pts[k])
	}
	t.dists = make([]float64, len(t.some))
	return t
}

func (t *trial) draw(n int) []geom.Vec {
	out := make([]geom.Vec, n)
	for i := range out {
		out[i] = t.pts[t.rng.IntN(len(t.pts))]
	}
	return out
}

// score is the median distance; NaN counts as infinite.
func (t *trial) score(d func(geom.Vec) float64) float64 {
	for i, p := range t.some {
		t.dists[i] = math.Abs(d(p))
		if math.IsNaN(t.dists[i]) {
			return math.Inf(1)
		}
	}
	return median(t.dists)
}

func startSphere(pts []geom.Vec) (Sphere, error) {
	if len(pts) < 5 {
		return Sphere{}, few(len(pts), 5)
	}
	t := newTrial(pts)
	best, least := Sphere{}, math.Inf(1)
	try := func(set []geom.Vec) {
		if s, ok := algebraicSphere(set); ok {
			if m := t.score(s.Distance); m < least {
				best, least = s, m
			}
		}
	}
	try(t.some)
	for range plainTries {
		try(t.draw(4))
	}
	if math.IsInf(least, 1) {
		return best, fmt.Errorf("fit: no sphere goes through the points: %w", ErrOpen)
	}
	return best, nil
}

func few(n, least int) error {
	return fmt.Errorf("fit: %d points are too few, %d are the least: %w", n, least, ErrOpen)
}

// algebraicSphere solves 2 c.p + k = p.p for c and k; r^2 = k + c.c.
func algebraicSphere(set []geom.Vec) (Sphere, bool) {
	o := middle(set)
	x, ok := solve(len(set), 4, func(i int) ([]float64, float64) {
		p := set[i].Sub(o)
		return []float64{2 * p.X, 2 * p.Y, 2 * p.Z, 1}, p.NormSq()
	})
	if !ok {
		return Sphere{}, false
	}
	c := geom.V(x[0], x[1], x[2])
	r := math.Sqrt(x[3] + c.NormSq())
	return Sphere{c.Add(o), r}, r > 0 && !math.IsInf(r, 1)
}

// solve solves n linear equations in m unknowns by least squares.
func solve(n, m int, row func(i int) ([]float64, float64)) ([]float64, bool) {
	a, b := mat.NewDense(n, m, nil), mat.NewVecDense(n, nil)
	for i := range n {
		r, y := row(i)
		a.SetRow(i, r)
		b.SetVec(i, y)
	}
	var x mat.VecDense
	var qr mat.QR
	qr.Factorize(a)
	if qr.SolveVecTo(&x, false, b) != nil {
		return nil, false
	}
	return x.RawVector().Data, true
}

func startPlane(pts []geom.Vec) (Plane, error) {
	if len(pts) < 4 {
		return Plane{}, few(len(pts), 4)
	}
	t := newTrial(pts)
	best, least := Plane{}, math.Inf(1)
	for range plainTries {
		s := t.draw(3)
		n := s[1].Sub(s[0]).Cross(s[2].Sub(s[0]))
		if n.Norm() == 0 {
			continue
		}
		pl := Plane{s[0], n.Unit()}
		if m := t.score(pl.Distance); m < least {
			best, least = pl, m
		}
	}
	if math.IsInf(least, 1) {
		return best, fmt.Errorf("fit: all points lie in a line: %w", ErrOpen)
	}
	return best, nil
}

// hemisphere spreads directions evenly (a spiral by the golden angle).
func hemisphere(n int) []geom.Vec {
	out := make([]geom.Vec, n)
	for i := range out {
		z := (float64(i) + 0.5) / float64(n)
		s, c := math.Sincos(float64(i) * math.Pi * (3 - math.Sqrt(5)))
		r := math.Sqrt(1 - z*z)
		out[i] = geom.V(r*c, r*s, z)
	}
	return out
}

// candidate is a start with its score.
type candidate struct {
	cone  Cone
	score float64
}

// axial tries cones (or cylinders) about every direction and returns the best.
func axial(pts []geom.Vec, cone bool) ([]candidate, error) {
	n := 3
	if cone {
		n = 5
	}
	if len(pts) < n+3 {
		return nil, few(len(pts), n+3)
	}
	t := newTrial(pts)
	var best []candidate
	for _, a := range hemisphere(axisDirections) {
		of := candidate{score: math.Inf(1)}
		try := func(set []geom.Vec) {
			c, ok := algebraicCone(set, a, cone)
			if !ok {
				return
			}
			if m := t.score(c.Distance); m < of.score {
				of = candidate{c, m}
			}
		}
		try(t.some)
		for range axisTries {
			try(t.draw(n))
		}
		best = insert(best, of)
	}
	if len(best) == 0 {
		return nil, fmt.Errorf("fit: no such shape goes through the points: %w", ErrOpen)
	}
	return best, nil
}

// insert keeps the best few in order.
func insert(best []candidate, c candidate) []candidate {
	if math.IsInf(c.score, 1) {
		return best
	}
	i := len(best)
	for i > 0 && best[i-1].score > c.score {
		i--
	}
	best = append(best[:i], append([]candidate{c}, best[i:]...)...)
	return best[:min(len(best), bestStarts)]
}

// algebraicCone solves x^2 + y^2 = 2 a x + 2 b y + c + d s + e s^2 for a cone of
// known direction, with e and d zero for a cylinder; e is tan^2 of the half
// angle and d twice the radius at s = 0 times the tangent.
func algebraicCone(set []geom.Vec, axis geom.Vec, cone bool) (Cone, bool) {
	e1, e2 := across(axis)
	o := middle(set)
	m := 3
	if cone {
		m = 5
	}
	x, ok := solve(len(set), m, func(i int) ([]float64, float64) {
		p := set[i].Sub(o)
		u, v, s := p.Dot(e1), p.Dot(e2), p.Dot(axis)
		return []float64{2 * u, 2 * v, 1, s, s * s}[:m], u*u + v*v
	})
	if !ok {
		return Cone{}, false
	}
	c := Cone{At: o.Add(e1.Mul(x[0])).Add(e2.Mul(x[1])), Axis: axis}
	sq := x[2] + x[0]*x[0] + x[1]*x[1]
	if !(sq > 0) {
		return c, false
	}
	c.Radius = math.Sqrt(sq)
	if cone {
		c.Half = math.Atan(x[3] / (2 * c.Radius))
	}
	return c, !math.IsInf(c.Radius, 1)
}

// startCylinder follows the best starts some way and returns the best end.
func startCylinder(pts []geom.Vec) (Cylinder, error) {
	s, err := bestEnd(pts, false, "cylinder", func(c Cone) pipe { return pipe{Cylinder{c.At, c.Axis, c.Radius}} })
	return s.Cylinder, err
}

// startCone does the same for a cone.
func startCone(pts []geom.Vec) (Cone, error) {
	s, err := bestEnd(pts, true, "cone", func(c Cone) funnel { return funnel{c} })
	return s.Cone, err
}

// round is a body of revolution that can be fitted.
type round interface {
	surface
	Distance(geom.Vec) float64
}

// bestEnd follows the best cones or cylinders about any axis, each as the
// surface that of makes of it, and returns the one that ends nearest to the
// points; name is for the message.
func bestEnd[S round](pts []geom.Vec, cone bool, name string, of func(Cone) S) (best S, err error) {
	cs, err := axial(pts, cone)
	if err != nil {
		return best, err
	}
	t := newTrial(pts)
	least := math.Inf(1)
	for _, c := range cs {
		s, ok := follow(of(c.cone), t)
		if !ok {
			continue
		}
		if m := t.score(s.(S).Distance); m < least {
			best, least = s.(S), m
		}
	}
	if math.IsInf(least, 1) {
		return best, fmt.Errorf("fit: no %s goes through the points: %w", name, ErrOpen)
	}
	return best, nil
}

// follow fits the few points of a trial, weighed.
func follow(s surface, t *trial) (surface, bool) {
	next, _, err := settle(s, t.some, Options{Robust: true})
	return next, err == nil
}
