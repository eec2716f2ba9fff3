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
	oldBlur   = 0.08 // mm above the edge from which on facets do not cut it off
	oldUpper  = 0.5  // mm above the edge up to which the surface above it tells how it goes on
	oldBelow  = 1.0  // mm below the edge within which the surface below it meets the tooth
	oldBend   = 1.0  // 1/mm: it is not taken to bend more than that
	oldOff    = 0.03 // mm inside that surface from which on a point lies on the surface below the edge
	oldLeast  = 0.03 // mm of the surface below the edge that must be seen
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
		arc := u.arcs()
		if i, sharp := u.oldMargin(arc, flat{s.Line.R[k], s.Line.Z[k]}); sharp {
			o.edge[k], o.upward[k] = u.oldCorner(arc, i)
		} else if i >= 0 {
			o.edge[k], o.upward[k] = u.p[i], reversed(u.p[:i+1])
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
// the crease to gingiva or root, and then sharp is true; without one, the point
// at the height of the finish line, or the crease where gingiva covers that. It
// returns -1 where the surface ends before.
func (u *run) oldMargin(arc []float64, line flat) (at int, sharp bool) {
	edge, level, sharpest := -1, -1, oldTurn
	for i, p := range u.p {
		if p.dist(line) > oldReach {
			continue
		}
		t := u.turnAt(arc, i, oldWindow)
		if t < -oldCrease {
			switch {
			case edge >= 0:
				return edge, true
			case level >= 0:
				return level, false
			}
			return u.deepestCrease(arc, i), false
		}
		if t > sharpest {
			edge, sharpest = i, t
		}
		if level < 0 && p.z <= line.z {
			level = i
		}
	}
	if edge >= 0 {
		return edge, true
	}
	return level, false
}

// goingOn is the chord, a point and the unit vector along it, on which the
// surface above an edge at point i goes on to it: it bends as its lower half
// does against its upper one.
func (u *run) goingOn(arc []float64, i int) (mid, way flat) {
	half := (oldUpper + oldBlur) / 2
	high, a := straight(u.between(arc, arc[i]-oldUpper, arc[i]-half))
	mid, way = straight(u.between(arc, arc[i]-half, arc[i]-oldBlur))
	bend := math.Atan2(a.cross(way), a.dot(way)) / mid.dist(high)
	turn := max(-oldBend, min(oldBend, bend)) * mid.dist(u.p[i]) / 2
	sin, cos := math.Sincos(turn)
	return mid, flat{way.r*cos - way.z*sin, way.r*sin + way.z*cos}
}

// offAt is the running length from which on the profile below point i lies
// plainly inside a line: before, it is still the surface above the edge, or what
// cuts the edge off.
func (u *run) offAt(arc []float64, i int, mid, way flat) float64 {
	off := 0.0
	for j := i; j < len(u.p); j++ {
		was := off
		if off = -way.cross(u.p[j].sub(mid)); off > oldOff {
			if j == i {
				return arc[i]
			}
			return arc[j-1] + (arc[j]-arc[j-1])*(oldOff-was)/(off-was)
		}
	}
	return arc[len(arc)-1]
}

// innerCorner is the point of the profile from a point to a running length that
// lies farthest to the inside of the chord between them: where the surface
// below an edge meets the tooth.
func (u *run) innerCorner(arc []float64, from int, to float64) int {
	end, _ := u.at(arc, to)
	chord := end.sub(u.p[from])
	best, most := from, 0.0
	for j := from; j < len(u.p) && arc[j] < to; j++ {
		if d := -chord.cross(u.p[j].sub(u.p[from])); d > most {
			best, most = j, d
		}
	}
	return best
}

// oldCorner returns where the surfaces above and below the old margin's edge,
// seen at point i, would meet, and the profile from there upward. Facets cut
// the edge off, and the place where the profile turns most may lie above it,
// where an overhanging crown is wider. Where too little is seen below it, the edge
// is point i.
func (u *run) oldCorner(arc []float64, i int) (edge flat, upward []flat) {
	edge = u.p[i]
	mid, way := u.goingOn(arc, i)
	from, crease := u.offAt(arc, i, mid, way), u.innerCorner(arc, i, arc[i]+oldBelow)
	if to := max(from+oldLeast, arc[crease]-oldBlur); arc[crease] >= to && arc[i] > oldUpper {
		below, along := straight(u.between(arc, from, to))
		if det := way.cross(along); math.Abs(det) > math.Sin(oldTurn*math.Pi/180) {
			t := below.sub(mid).cross(along) / det
			if x := (flat{mid.r + t*way.r, mid.z + t*way.z}); x.dist(u.p[i]) <= oldWindow {
				edge = x
			}
		}
	}
	upward = []flat{edge}
	for j := i; j >= 0; j-- {
		if arc[i]-arc[j] >= oldBlur {
			upward = append(upward, u.p[j])
		}
	}
	return edge, upward
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
