package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/reading"
)

// How marginal ridges are read. Azimuths in degrees, lengths mm.
const (
	ridgeSpan   = 60   // degrees to either side of mesial and distal: from cusp to cusp
	ridgeDip    = 0.1  // how far the outline falls from the ridge toward the fossa
	ridgeSaddle = 0.05 // how far the crest falls between the cusps
	ridgeReach  = 4.5  // behind its near side a neighbour's ridge lies within
)

const noRidge = "no marginal ridge is seen on the %s side of the %s"

// Ridges makes the readings of the steps between marginal ridges.
func (c *Crown) Ridges(ctx context.Context) ([]reading.Reading, error) {
	arch, err := c.halfPlanesFrom(ctx, c.Prepared, crownReach, -ridgeSpan, 2*ridgeSpan+1)
	if err != nil {
		return nil, err
	}
	return []reading.Reading{
		c.ridgeStep("crown.ridge.step.mesial", 0, "mesial", "distal", arch),
		c.ridgeStep("crown.ridge.step.distal", 180, "distal", "mesial", arch),
	}, nil
}

// ridgeStep is by how much the crown's ridge stands above the neighbour's.
func (c *Crown) ridgeStep(id reading.ID, azimuth int, side, facing string, arch [][]run) reading.Reading {
	switch {
	case !c.Mesial:
		return unmeasured(id, needMesial)
	case !c.Posterior:
		return unmeasured(id, "front teeth have no marginal ridge that meets another")
	}
	own, ok := c.ridgeAt(azimuth)
	if !ok {
		return unmeasured(id, fmt.Sprintf(noRidge, side, "crown"))
	}
	other, ok := c.neighbourRidge(azimuth, arch)
	if !ok {
		return unmeasured(id, fmt.Sprintf(noRidge, facing, side+" neighbour"))
	}
	return reading.Reading{ID: id, Value: own.z - other.z, At: c.place(azimuth, c.Frame.At(float64(azimuth), own.r, own.z)), Parts: c.lengthParts(4, 0)}
}

// ridgeAt is the crown's marginal ridge on one side, at the lowest point of
// the crest that its outlines have before they fall to the neighbour.
func (c *Crown) ridgeAt(azimuth int) (flat, bool) {
	if !c.Posterior || !c.Mesial {
		return flat{}, false
	}
	return saddle(azimuth, func(k int) (flat, bool) { return outerCrest(c.cameo[k].p) })
}

// outerCrest is the outermost crest of an outline that runs from the fossa
// outward and down: the last point that no later one overtops and before
// which the outline lies lower by ridgeDip.
func outerCrest(p []flat) (flat, bool) {
	if len(p) == 0 {
		return flat{}, false
	}
	top := len(p) - 1
	for i := len(p) - 1; i >= 0; i-- {
		if p[i].z > p[top].z {
			top = i
		}
		if p[top].z-p[i].z > ridgeDip && i < top {
			return p[top], true
		}
	}
	return p[top], top > 0
}

// neighbourRidge is the near marginal ridge of the tooth beside.
func (s *Site) neighbourRidge(azimuth int, arch [][]run) (flat, bool) {
	tall := s.tall(azimuth)
	return saddle(azimuth, func(k int) (flat, bool) {
		lo, hi := s.neighbourRun(k, tall)
		if hi <= lo {
			return flat{}, false
		}
		return nearCrest(arch[k], flat{s.Profiles[k].R[lo], s.Profiles[k].Z[lo]}, tall)
	})
}

// nearCrest is the first crest of the tooth that begins at a crease, going
// outward: the highest point, above tall, before the outline falls by
// ridgeDip.
func nearCrest(runs []run, crease flat, tall float64) (flat, bool) {
	u, from := nearestPoint(runs, crease)
	if u == nil {
		return flat{}, false
	}
	top, near := u.p[from], crease.r
	for _, p := range u.p[from:] {
		if near = math.Min(near, p.r); p.r > near+ridgeReach {
			break
		}
		if p.z > top.z {
			top = p
		}
		if top.z > tall && top.z-p.z > ridgeDip {
			return top, true
		}
	}
	return flat{}, false
}

// nearestPoint returns the run and the index of its point nearest to p.
func nearestPoint(runs []run, p flat) (best *run, at int) {
	d := math.Inf(1)
	for i := range runs {
		for j, q := range runs[i].p {
			if x := q.dist(p); x < d {
				best, at, d = &runs[i], j, x
			}
		}
	}
	return best, at
}

// saddle is the lowest point of a ridge's crest between the cusps beside it:
// of the sections around an azimuth, the crest that others on both sides
// overtop most.
func saddle(azimuth int, crest func(k int) (flat, bool)) (at flat, ok bool) {
	var row []flat
	for d := -ridgeSpan; d <= ridgeSpan; d++ {
		if p, ok := crest(wrap(azimuth + d)); ok {
			row = append(row, p)
		}
	}
	deepest := ridgeSaddle
	for i := range row {
		if d := math.Min(highestOf(row[:i]), highestOf(row[i+1:])) - row[i].z; d > deepest {
			deepest, at, ok = d, row[i], true
		}
	}
	return at, ok
}

func highestOf(row []flat) float64 {
	z := math.Inf(-1)
	for _, p := range row {
		z = math.Max(z, p.z)
	}
	return z
}
