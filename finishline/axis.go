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
}

// PlacementAxis returns the placement axis of a wall by the definition: the
// direction with the least undercut area; among directions free of undercut
// the one whose smallest angle to all walls is largest. Search: pattern
// search over the tip from start, from 8 degrees down to 0.01.
func PlacementAxis(patches []Patch, start geom.Vec) Axis {
	s := axisSearch{patches: patches, angles: make([]weighted, len(patches))}
	best := s.try(start.Unit())
	u := start.Normal()
	v := start.Unit().Cross(u)
	for step := 8.0; step > 0.01; {
		moved := false
		for k := range 8 {
			sn, cs := math.Sincos(float64(k) * math.Pi / 4)
			tip := u.Mul(cs).Add(v.Mul(sn)).Mul(math.Tan(step * math.Pi / 180))
			if a := s.try(best.Direction.Add(tip).Unit()); better(a, best) {
				best, moved = a, true
			}
		}
		if !moved {
			step /= 2
		}
	}
	return best
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
	angles  []weighted
}

// try measures one direction.
func (s *axisSearch) try(p geom.Vec) Axis {
	a := Axis{Direction: p, Worst: -1}
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
	if len(low) > 0 {
		w := low[len(low)-1]
		a.Window, a.Worst = math.Asin(math.Max(-1, math.Min(1, w.sine)))*180/math.Pi, w.i
	}
	return a
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
