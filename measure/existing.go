package measure

import (
	"context"
	"math"

	"crownassay/finishline"
	"crownassay/reading"
)

// How the margin of a restoration is seen on a scan of it in the mouth.
const (
	oldWindow = 0.2  // mm to either side over which a turn is taken
	oldTurn   = 30.0 // degrees: gentler turns are no margin's edge
	oldCrease = 25.0 // degrees of concave turn where gingiva or root begins
	oldReach  = 1.5  // mm from the finish line within which the old margin lies
)

// Existing makes the contour readings of the restoration before, at the new
// finish line.
func (s *Site) Existing(ctx context.Context) ([]reading.Reading, error) {
	const over, em, bulge = "existing.contour.overhang.max", "existing.contour.emergence.max", "existing.contour.bulge.max"
	all := func(why string) []reading.Reading {
		return []reading.Reading{unmeasured(over, why), unmeasured(em, why), unmeasured(bulge, why)}
	}
	switch {
	case s.NoBefore != "":
		return all(s.NoBefore), nil
	case s.Before == nil:
		return nil, nil
	}
	runs, err := s.halfPlanes(ctx, s.Before, 2*crownReach)
	if err != nil {
		return nil, err
	}
	o := contour{site: s, edge: make([]flat, finishline.Sections), upward: make([][]flat, finishline.Sections), parts: s.lengthParts(4, 1)}
	for k := range o.edge {
		o.edge[k] = flat{math.NaN(), math.NaN()}
		u := topRun(runs[k])
		if u == nil {
			continue
		}
		if i := u.oldMargin(flat{s.Line.R[k], s.Line.Z[k]}); i >= 0 {
			o.edge[k] = u.p[i]
			o.upward[k] = reversed(u.p[:i+1])
		}
	}
	first := o.overhang(over, highest)
	if !first.Measured() {
		return all("the surface from before does not show the tooth down to the finish line"), nil
	}
	if v, ok := leaning(o.upward[int(first.At.Azimuth)], emergenceArc); ok {
		first.Subs = append(first.Subs, reading.Sub{Name: "emergence there", Value: v, Unit: "deg"})
	}
	return []reading.Reading{first, o.emergence(em), o.bulge(bulge)}, nil
}

// topRun returns the piece of a section that leaves the axis highest.
func topRun(runs []run) *run {
	var best *run
	for i := range runs {
		if p := runs[i].p[0]; p.r == 0 && (best == nil || p.z > best.p[0].z) {
			best = &runs[i]
		}
	}
	return best
}

// oldMargin returns the index of the old margin's edge: coming down the
// surface, the sharpest convex turn within reach of the finish line and above
// the crease to gingiva or root; without one, the point at the height of the
// finish line, or the crease where gingiva covers that. It returns -1 where
// the surface ends before.
func (u *run) oldMargin(line flat) int {
	arc := u.arcs()
	edge, level, sharpest := -1, -1, oldTurn
	for i, p := range u.p {
		if p.dist(line) > oldReach {
			continue
		}
		t := u.turnAt(arc, i, oldWindow)
		if t < -oldCrease {
			switch {
			case edge >= 0:
				return edge
			case level >= 0:
				return level
			}
			return u.deepestCrease(arc, i)
		}
		if t > sharpest {
			edge, sharpest = i, t
		}
		if level < 0 && p.z <= line.z {
			level = i
		}
	}
	if edge >= 0 {
		return edge
	}
	return level
}

// deepestCrease follows a concave turn to where it is strongest.
func (u *run) deepestCrease(arc []float64, i int) int {
	best := i
	for j := i; j < len(u.p) && arc[j]-arc[i] <= 2*oldWindow; j++ {
		if u.turnAt(arc, j, oldWindow) < u.turnAt(arc, best, oldWindow) {
			best = j
		}
	}
	return best
}
