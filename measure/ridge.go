package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/reading"
)

// How marginal ridges are read. Lengths mm.
const (
	ridgeSide  = 2.0   // to either side of the middle, along the ridge
	ridgeStep  = 0.2   // between the lines across it
	ridgeBin   = 0.05  // along a line, over which the highest point is taken
	ridgeHalf  = 4     // bins to either side of the highest that make the crest
	ridgeDip   = 0.05  // how far the outline falls from the ridge toward the fossa
	ridgeCrest = 0.006 // standard uncertainty of a crest between the lines and of the facets there
	ridgeReach = 3.0   // from the tooth's proximal side within which its ridge lies
)

const noRidge = "no marginal ridge is seen on the %s side of the %s"

// Ridges makes the readings of the steps between marginal ridges.
func (c *Crown) Ridges(ctx context.Context) ([]reading.Reading, error) {
	mesial, err := c.ridgeStep(ctx, "crown.ridge.step.mesial", 0, "mesial", "distal")
	if err != nil {
		return nil, err
	}
	distal, err := c.ridgeStep(ctx, "crown.ridge.step.distal", 180, "distal", "mesial")
	return []reading.Reading{mesial, distal}, err
}

// ridgeStep is by how much the crown's ridge stands above the neighbour's.
func (c *Crown) ridgeStep(ctx context.Context, id reading.ID, azimuth int, side, facing string) (reading.Reading, error) {
	switch {
	case !c.Mesial:
		return unmeasured(id, needMesial), nil
	case !c.Posterior:
		return unmeasured(id, "front teeth have no marginal ridge that meets another"), nil
	}
	own, ok, err := c.ownRidge(ctx, azimuth)
	if err != nil || !ok {
		return unmeasured(id, fmt.Sprintf(noRidge, side, "crown")), err
	}
	to := c.neighbourSurface(azimuth)
	if to == nil {
		return unmeasured(id, fmt.Sprintf("no neighbouring tooth was scanned on the %s side", side)), nil
	}
	other, ok, err := c.saddle(ctx, to, azimuth, 1)
	if err != nil || !ok {
		return unmeasured(id, fmt.Sprintf(noRidge, facing, side+" neighbour")), err
	}
	return reading.Reading{ID: id, Value: own.z - other.z, At: c.place(azimuth, c.Frame.At(float64(azimuth), own.r, own.z)), Parts: append(c.lengthParts(1, 0), reading.Part{Name: "lines across the ridge", Standard: ridgeCrest},
		reading.Part{Name: "highest of the noise on each line", Standard: c.likely()})}, nil
}

// ownRidge is the crown's marginal ridge on one side.
func (c *Crown) ownRidge(ctx context.Context, azimuth int) (flat, bool, error) {
	if !c.Posterior || !c.Mesial {
		return flat{}, false, nil
	}
	return c.saddle(ctx, c.Cameo, azimuth, -1)
}

// saddle is the lowest point of a ridge's crest between the cusps beside it.
// Lines across the ridge, parallel to the section at an azimuth, each have a
// crest; the lowest one is taken, with the lowest place of the parabola through
// it and the two beside it. Sign is 1 for a tooth that begins at its near side
// and -1 for the crown, that begins at its far one. Where the lowest crest is
// that of the outermost line there is no saddle.
func (s *Site) saddle(ctx context.Context, of *Surface, azimuth int, sign float64) (flat, bool, error) {
	n := int(math.Round(ridgeSide / ridgeStep))
	offsets := make([]float64, 2*n+1)
	for i := range offsets {
		offsets[i] = float64(i-n) * ridgeStep
	}
	lines, err := s.beside(ctx, of, 2*crownReach, azimuth, offsets)
	if err != nil {
		return flat{}, false, err
	}
	z := make([]float64, len(lines))
	at := make([]flat, len(lines))
	low := 0
	for i := range lines {
		p, ok := crestOf(lines[i], sign)
		if z[i], at[i] = p.z, p; !ok {
			z[i] = math.Inf(1)
		}
		if z[i] < z[low] {
			low = i
		}
	}
	if low == 0 || low == len(z)-1 || math.IsInf(z[low], 1) {
		return flat{}, false, nil
	}
	p := at[low]
	if a, b := z[low-1], z[low+1]; math.Max(a, b) < p.z+ridgeDip && a+b > 2*p.z { // beside a cusp there is no parabola
		p.z -= (a - b) * (a - b) / (a + b - 2*p.z) / 8
	}
	return p, true, nil
}

// crestOf is the crest of a tooth on one line, seen from above: going from its
// proximal side inward, the first highest point that the outline falls from by
// ridgeDip.
func crestOf(runs []run, sign float64) (flat, bool) {
	z, first := fromAbove(runs, sign)
	top, at := math.Inf(-1), 0
	for i := 0; i < len(z) && float64(i)*ridgeBin <= ridgeReach; i++ {
		switch {
		case math.IsInf(z[i], -1):
		case z[i] > top:
			top, at = z[i], i
		case z[i] < top-ridgeDip:
			return flat{sign * float64(first+at) * ridgeBin, peakOf(z, at)}, true
		}
	}
	return flat{}, false
}

// fromAbove is the height of the outline at every ridgeBin of the way out (or
// in, for a negative sign), the first at first times ridgeBin; -Inf where there
// is none.
func fromAbove(runs []run, sign float64) (z []float64, first int) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, u := range runs {
		for _, p := range u.p {
			lo, hi = math.Min(lo, sign*p.r), math.Max(hi, sign*p.r)
		}
	}
	if lo > hi {
		return nil, 0
	}
	first = int(math.Ceil(lo / ridgeBin))
	z = make([]float64, max(0, int(math.Floor(hi/ridgeBin))-first+1))
	for i := range z {
		z[i] = math.Inf(-1)
	}
	for _, u := range runs {
		for i := 1; i < len(u.p); i++ {
			a, b := flat{sign * u.p[i-1].r, u.p[i-1].z}, flat{sign * u.p[i].r, u.p[i].z}
			if a.r > b.r {
				a, b = b, a
			}
			for k := int(math.Ceil(a.r / ridgeBin)); float64(k)*ridgeBin < b.r; k++ {
				t := (float64(k)*ridgeBin - a.r) / (b.r - a.r)
				z[k-first] = math.Max(z[k-first], a.z+t*(b.z-a.z))
			}
		}
	}
	return z, first
}

// peakOf is the top of the parabola fitted by least squares to the values
// within ridgeHalf of the highest; the highest itself where it has not enough
// beside it.
func peakOf(z []float64, i int) float64 {
	var s0, s2, s4, t0, t1, t2 float64
	for d := -ridgeHalf; d <= ridgeHalf; d++ {
		if i+d < 0 || i+d >= len(z) || math.IsInf(z[i+d], 0) {
			return z[i]
		}
		x := float64(d)
		s0, s2, s4 = s0+1, s2+x*x, s4+x*x*x*x
		t0, t1, t2 = t0+z[i+d], t1+x*z[i+d], t2+x*x*z[i+d]
	}
	det := s0*s4 - s2*s2
	a, b, c := (s4*t0-s2*t2)/det, t1/s2, (s0*t2-s2*t0)/det
	if c >= 0 || math.Abs(b/c) > ridgeHalf {
		return z[i]
	}
	return a - b*b/c/4
}
