package align

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"crownassay/geom"
)

// Points at each level of the iteration.
const (
	screenPoints = 300  // for trying a candidate: its rank shows
	samplePoints = 3000 // of the samples
	vertexPoints = 4000 // of the vertices, before all: brings the motion within a few um
)

// Screening of candidates.
const (
	screenRounds = 12   // of pairing for a candidate
	finalists    = 3    // candidates that are followed to rest
	asGood       = 0.85 // a second motion with this share of the first one's score fits alike
	otherMotion  = 1.0  // mm: motions this far apart are two
	nearStart    = 0.2  // share that must lie together as they are, or another way is tried
)

// start is where an iteration begins.
func (r *registration) start(g geom.Rigid, window float64) *state {
	return &state{motion: g, window: window, narrow: 3 * r.Near}
}

// fromStart refines a motion that is roughly known.
func (r *registration) fromStart(ctx context.Context, g geom.Rigid) (Result, error) {
	s := r.start(g, r.Reach)
	if _, stop, err := r.coarse(ctx, s, samplePoints, mostRounds); err != nil || stop != Converged {
		return r.report(nil, s, stop, err)
	}
	return r.finish(ctx, s)
}

// asTheyAre leaves alone what is in one frame already and refines what nearly
// is; done is false where it is neither.
func (r *registration) asTheyAre(ctx context.Context) (out Result, err error, done bool) {
	a, err := r.agreement(ctx, geom.Still())
	s := r.start(geom.Still(), 10*r.Near)
	if err != nil {
		out, err = r.report(nil, s, Unfinished, err)
		return out, err, true
	}
	if a.Share < nearStart {
		return out, nil, false
	}
	m, stop, err := r.coarse(ctx, s, samplePoints, mostRounds)
	if stop = r.verdict(m, s, stop); err == nil && stop != Converged && stop != NotConditioned {
		return out, nil, false
	}
	out, err = r.finish(ctx, s)
	var refused *RefusedError
	return out, err, !errors.As(err, &refused)
}

// fromAnywhere looks for the motion without a start.
func (r *registration) fromAnywhere(ctx context.Context) (Result, error) {
	all, err := r.candidates(ctx)
	if err != nil {
		return r.report(nil, r.start(geom.Still(), 0), Unfinished, err)
	}
	tried, err := r.screen(ctx, all)
	if err != nil {
		return r.report(nil, r.start(geom.Still(), 0), Unfinished, err)
	}
	if len(tried) == 0 {
		return r.report(nil, r.start(geom.Still(), 0), TooLittleOverlap, nil)
	}
	best := tried[0]
	if r.hopeless(best.m, best.state) {
		return r.report(best.m, best.state, r.judge(best.m, best.state), nil)
	}
	out, err := r.finish(ctx, best.state)
	if err == nil && out.Condition.Open == 0 && r.twoWays(tried) {
		out.Stop = Ambiguous
		return out, r.refusal(&out)
	}
	return out, err
}

// candidates returns motions to try.
func (r *registration) candidates(ctx context.Context) ([]candidate, error) {
	r.fixedSamples = samplesOf(r.fixed, r.FixedWeight, r.cube)
	links, err := alikeLinks(ctx, r.samples, r.fixedSamples, r.cube)
	if err != nil {
		return nil, err
	}
	all, err := candidates(ctx, links, r.samples, r.cube)
	return append(all, framed(r.moving, r.fixed)...), err
}

// trial is a candidate that was tried on the surfaces.
type trial struct {
	m     *matching
	state *state
	score float64 // more overlap, firmer and with less scatter is better; 0 to 1
}

// screen tries all candidates with a few points and the best with more; the
// best comes first.
func (r *registration) screen(ctx context.Context, all []candidate) ([]trial, error) {
	starts := make([]*state, len(all))
	for i, c := range all {
		starts[i] = r.start(c.motion, 3*r.cube)
	}
	tried, err := r.try(ctx, starts, screenPoints, screenRounds)
	if err != nil {
		return nil, err
	}
	return r.try(ctx, r.best(tried), samplePoints, mostRounds)
}

// best returns where to go on from the best trials that came to different
// motions.
func (r *registration) best(tried []trial) []*state {
	var out []*state
	at := spots(r.samples)
	for _, t := range tried {
		known := slices.ContainsFunc(out, func(s *state) bool { return apartBy(s.motion, t.state.motion, at) < otherMotion })
		if !known && len(out) < finalists {
			t.state.window = max(t.state.window, r.cube)
			out = append(out, t.state)
		}
	}
	return out
}

// try iterates from each start and returns those that found an overlap, best
// first.
func (r *registration) try(ctx context.Context, starts []*state, points, rounds int) ([]trial, error) {
	var out []trial
	for _, s := range starts {
		m, stop, err := r.coarse(ctx, s, points, rounds)
		if err != nil {
			return nil, err
		}
		if stop == Converged || stop == IterationLimit {
			q := m.quality(s.scale, r.Near, r.cover)
			out = append(out, trial{m, s, q.Overlap * q.Firm * max(0, 1-s.scale/r.Near)})
		}
	}
	slices.SortStableFunc(out, func(a, b trial) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	return out, nil
}

// twoWays reports whether another motion fits nearly as well as the best.
func (r *registration) twoWays(tried []trial) bool {
	at := spots(r.samples)
	for _, t := range tried[1:] {
		if t.score > asGood*tried[0].score && apartBy(t.state.motion, tried[0].state.motion, at) > otherMotion {
			return true
		}
	}
	return false
}

// coarse iterates with samples.
func (r *registration) coarse(ctx context.Context, s *state, most, rounds int) (*matching, Stop, error) {
	l := level{pts: pointsOfSamples(r.samples, most), step: coarseStep, rounds: rounds, smooth: true}
	return r.to.run(ctx, l, s)
}

// finish refines with vertices, some and then all, and reports.
func (r *registration) finish(ctx context.Context, s *state) (Result, error) {
	all := pointsOfVertices(r.moving, r.MovingWeight).thinned(r.Points)
	var m *matching
	var stop Stop
	for _, n := range [2]int{vertexPoints, len(all.p)} {
		l := level{pts: all.thinned(n), step: smallStep, rounds: mostRounds}
		var err error
		m, stop, err = r.to.run(ctx, l, s)
		if stop = r.verdict(m, s, stop); err != nil || stop != Converged && stop != NotConditioned {
			return r.report(m, s, stop, err)
		}
		if moves := r.moves(s.motion); r.Start == nil && moves <= r.LeaveWithin {
			return r.leave(ctx, m, s, moves)
		}
		if len(l.pts.p) == len(all.p) {
			break
		}
	}
	return r.report(m, s, stop, nil)
}

// verdict says what an iteration's end means for what it found.
func (r *registration) verdict(m *matching, s *state, stop Stop) Stop {
	if stop != Converged && stop != IterationLimit {
		return stop
	}
	j := r.judge(m, s)
	if stop == IterationLimit && (j == Converged || j == NotConditioned) {
		return stop
	}
	return j
}

// moves is how far a motion moves the surface, root mean square.
func (r *registration) moves(g geom.Rigid) float64 {
	return apartBy(g, geom.Still(), spots(r.samples))
}

// leave reports surfaces that are in one frame, as they are.
func (r *registration) leave(ctx context.Context, m *matching, s *state, moves float64) (Result, error) {
	s.motion = geom.Still()
	if err := m.find(ctx, s.motion, s.window); err != nil {
		return r.report(m, s, Unfinished, err)
	}
	out, err := r.report(m, s, InFrame, nil)
	out.Moves = moves
	return out, err
}

// What surfaces of one shape must show. On invented crowns and arches of
// different teeth, laid together as well as they go, the firm share is 0.3 to
// 0.94 and the scatter 0.045 mm (the crown of a first premolar on the second)
// and more; on scans of one thing with 10 um of noise 0.99 and 0.013 mm. Where
// they are laxer another tooth is taken for this one; where they are stricter a
// worn or milled copy is refused.
const (
	leastFirm   = 0.75 // of Quality.Firm
	mostScatter = 0.3  // of the distances, in units of Near
)

// judge says whether what was found may be used.
func (r *registration) judge(m *matching, s *state) Stop {
	q := m.quality(s.scale, r.Near, r.cover)
	switch {
	case q.Overlap < r.LeastOverlap:
		return TooLittleOverlap
	case q.Firm < leastFirm, s.scale > mostScatter*r.Near:
		return NoMatch
	case s.cond.Open > 0 && !r.AllowOpen:
		return NotConditioned
	}
	return Converged
}

// hopeless reports whether samples miss what is needed by so much that vertices
// cannot make it good.
func (r *registration) hopeless(m *matching, s *state) bool {
	q := m.quality(s.scale, r.Near, r.cover)
	return q.Overlap < r.LeastOverlap/2 || q.Firm < leastFirm/2 || s.scale > r.Near
}

// report puts the result together; m is nil where nothing was found.
func (r *registration) report(m *matching, s *state, stop Stop, err error) (Result, error) {
	out := Result{Motion: s.motion, Stop: stop, Rounds: s.rounds, Moves: r.moves(s.motion), Condition: s.cond}
	if m != nil && s.known {
		v := pivot{s.cond.Center, s.cond.Size}
		out.Quality = m.quality(s.scale, r.Near, r.cover)
		out.Covariance = inRadians(m.covariance(v, s.cond.held(), s.scale, &out.Quality), v.size)
	}
	if err != nil {
		out.Stop = Unfinished
		return out, fmt.Errorf("register surfaces: %w", err)
	}
	return out, r.refusal(&out)
}

// inRadians turns the first three components of a covariance from lengths into
// angles.
func inRadians(c [6][6]float64, size float64) [6][6]float64 {
	for i := range c {
		for k := range c {
			if i < 3 {
				c[i][k] /= size
			}
			if k < 3 {
				c[i][k] /= size
			}
		}
	}
	return c
}
