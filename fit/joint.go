package fit

import (
	"fmt"

	"crownassay/geom"
)

// Parallel is planes with one normal: a point x of plane k has Normal . (x -
// At) = Offsets[k]. Its parameters are the offsets, then the two tilts, rad,
// about At, as those of a Plane.
type Parallel struct {
	At, Normal geom.Vec
	Offsets    []float64
}

// levels is Parallel with the plane of each point.
type levels struct {
	Parallel
	of []int
}

func (s levels) size() int { return len(s.Offsets) + 2 }

func (s levels) distance(i int, p geom.Vec, g []float64) float64 {
	e1, e2 := across(s.Normal)
	x := p.Sub(s.At)
	clear(g)
	k := s.of[i]
	g[k] = -1
	g[len(g)-2], g[len(g)-1] = x.Dot(e1), x.Dot(e2)
	return x.Dot(s.Normal) - s.Offsets[k]
}

func (s levels) foot(_ int, p geom.Vec, r float64) geom.Vec { return p.Sub(s.Normal.Mul(r)) }

func (s levels) moved(d []float64) surface {
	n := len(s.Offsets)
	next := levels{Parallel{s.At, tilted(s.Normal, d[n], d[n+1]), make([]float64, n)}, s.of}
	for k, o := range s.Offsets {
		next.Offsets[k] = o + d[k]
	}
	return next
}

// FitParallel fits planes with one normal to sets of points, one a plane. The
// normal is at first that given and keeps its side.
func FitParallel(sets [][]geom.Vec, normal geom.Vec, o Options) (Parallel, Quality, error) {
	var pts []geom.Vec
	s := levels{Parallel: Parallel{Normal: normal, Offsets: make([]float64, len(sets))}}
	for k, set := range sets {
		if len(set) < 3 {
			return s.Parallel, Quality{}, fmt.Errorf("fit: plane %d: %w", k+1, few(len(set), 3))
		}
		for _, p := range set {
			pts, s.of = append(pts, p), append(s.of, k)
		}
	}
	s.At = middle(pts)
	for k, set := range sets {
		h := make([]float64, len(set))
		for i, p := range set {
			h[i] = p.Sub(s.At).Dot(normal)
		}
		s.Offsets[k] = median(h)
	}
	out, q, err := settle(s, pts, o)
	return out.(levels).Parallel, q, err
}

// linear is a sum of known terms: y = row . x.
type linear struct {
	rows [][]float64
	y, x []float64
}

func (s linear) size() int { return len(s.x) }

func (s linear) distance(i int, _ geom.Vec, g []float64) float64 {
	r := s.y[i]
	for k, a := range s.rows[i] {
		r -= a * s.x[k]
		g[k] = -a
	}
	return r
}

func (s linear) foot(_ int, p geom.Vec, _ float64) geom.Vec { return p }

func (s linear) moved(d []float64) surface {
	next := linear{s.rows, s.y, make([]float64, len(s.x))}
	for k, x := range s.x {
		next.x[k] = x + d[k]
	}
	return next
}

// FitLinear fits y = rows . x, one row and one y (mm) a point, with the same
// weights and covariances as the shapes. The points only say which rows share
// a patch; they should lie on the surface itself, without noise. Distances of the quality are what
// the fit leaves of y. Every row must have as many terms as the first.
func FitLinear(pts []geom.Vec, rows [][]float64, y []float64, o Options) ([]float64, Quality, error) {
	if len(pts) == 0 || len(rows) != len(pts) || len(y) != len(pts) {
		return nil, Quality{}, fmt.Errorf("fit: %d points, %d rows, %d values: %w", len(pts), len(rows), len(y), ErrOpen)
	}
	s, q, err := settle(linear{rows, y, make([]float64, len(rows[0]))}, pts, o)
	return s.(linear).x, q, err
}
