package finishline

import (
	"cmp"
	"math"
	"slices"

	"crownassay/geom"
)

// robustArea is the area, mm^2, below which a robust minimum disregards a
// surface (definition of the robust minimum).
const robustArea = 0.05

// Axis is the placement axis found.
type Axis struct {
	Direction geom.Vec
	Window    float64 // degrees: robust smallest angle between the axis and a wall
	Undercut  float64 // mm^2 of wall that faces away from the axis
	Worst     int     // patch at the robust smallest angle
	sine      float64 // of Window
}

// PlacementAxis returns the placement axis of a wall by the definition: the
// direction with the least undercut area; among directions free of undercut
// the one whose smallest angle to all walls is largest. Search: pattern search
// over the tip from start, from 8 degrees down to 0.01. What is searched is a
// ridge wherever two walls hold each other, so the pattern is turned from round
// to round and the step halved only after several in vain.
func PlacementAxis(patches []Patch, start geom.Vec) Axis {
	s := axisSearch{patches: patches, angles: make([]weighted, len(patches)), known: make([]bool, len(patches))}
	best, _ := s.try(start.Unit(), math.Inf(-1))
	u := start.Normal()
	v := start.Unit().Cross(u)
	turn, vain := 0.0, 0
	for step := firstTip; step > lastTip; turn += goldenTurn {
		found := s.around(best, start.Unit(), u.Mul(step), v.Mul(step), turn)
		if better(found, best) {
			best, vain = found, 0
		} else if vain++; vain == vainRounds {
			step, vain = step/2, 0
		}
	}
	return best
}

// How the axis is searched. Angles in radians of tip.
const (
	firstTip    = 8.0 * math.Pi / 180                  // first step: about what a scan's mean normal is off
	lastTip     = 0.01 * math.Pi / 180                 // last step: a fiftieth of what a convergence may be off
	compass     = 8                                    // directions tried around in one round
	farthestTip = 0.8660254                            // cosine of the largest tip from the start, 30 degrees: a path of placement farther off is no crown's
	vainRounds  = 3                                    // rounds in vain before the step is halved
	goldenTurn  = 0.6180339887 * 2 * math.Pi / compass // by which the pattern turns each round: never twice the same
)

// around tries the tips u and v span about a, turned by an angle, and returns
// the best, each from the best so far.
func (s *axisSearch) around(a Axis, start, u, v geom.Vec, turn float64) Axis {
	for k := range compass {
		sn, cs := math.Sincos(turn + float64(k)*2*math.Pi/compass)
		tip := u.Mul(cs).Add(v.Mul(sn))
		p := a.Direction.Add(tip).Unit()
		if p.Dot(start) < farthestTip {
			continue
		}
		if b, ok := s.try(p, a.floor()); ok && better(b, a) {
			a = b
		}
	}
	return a
}

// better orders axes: less undercut first, then the wider window.
func better(a, b Axis) bool {
	if a.Window >= 0 || b.Window >= 0 {
		return a.Window > b.Window
	}
	if a.Undercut != b.Undercut {
		return a.Undercut < b.Undercut
	}
	return a.Window > b.Window
}

type weighted struct {
	sine, area float64
	i          int
}

type axisSearch struct {
	patches []Patch
	angles  []weighted // scratch
	low     []int      // patches that were among the lowest in some direction
	known   []bool     // they
}

// floor is the sine that robustArea of wall must stay above for a direction to
// be better; below every sine while a is undercut.
func (a *Axis) floor() float64 {
	if a.Window < 0 {
		return math.Inf(-1)
	}
	return a.sine
}

// loses reports whether robustArea of wall lies no higher than floor, as far as
// the patches tell that were lowest before: most directions are dropped here.
func (s *axisSearch) loses(p geom.Vec, floor float64) bool {
	lost := 0.0
	for _, i := range s.low {
		if s.patches[i].Normal.Dot(p) <= floor {
			if lost += s.patches[i].Area; lost >= robustArea {
				return true
			}
		}
	}
	return false
}

// remember keeps the patches that were lowest.
func (s *axisSearch) remember(low []weighted) {
	for _, w := range low {
		if !s.known[w.i] {
			s.known[w.i] = true
			s.low = append(s.low, w.i)
		}
	}
}

// try measures one direction; ok is false when it is no better than floor.
func (s *axisSearch) try(p geom.Vec, floor float64) (a Axis, ok bool) {
	if s.loses(p, floor) {
		return a, false
	}
	a = Axis{Direction: p, Worst: -1}
	low := s.angles[:0]
	bound := math.Inf(1)
	for i := range s.patches {
		x := s.patches[i].Normal.Dot(p)
		if x < 0 {
			a.Undercut += s.patches[i].Area
		}
		if x < bound {
			low = append(low, weighted{x, s.patches[i].Area, i})
			if len(low) >= 256 {
				low, bound = keepLowest(low)
			}
		}
	}
	low, _ = keepLowest(low)
	s.remember(low)
	if len(low) > 0 {
		w := low[len(low)-1]
		a.sine = math.Max(-1, math.Min(1, w.sine))
		a.Window, a.Worst = math.Asin(a.sine)*180/math.Pi, w.i
	}
	return a, true
}

// keepLowest sorts and keeps the lowest entries that together reach
// robustArea; the bound is the value of the last one.
func keepLowest(w []weighted) ([]weighted, float64) {
	sortWeighted(w)
	sum := 0.0
	for i := range w {
		sum += w[i].area
		if sum >= robustArea {
			return w[:i+1], w[i].sine
		}
	}
	return w, math.Inf(1)
}

func sortWeighted(w []weighted) {
	slices.SortFunc(w, func(a, b weighted) int {
		if c := cmp.Compare(a.sine, b.sine); c != 0 {
			return c
		}
		return cmp.Compare(a.i, b.i)
	})
}
