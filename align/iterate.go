package align

import (
	"context"
	"math"

	"crownassay/geom"
)

// How the iteration goes on and ends. Lengths mm.
const (
	mostRounds  = 60    // of pairing at one level
	mostWeighed = 8     // of weighing anew with the same partners; three or four settle it
	settled     = 1e-7  // a smaller change of the motion ends the weighing: far below any scanner's digits
	shrink      = 8.0   // the window in standard deviations: half as far again as the farthest point with weight
	leastScale  = 1e-5  // residuals of exact copies are rounding; their scale is not let go below this
	fewPairs    = 24    // four for each freedom
	smallStep   = 0.005 // a step of this length leaves an error of its square over the radius of the sharpest edges seen (0.3): 0.08 um
	coarseStep  = 0.02  // the same for samples of 0.6 mm, whose own error is more than that
)

// state is where an iteration stands.
type state struct {
	motion geom.Rigid
	window float64 // mm: how far partners may lie
	narrow float64 // mm: the window gets no narrower, or it would hide that the surfaces part
	cond   Condition
	known  bool // cond is known
	scale  float64
	rounds int // in all
}

// level is one set of points to iterate with.
type level struct {
	pts    *points
	step   float64 // end when the motion changes by less, mm
	rounds int     // of pairing at most
	smooth bool    // the points' normals are smooth enough to tell open freedoms
}

// run pairs, solves and moves until the motion rests, from a state that it
// changes. The matching it returns is the last one, moved by the last step.
func (t target) run(ctx context.Context, l level, s *state) (*matching, Stop, error) {
	m := newMatching(t, l.pts)
	for range l.rounds {
		if err := m.find(ctx, s.motion, s.window); err != nil {
			return m, Unfinished, err
		}
		s.rounds++
		step, stop := m.advance(l, s)
		if stop != Converged || step < l.step {
			return m, stop, nil
		}
	}
	return m, IterationLimit, nil
}

// advance makes one step with the partners found and returns its length.
func (m *matching) advance(l level, s *state) (float64, Stop) {
	r := m.paired()
	if len(r) < fewPairs {
		return 0, TooLittleOverlap
	}
	v := m.pivot()
	if l.smooth || !s.known {
		c, ok := m.condition(v)
		if !ok {
			return 0, NotConditioned
		}
		s.cond, s.known = c, true
	}
	v = pivot{s.cond.Center, s.cond.Size}
	s.scale = max(scatter(r), leastScale)
	x, ok := m.solve(v, s.cond.held(), s.scale)
	if !ok {
		return 0, NotConditioned
	}
	m.follow(v, x)
	s.motion = m.motion
	s.window = max(s.narrow, min(s.window, shrink*s.scale))
	return x.length(), Converged
}

// solve finds the small motion with the least weighed squares, the partners'
// tangent planes held still: weights and motion in turn.
func (m *matching) solve(v pivot, basis []vec6, scale float64) (vec6, bool) {
	var x vec6
	for range mostWeighed {
		e := m.equations(v, m.normal, &x, func(r float64) float64 { return tukey(r / (tukeyCut * scale)) })
		d, ok := e.solve(basis)
		if !ok {
			return x, false
		}
		for i := range x {
			x[i] += d[i]
		}
		if d.length() < settled || d.length() > scale {
			break // at rest, or far off, where new partners help more
		}
	}
	return x, !math.IsNaN(x.length())
}
