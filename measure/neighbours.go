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
	neighbourShare = 0.6  // of a neighbour's height that the papilla does not reach
	belowTop       = 2.0  // how far below a tooth's top the crease lies: fissures lie higher
	creaseHalf     = 10   // samples to either side of a crease: 0.25 mm
	creaseFine     = 3    // the same where it is looked for again
	creaseNear     = 4    // within so many samples
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
	tall := s.tall(azimuth)
	for d := -neighbourSpan; d <= neighbourSpan; d++ {
		k := wrap(azimuth + d)
		lo, hi := s.neighbourRun(k, tall)
		p := &s.Profiles[k]
		if r, z, ok := p.Meet(lo, creaseHalf); ok && hi > lo { // facets cut the crease off
			out = append(out, s.Frame.At(float64(k), r, z))
		}
		for i := lo; i < hi; i++ {
			if !p.Gap[i] {
				out = append(out, s.Frame.At(float64(k), p.R[i], p.Z[i]))
			}
		}
	}
	return out
}

// tall is the height that only a tooth reaches on the side of an azimuth:
// well above the finish line, and most of the height of what stands there.
func (s *Site) tall(azimuth int) float64 {
	line, top := math.Inf(-1), math.Inf(-1)
	for d := -neighbourSpan; d <= neighbourSpan; d++ {
		k := wrap(azimuth + d)
		line = math.Max(line, s.Line.Z[k])
		if i := s.topBeyond(k); i >= 0 {
			top = math.Max(top, s.Profiles[k].Z[i])
		}
	}
	return line + math.Max(neighbourRise, neighbourShare*(top-line))
}

// topBeyond returns the highest sample of section k within reach beyond the
// finish line, -1 where there is none.
func (s *Site) topBeyond(k int) int {
	p, r := &s.Profiles[k], s.Line.R[k]
	top := -1
	for i := max(0, s.beyond(k)); i < p.Len() && p.R[i] < r+neighbourReach; i++ {
		if !p.Gap[i] && (top < 0 || p.Z[i] > p.Z[top]) {
			top = i
		}
	}
	return top
}

// beyond returns the first sample of section k that is plainly outside the
// finish line.
func (s *Site) beyond(k int) int {
	return s.Profiles[k].Nearest(s.Line.R[k], s.Line.Z[k]) + int(0.3/finishline.Step)
}

// neighbourRun returns the samples of section k, from the crease to the
// height of contour, that belong to a tooth beyond the finish line; tall is
// the height that only a tooth reaches. The papilla may reach high too, so the
// crease is the last one that lies well below the tooth's top.
func (s *Site) neighbourRun(k int, tall float64) (lo, hi int) {
	p, first := &s.Profiles[k], s.beyond(k)
	top := s.topBeyond(k)
	if top < 0 || p.Z[top] <= tall {
		return 0, 0
	}
	lo = top
	for lo > first && (p.Z[lo] > p.Z[top]-belowTop || -p.TurnAt(lo, creaseHalf) < creaseTurn) {
		lo--
	}
	if lo <= first {
		return 0, 0
	}
	for lo > first && p.TurnAt(lo-1, creaseHalf) < p.TurnAt(lo, creaseHalf) {
		lo--
	}
	return max(first, s.creaseAt(p, lo)), top + 1
}

// creaseAt is the sample of the sharpest concave turn near sample i: over long
// lines the turn is most where the longer of two bends is, over short ones at
// the crease itself.
func (s *Site) creaseAt(p *finishline.Profile, i int) int {
	at := i
	for k := i - creaseNear; k <= i+creaseNear; k++ {
		if p.TurnAt(k, creaseFine) < p.TurnAt(at, creaseFine) {
			at = k
		}
	}
	return at
}
