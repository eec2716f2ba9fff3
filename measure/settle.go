package measure

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
)

// How a crown is let settle. Lengths mm.
const (
	settleReach  = 1.0    // preparation farther from the crown is not met
	settleArm    = 4.0    // a turn is counted as what it moves at this distance: half a crown
	settlePoints = 1200   // of the preparation that are kept out at first
	settleMore   = 200    // that are added at once where the crown was found to enter the preparation
	settleSlack  = 0.0005 // the crown may enter by so much
	settleFirst  = 0.05   // first length of a step
	settleBound  = 6.0    // lengths of a step: points farther from the crown bound none
	settleLast   = 0.0002 // steps shorter than this end it
	settleSteps  = 60     // at most, in each round
	settleRounds = 6      // of adding points
	leastTip     = 0.02   // degrees: less is not named; over a crown it moves 3 um
	settlePrice  = 50.0   // mm of mean gap that a mm of penetration costs: on a wall of 2 degrees a mm along the axis gains 1/29 mm of it
	settleFar    = 50.0   // step lengths: a point so far off that the nearest one within is nearly the best of the linear programme
)

// Settled is where a crown comes to rest.
type Settled struct {
	Motion geom.Rigid // of the crown
	Down   float64    // mm along the placement axis toward the preparation, at the finish line's centre
	Tip    float64    // degrees by which the crown's axis leans
	Toward float64    // azimuth that it leans to
	Gap    float64    // mm, mean marginal gap left
}

// words says how a crown settles.
func (s *Settled) words(named bool) string {
	way := fmt.Sprintf("goes down by %.3f mm", s.Down)
	if s.Down < 0 {
		way = fmt.Sprintf("has to rise by %.3f mm", -s.Down)
	}
	if s.Tip >= leastTip && named {
		way += fmt.Sprintf(", tips by %.2f degrees toward azimuth %.0f", s.Tip, s.Toward)
	} else if s.Tip >= leastTip {
		way += fmt.Sprintf(", tips by %.2f degrees", s.Tip)
	}
	return fmt.Sprintf("let free on the preparation without cement it %s and leaves a mean marginal gap of %.3f mm", way, s.Gap)
}

// settling lets a crown settle. Pts are the points of the preparation that are
// kept out of the crown.
type settling struct {
	c    *Crown
	line []geom.Vec // finish line points
	all  []geom.Vec
	pts  []geom.Vec

	allSeen, ptsSeen sightings
}

// sightings are where points were last looked for, in the crown's own frame, and
// how far out of the crown they were there; negative inside.
type sightings struct {
	at    []geom.Vec
	clear []float64
}

// least is how far out of the crown point i is at q, or less: the distance
// changes by no more than the way.
func (s *sightings) least(i int, q geom.Vec) float64 { return s.clear[i] - q.Dist(s.at[i]) }

// see notes a point's distance, as far as it was looked for.
func (s *sightings) see(i int, q geom.Vec, dist float64) {
	s.at[i], s.clear[i] = q, math.Min(dist, settleReach)-footSlack
}

// grow makes room for n points, of which nothing is known yet.
func (s *sightings) grow(n int) {
	s.at = append(s.at, make([]geom.Vec, n)...)
	for range n {
		s.clear = append(s.clear, math.Inf(-1))
	}
}

// stand is the crown in one place: the distances of all points and gaps.
type stand struct {
	g     geom.Rigid
	hits  []bvh.SignedHit // in the crown's own frame
	gaps  []bvh.Hit
	gap   float64 // mean
	deep  float64 // deepest penetration
	merit float64
}

// Settle finds the rigid motion that lowers the mean marginal gap as far as it
// goes without the crown entering the preparation: steps of a linear programme
// in the motion's six parts, with the distances of the preparation's points to
// the crown taken as linear in them and anew after each step. Ok is false
// where no finish line faces the crown.
func (c *Crown) Settle(ctx context.Context) (out Settled, ok bool, err error) {
	s := settling{c: c}
	for k := range finishline.Sections {
		if c.Line.Seen[k] {
			s.line = append(s.line, c.Line.Point(c.Frame, k))
		}
	}
	s.all, _ = c.insideLine()
	s.allSeen.grow(len(s.all))
	stride := max(1, len(s.all)/settlePoints)
	for i := 0; i < len(s.all); i += stride {
		s.pts = append(s.pts, s.all[i])
	}
	s.ptsSeen.grow(len(s.pts))
	now, err := s.at(ctx, geom.Still(), settleFirst)
	if err != nil || math.IsNaN(now.gap) {
		return out, false, err
	}
	for range settleRounds {
		if now, err = s.descend(ctx, now); err != nil {
			return out, false, err
		}
		more, err := s.entering(ctx, now.g)
		if err != nil {
			return out, false, err
		}
		if len(more) == 0 {
			break
		}
		s.pts = append(s.pts, more...)
		s.ptsSeen.grow(len(more))
		if now, err = s.at(ctx, now.g, settleFirst); err != nil {
			return out, false, err
		}
	}
	return c.settled(now), true, nil
}

// settled puts a motion into numbers.
func (c *Crown) settled(now *stand) Settled {
	f := &c.Frame
	axis := f.Local(f.Origin.Add(now.g.Turn(f.Z)))
	out := Settled{Motion: now.g, Gap: now.gap, Down: now.g.Apply(f.Origin).Sub(f.Origin).Dot(f.Z.Neg())}
	out.Tip = math.Atan2(math.Hypot(axis.X, axis.Y), axis.Z) * 180 / math.Pi
	out.Toward = math.Mod(math.Atan2(axis.Y, axis.X)*180/math.Pi+360, 360)
	return out
}

// at measures the crown moved by g, as far as it matters to steps of a length
// or less: points known to be too far out to bound one are not looked for.
func (s *settling) at(ctx context.Context, g geom.Rigid, length float64) (*stand, error) {
	back := g.Inverse()
	moved := func(p []geom.Vec) []geom.Vec {
		out := make([]geom.Vec, len(p))
		for i := range p {
			out[i] = back.Apply(p[i])
		}
		return out
	}
	n := &stand{g: g, hits: newSigned(len(s.pts)), gaps: newHits(len(s.line))}
	pts, reach := moved(s.pts), make([]float64, len(s.pts))
	for i, q := range pts {
		if reach[i] = settleReach; s.ptsSeen.least(i, q) > settleBound*length {
			reach[i] = -1
		}
	}
	if err := s.c.Shell.Tree.SignedEach(ctx, pts, reach, n.hits); err != nil {
		return nil, err
	}
	if err := s.c.Intaglio.Tree.ClosestAll(ctx, moved(s.line), gapReach, n.gaps); err != nil {
		return nil, err
	}
	for i := range n.hits {
		if reach[i] > 0 {
			s.ptsSeen.see(i, pts[i], n.hits[i].Dist)
		}
		n.deep = math.Max(n.deep, -n.hits[i].Dist)
	}
	sum, count := 0.0, 0
	for i := range n.gaps {
		if n.gaps[i].Facet >= 0 {
			sum, count = sum+math.Sqrt(n.gaps[i].DistSq), count+1
		}
	}
	n.gap = sum / float64(count)
	n.merit = n.gap + settlePrice*math.Max(0, n.deep-settleSlack)
	return n, nil
}

// descend takes steps as long as they gain, shorter ones when they do not.
func (s *settling) descend(ctx context.Context, now *stand) (*stand, error) {
	length := settleFirst
	for range settleSteps {
		if length < settleLast {
			break
		}
		m, ok := s.step(now, length)
		if !ok {
			length /= 2
			continue
		}
		next, err := s.at(ctx, m.After(now.g), length)
		if err != nil {
			return nil, err
		}
		switch gain := now.merit - next.merit; {
		case gain <= 0:
			length /= 4
		case gain < length/10:
			now, length = next, length/2
		default:
			now = next
		}
	}
	return now, nil
}

// step is the motion of at most the given length in each of its parts that
// lowers the mean gap most while the points stay out.
func (s *settling) step(now *stand, length float64) (geom.Rigid, bool) {
	var down vec6
	for i := range now.gaps {
		if h := &now.gaps[i]; h.Facet >= 0 && h.DistSq > 0 {
			q := now.g.Apply(h.Point)
			down = down.plus(-1, s.effect(q, q.Sub(s.line[i]).Unit()))
		}
	}
	size := math.Sqrt(down.dot(down))
	if size == 0 {
		return geom.Still(), false
	}
	for _, share := range shares {
		x, ok := nearestWithin(vec6{}.plus(settleFar*length/size, down), s.bounds(now, length, share))
		if ok {
			return s.motion(x), true
		}
	}
	return geom.Still(), false
}

// shares of a step's length that a penetration is asked to go back by in one
// step: on steep walls only a small one can be had.
var shares = []float64{0.5, 0.15, 0.05, 0.015}

// bounds are what a step must keep: its length, and the points out.
func (s *settling) bounds(now *stand, length, share float64) []bound {
	var out []bound
	for i := range 6 {
		var a, b vec6
		a[i], b[i] = 1, -1
		out = append(out, bound{a, -length}, bound{b, -length})
	}
	for i := range now.hits {
		h := &now.hits[i]
		if h.Facet < 0 || h.Dist > settleBound*length {
			continue
		}
		n := now.g.Turn(s.c.away(s.pts[i], h, now.g))
		room := math.Max(h.Dist, -share*length)
		out = append(out, bound{vec6{}.plus(-1, s.effect(now.g.Apply(h.Point), n)), -room})
	}
	return out
}

// away is the direction in which the distance of p from the crown grows, in
// the crown's own frame.
func (c *Crown) away(p geom.Vec, h *bvh.SignedHit, g geom.Rigid) geom.Vec {
	d := g.Inverse().Apply(p).Sub(h.Point)
	if math.Abs(h.Dist) < 1e-6 { // at the surface itself rounding would choose
		return c.Shell.Tree.FeatureNormal(h.Hit)
	}
	return d.Mul(1 / h.Dist)
}

// effect is by how much the point q of the crown goes along n for each part of
// the motion.
func (s *settling) effect(q, n geom.Vec) vec6 {
	t := q.Sub(s.c.Frame.Origin).Cross(n).Mul(1 / settleArm)
	return vec6{n.X, n.Y, n.Z, t.X, t.Y, t.Z}
}

// motion makes the motion of its six parts: the shift and the turn about the
// finish line's centre.
func (s *settling) motion(x vec6) geom.Rigid {
	o := s.c.Frame.Origin
	w := geom.V(x[3], x[4], x[5]).Mul(1 / settleArm)
	g := geom.Still()
	if angle := w.Norm(); angle > 0 {
		g.R = geom.RotationAbout(w.Unit(), angle)
	}
	g.T = o.Add(geom.V(x[0], x[1], x[2])).Sub(g.R.Apply(o))
	return g
}

// entering returns the points of the preparation that are deepest in the moved
// crown, and none when it enters nowhere. A point that was farther out than it
// has come since is still out.
func (s *settling) entering(ctx context.Context, g geom.Rigid) ([]geom.Vec, error) {
	back := g.Inverse()
	var ask []int
	var pts []geom.Vec
	for i, p := range s.all {
		if q := back.Apply(p); !(s.allSeen.least(i, q) > 0) {
			ask, pts = append(ask, i), append(pts, q)
		}
	}
	hits := newSigned(len(pts))
	if err := s.c.Shell.Tree.SignedAll(ctx, pts, settleReach, hits); err != nil {
		return nil, err
	}
	var in []int
	for k, i := range ask {
		s.allSeen.see(i, pts[k], hits[k].Dist)
		if hits[k].Dist < -2*settleSlack {
			in = append(in, k)
		}
	}
	slices.SortStableFunc(in, func(a, b int) int { return cmp.Compare(hits[a].Dist, hits[b].Dist) })
	var out []geom.Vec
	for _, k := range in[:min(len(in), settleMore)] {
		out = append(out, s.all[ask[k]])
	}
	return out, nil
}
