package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/reading"
)

// How marginal ridges are read. Azimuths in degrees, lengths mm.
const (
	ridgeSpan  = 12  // degrees to either side of mesial and distal: the middle of the ridge
	ridgeDip   = 0.1 // how far the outline falls from the ridge toward the fossa
	ridgeReach = 4.5 // behind its near side a neighbour's ridge lies within
)

const noRidge = "no marginal ridge is seen on the %s side of the %s"

// Ridges makes the readings of the steps between marginal ridges.
func (c *Crown) Ridges() []reading.Reading {
	return []reading.Reading{
		c.ridgeStep("crown.ridge.step.mesial", 0, "mesial", "distal"),
		c.ridgeStep("crown.ridge.step.distal", 180, "distal", "mesial"),
	}
}

// ridgeStep is by how much the crown's ridge stands above the neighbour's.
func (c *Crown) ridgeStep(id reading.ID, azimuth int, side, facing string) reading.Reading {
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
	other, ok := c.neighbourRidge(azimuth)
	if !ok {
		return unmeasured(id, fmt.Sprintf(noRidge, facing, side+" neighbour"))
	}
	return reading.Reading{ID: id, Value: own.z - other.z, At: c.place(azimuth, c.Frame.At(float64(azimuth), own.r, own.z)), Parts: c.lengthParts(4, 0)}
}

// ridgeAt is the crown's marginal ridge on one side: the median over the
// middle sections of the crest that the outline has before it falls to the
// neighbour.
func (c *Crown) ridgeAt(azimuth int) (flat, bool) {
	if !c.Posterior || !c.Mesial {
		return flat{}, false
	}
	return middleCrest(azimuth, func(k int) (flat, bool) { return outerCrest(c.cameo[k].p) })
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
func (s *Site) neighbourRidge(azimuth int) (flat, bool) {
	tall := s.tall(azimuth)
	return middleCrest(azimuth, func(k int) (flat, bool) { return s.nearCrest(k, tall) })
}

// nearCrest is the first crest of the tooth beyond the finish line in section
// k, going outward: the highest point before the outline falls by ridgeDip.
func (s *Site) nearCrest(k int, tall float64) (flat, bool) {
	p := &s.Profiles[k]
	lo, hi := s.neighbourRun(k, tall)
	if hi <= lo {
		return flat{}, false
	}
	top, near := lo, p.R[lo]
	for i := lo; i < p.Len(); i++ {
		near = math.Min(near, p.R[i])
		if p.R[i] > near+ridgeReach {
			break
		}
		if p.Z[i] > p.Z[top] {
			top = i
		}
		if p.Z[top] > tall && p.Z[top]-p.Z[i] > ridgeDip {
			return flat{p.R[top], p.Z[top]}, true
		}
	}
	return flat{}, false
}

// middleCrest is the median crest over the sections around an azimuth.
func middleCrest(azimuth int, crest func(k int) (flat, bool)) (flat, bool) {
	var r, z []float64
	for d := -ridgeSpan; d <= ridgeSpan; d++ {
		if p, ok := crest(wrap(azimuth + d)); ok {
			r, z = append(r, p.r), append(z, p.z)
		}
	}
	if len(z) <= ridgeSpan {
		return flat{}, false
	}
	return flat{finishline.Median(r), finishline.Median(z)}, true
}
