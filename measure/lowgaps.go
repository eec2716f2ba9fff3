package measure

import (
	"context"
	"math"
	"slices"

	"crownassay/bvh"
	"crownassay/curvature"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/par"
)

// gapsEvery is of how many spots one is measured first, to know how far the
// others need to be looked at; gapsMargin, mm, is more than what rounding does.
const (
	gapsEvery  = 8
	gapsMargin = 0.001
)

// plainGaps returns gaps without signs. Those that go below a robust minimum,
// of all spots or of those well inside the line angle, and the least of each
// degree are exact; of another there may be a lower bound only that is above
// these.
func plainGaps(ctx context.Context, to *Surface, spots []spot) ([]sample, error) {
	g := gapSearch{to: to, spots: spots, pts: pointsOf(spots)}
	g.value, g.reach, g.hits = make([]float64, len(spots)), make([]float64, len(spots)), newHits(len(spots))
	for i := range g.reach {
		if g.reach[i] = -1; i%gapsEvery == 0 {
			g.reach[i] = gapReach
		}
	}
	if err := g.look(ctx); err != nil {
		return nil, err
	}
	g.bound()
	if err := g.look(ctx); err != nil {
		return nil, err
	}
	out := make([]sample, 0, len(spots))
	for i, v := range g.value {
		if !math.IsNaN(v) {
			out = append(out, sample{v, spots[i].area, i})
		}
	}
	return out, nil
}

// gapSearch measures gaps in two rounds.
type gapSearch struct {
	to    *Surface
	spots []spot
	pts   []geom.Vec
	reach []float64 // how far to look in this round; negative for not at all
	hits  []bvh.Hit
	value []float64 // NaN where the surface is too far
}

// look measures the spots that have a reach. What is not within reach is known
// to be farther, which is enough where that is less than gapReach.
func (g *gapSearch) look(ctx context.Context) error {
	var at []int
	var pts []geom.Vec
	var reach []float64
	for i, r := range g.reach {
		if r >= 0 {
			at, pts, reach = append(at, i), append(pts, g.pts[i]), append(reach, r)
		}
	}
	hits := newHits(len(at))
	if err := g.to.Tree.ClosestEach(ctx, pts, reach, hits); err != nil {
		return err
	}
	return par.Do(ctx, len(at), 0, func(lo, hi int) {
		for k := lo; k < hi; k++ {
			switch i := at[k]; {
			case hits[k].Facet >= 0:
				g.hits[i], g.value[i] = hits[k], g.to.foot(pts[k], hits[k]).Dist(pts[k])
			case reach[k] < gapReach:
				g.value[i] = reach[k] - curvature.LiftMost
			default:
				g.hits[i].DistSq, g.value[i] = math.Inf(1), math.NaN()
			}
		}
	})
}

// bound says how far the other spots need to be looked at. A distance to the
// facets changes by no more than the way from one spot to the next, and the
// surface that they stand for lies within LiftMost of them.
func (g *gapSearch) bound() {
	enough := g.enough()
	for i := range g.reach {
		first := i - i%gapsEvery
		if i == first {
			g.reach[i] = -1
			continue
		}
		within := enough[g.spots[i].azimuth] + curvature.LiftMost + gapsMargin
		d, apart := math.Sqrt(g.hits[first].DistSq), g.pts[i].Dist(g.pts[first])
		switch {
		case !(d+apart+gapsMargin < gapReach): // it may be too far, which is to be known
			g.reach[i] = gapReach
		case d-apart > within:
			g.value[i] = within - curvature.LiftMost
		default:
			g.reach[i] = min(gapReach, within)
		}
	}
}

// enough returns, for each degree, a gap above which none matters.
func (g *gapSearch) enough() []float64 {
	low := make([]float64, finishline.Sections)
	for k := range low {
		low[k] = math.Inf(1)
	}
	var all, inside []sample
	for i := 0; i < len(g.spots); i += gapsEvery {
		s := &g.spots[i]
		x := sample{g.value[i], s.area, i}
		if math.IsNaN(x.value) {
			continue
		}
		low[s.azimuth] = math.Min(low[s.azimuth], x.value)
		all = append(all, x)
		if s.zone.inside() {
			inside = append(inside, x)
		}
	}
	least := leastOf(all)
	if slices.ContainsFunc(g.spots, func(s spot) bool { return s.zone.inside() }) {
		least = math.Max(least, leastOf(inside))
	}
	for k := range low {
		low[k] = math.Max(low[k], least)
	}
	return low
}

// leastOf is the robust minimum; +Inf where there is none.
func leastOf(s []sample) float64 {
	if m, ok := robustMin(s); ok {
		return m.value
	}
	return math.Inf(1)
}
