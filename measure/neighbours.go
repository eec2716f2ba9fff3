package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// How a neighbouring tooth is told from the gingiva between: it is what
// climbs high and steep beyond the finish line. Lengths mm, angles degrees.
const (
	neighbourRise  = 2.5  // height above the finish line beside it that gingiva hardly reaches
	neighbourReach = 8.0  // largest distance from the finish line to a neighbour's near side
	neighbourSpan  = 50   // degrees to either side of mesial and distal that are looked at
	creaseTurn     = 25.0 // concave turn from gingiva to tooth
	creaseHalf     = 10   // samples to either side of a crease: 0.25 mm
)

// neighbours measures the shortest distances to the teeth beside.
func (s *Site) neighbours() []reading.Reading {
	return []reading.Reading{
		s.neighbour("finish_line.neighbour.mesial", 0, "mesial"),
		s.neighbour("finish_line.neighbour.distal", 180, "distal"),
	}
}

func (s *Site) neighbour(id reading.ID, azimuth int, side string) reading.Reading {
	if !s.Mesial {
		return unmeasured(id, needMesial)
	}
	pts := s.neighbourPoints(azimuth)
	if len(pts) == 0 {
		return unmeasured(id, fmt.Sprintf("no neighbouring tooth was scanned on the %s side", side))
	}
	best, at := math.Inf(1), 0
	for d := -90; d <= 90; d++ {
		f := s.Line.Point(s.Frame, azimuth+d)
		for _, p := range pts {
			if x := p.DistSq(f); x < best {
				best, at = x, azimuth+d
			}
		}
	}
	return reading.Reading{ID: id, Value: math.Sqrt(best), At: s.place(at, s.Line.Point(s.Frame, at)), Parts: s.lengthParts(2, 1)}
}

// neighbourPoints gathers the near side of the tooth beside, from the
// sections around an azimuth.
func (s *Site) neighbourPoints(azimuth int) []geom.Vec {
	var out []geom.Vec
	high := math.Inf(-1)
	for d := -neighbourSpan; d <= neighbourSpan; d++ {
		high = math.Max(high, s.Line.Z[wrap(azimuth+d)])
	}
	for d := -neighbourSpan; d <= neighbourSpan; d++ {
		k := wrap(azimuth + d)
		lo, hi := s.neighbourRun(k, high+neighbourRise)
		p := &s.Profiles[k]
		for i := lo; i < hi; i++ {
			if !p.Gap[i] {
				out = append(out, s.Frame.At(float64(k), p.R[i], p.Z[i]))
			}
		}
	}
	return out
}

// neighbourRun returns the samples of section k, from the crease to the
// height of contour, that belong to a tooth beyond the finish line; tall is
// the height that only a tooth reaches.
func (s *Site) neighbourRun(k int, tall float64) (lo, hi int) {
	p := &s.Profiles[k]
	r, z := s.Line.R[k], s.Line.Z[k]
	first := p.Nearest(r, z) + int(0.3/finishline.Step)
	top := -1
	for i := first; i < p.Len() && p.R[i] < r+neighbourReach; i++ {
		if p.Z[i] > tall && !p.Gap[i] {
			top = i
			break
		}
	}
	if top < 0 || first < 0 {
		return 0, 0
	}
	lo = top
	for lo > first && -p.TurnAt(lo, creaseHalf) < creaseTurn {
		lo--
	}
	if lo == first {
		return 0, 0
	}
	for lo > first && p.TurnAt(lo-1, creaseHalf) < p.TurnAt(lo, creaseHalf) {
		lo--
	}
	return lo, min(p.Len(), top+int(3/finishline.Step))
}
