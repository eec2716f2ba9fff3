package gauge

import (
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/fit"
	"crownassay/geom"
)

const (
	// stepSame is the largest angle, degrees, between the normals of one plane's
	// places.
	stepSame = 8.0
	// stepTol is the most that a place may lie off its plane, mm, while the planes
	// are searched; less where they are nearer to each other.
	stepTol = 0.15
	// stepVotes is the least number of places that each plane must have.
	stepVotes = 8
	// stepDirections is how many directions are looked at, the commonest first.
	stepDirections = 6
	// stepPoints is the number of points of one plane beyond which more do not help.
	stepPoints = 20000
	// stepRim is how far from where its plane ends a point must be, mm: edges of
	// scans are rounded over about that.
	stepRim = 0.3
	// rimCell is the edge, mm, of the squares in which that is marked.
	rimCell = 0.05
)

// observeSteps finds the planes of a block by the pattern of their heights and
// fits them together.
func observeSteps(ctx context.Context, b *Body, s *scan) (o observed, err error) {
	heights := []float64{0}
	tol := stepTol
	for i, h := range b.Steps {
		tol = math.Min(tol, 0.4*(h.MM-heights[i]))
		heights = append(heights, h.MM)
	}
	normal, base, votes := s.findSteps(heights, tol)
	if votes < stepVotes {
		return o, &absentError{fmt.Sprintf("the scan does not show %d parallel planes at the calibrated heights", len(heights))}
	}
	sets, err := s.stepSets(ctx, heights, normal, base, tol)
	if err != nil {
		return o, err
	}
	p, q, err := fit.FitParallel(sets, normal, fitOptions)
	if err != nil {
		return o, err
	}
	o.points = q.Points
	o.noise, o.form = spread(kept(q.Feet, q.Distances, q.RMS))
	for i, h := range b.Steps {
		v := 0.0
		for _, m := range []interface{ At(i, j int) float64 }{q.Covariance, q.Clustered} {
			v = math.Max(v, m.At(0, 0)+m.At(i+1, i+1)-2*m.At(0, i+1))
		}
		o.indications = append(o.indications, indication{fmt.Sprintf("step %d", i+1), "mm", p.Offsets[i+1] - p.Offsets[0], math.Sqrt(v), h.MM, h.standard(), h.MM})
	}
	return o, nil
}

// findSteps looks, about the commonest directions, for the height of the lowest
// plane at which every plane has places; votes is the least number on one.
func (s *scan) findSteps(heights []float64, tol float64) (normal geom.Vec, base float64, votes int) {
	left := slices.Clone(s.some)
	cos := math.Cos(stepSame * math.Pi / 180)
	for range stepDirections {
		n, count := commonest(left, cos)
		if count < stepVotes*len(heights) {
			break
		}
		var h []float64
		for _, q := range s.some {
			if q.n.Dot(n) > cos {
				h = append(h, q.p.Dot(n))
			}
		}
		slices.Sort(h)
		for _, at := range h {
			least := len(h)
			for _, k := range heights {
				lo, _ := slices.BinarySearch(h, at+k-tol)
				hi, _ := slices.BinarySearch(h, at+k+tol)
				least = min(least, hi-lo)
			}
			if least > votes {
				normal, base, votes = n, at, least
			}
		}
		left = slices.DeleteFunc(left, func(q place) bool { return q.n.Dot(n) > math.Cos(2*stepSame*math.Pi/180) })
	}
	return normal, base, votes
}

// commonest is the direction that most normals agree with, and how many.
func commonest(ps []place, cos float64) (geom.Vec, int) {
	best, most := geom.Vec{}, 0
	for i := 0; i < len(ps); i += max(1, len(ps)/200) {
		var sum geom.Vec
		n := 0
		for _, q := range ps {
			if q.n.Dot(ps[i].n) > cos {
				sum, n = sum.Add(q.n), n+1
			}
		}
		if n > most {
			best, most = sum.Unit(), n
		}
	}
	return best, most
}

// stepSets returns the vertices of each plane, away from its rims. The pattern
// gives planes roughly; each is then fitted alone and its points chosen anew.
func (s *scan) stepSets(ctx context.Context, heights []float64, normal geom.Vec, base, tol float64) ([][]geom.Vec, error) {
	sets := make([][]geom.Vec, len(heights))
	for k, h := range heights {
		start := fit.Plane{At: normal.Mul(base + h), Normal: normal}
		pl, q, _, err := settled(ctx, s, start, tol, func(p []geom.Vec, at fit.Plane) (fit.Plane, fit.Quality, error) {
			return fit.FitPlane(p, &at, fitOptions)
		})
		if err != nil {
			return nil, fmt.Errorf("plane %d of the steps: %w", k+1, err)
		}
		on := math.Max(leastTol, inlierTol*q.RMS)
		pts, _ := s.on(pl, on, stepPoints)
		rim := s.rimOf(pl, on)
		for _, p := range pts {
			if !rim[cellOf(pl, p)] {
				sets[k] = append(sets[k], p)
			}
		}
		if len(sets[k]) < leastVertices/2 {
			return nil, fmt.Errorf("plane %d of the steps has only %d points away from its edges; scan it more densely or from more sides", k+1, len(sets[k]))
		}
	}
	return sets, nil
}

// cellOf is the square of a plane in which a point lies.
func cellOf(pl fit.Plane, p geom.Vec) [2]int {
	e1 := pl.Normal.Normal()
	e2 := pl.Normal.Cross(e1)
	x := p.Sub(pl.At)
	return [2]int{int(math.Floor(x.Dot(e1) / rimCell)), int(math.Floor(x.Dot(e2) / rimCell))}
}

// rimOf marks the squares of a plane within stepRim of where the scan leaves it.
func (s *scan) rimOf(pl fit.Plane, on float64) map[[2]int]bool {
	left, rim := map[[2]int]bool{}, map[[2]int]bool{}
	const n = int(stepRim / rimCell)
	for _, v := range s.m.V {
		d := math.Abs(pl.Distance(v))
		if d <= on || d > on+stepRim {
			continue
		}
		c := cellOf(pl, v)
		if left[c] {
			continue
		}
		left[c] = true
		for i := -n; i <= n; i++ {
			for j := -n; j <= n; j++ {
				if i*i+j*j <= n*n {
					rim[[2]int{c[0] + i, c[1] + j}] = true
				}
			}
		}
	}
	return rim
}
