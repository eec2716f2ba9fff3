package measure

import (
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/reading"
)

// Walls makes the readings of the axial walls.
func (s *Site) AxialWalls() []reading.Reading {
	out := s.convergence()
	out = append(out, s.height()...)
	out = append(out, s.undercut()...)
	return append(out, s.window(), s.retention())
}

// wallSpan is how many sections to either side enter a wall's inclination
// (definition).
const wallSpan = 5

const (
	needMesial = "the mesial direction is not known: give it as mesial: [x, y, z] in case.yaml"
	noWall     = "no axial wall was seen there"
)

// convergence is the sum of the inclinations of two opposing walls.
func (s *Site) convergence() []reading.Reading {
	t := medianAround(s.tapers, wallSpan)
	out := []reading.Reading{
		s.converge("preparation.convergence.mesiodistal", t, 0),
		s.converge("preparation.convergence.buccolingual", t, 90),
	}
	half := finishline.Sections / 2
	sums := make([]float64, finishline.Sections)
	for k := range sums {
		sums[k] = t[k] + t[wrap(k+half)]
	}
	m, n := mean(sums[:half])
	if n < half/2 {
		return append(out, unmeasured("preparation.convergence.mean", "fewer than half of the sections show both opposing walls"))
	}
	r := reading.Reading{ID: "preparation.convergence.mean", Value: m, Profile: profile(sums), Parts: s.angleParts(s.wallLength(), 0.2)}
	if k := highest(sums); k >= 0 {
		r.Note = fmt.Sprintf("largest %.1f degrees", sums[k])
		if s.Mesial {
			r.Note += fmt.Sprintf(" between %s and %s", reading.Sector(float64(k)), reading.Sector(float64(k+half)))
		}
	}
	return append(out, r)
}

func (s *Site) converge(id reading.ID, t []float64, k int) reading.Reading {
	if !s.Mesial {
		return unmeasured(id, needMesial)
	}
	a, b := t[k], t[wrap(k+180)]
	if math.IsNaN(a) || math.IsNaN(b) {
		return unmeasured(id, noWall)
	}
	n := [2]string{reading.Sector(float64(k)), reading.Sector(float64(k + 180))}
	return reading.Reading{ID: id, Value: a + b, Parts: s.angleParts(s.wallLength(), 2), Profile: profile(t),
		Note: fmt.Sprintf("walls inclined %s %.1f, %s %.1f degrees", n[0], a, n[1], b),
		Subs: []reading.Sub{{Name: "wall " + n[0], Value: a, Unit: "deg"}, {Name: "wall " + n[1], Value: b, Unit: "deg"}}}
}

// wallLength is half the median wall height: the part that lines are fitted to.
func (s *Site) wallLength() float64 {
	var h []float64
	for _, x := range s.heights {
		if !math.IsNaN(x) {
			h = append(h, x)
		}
	}
	return finishline.Median(h) / 2
}

// height is from the finish line to the occlusoaxial line angle, along the
// axis.
func (s *Site) height() []reading.Reading {
	h := median3(s.heights)
	k := lowest(h)
	if k < 0 {
		return []reading.Reading{unmeasured("preparation.height.min", noWall), unmeasured("preparation.height_to_base", noWall)}
	}
	w := &s.Walls[k]
	r := reading.Reading{ID: "preparation.height.min", Value: h[k], Profile: profile(s.heights), Parts: s.lengthParts(2, 1),
		At: s.place(k, s.Frame.At(float64(k), w.EdgeR, w.EdgeZ))}
	if !w.Ok {
		r.At = s.place(k, s.Line.Point(s.Frame, k))
	}
	r.Parts = append(r.Parts, reading.Part{Name: "line angle", Standard: s.edgeCut()}, below(s.heights, k))
	return []reading.Reading{r, s.heightToBase()}
}

// edgeBlur is the standard uncertainty of the line angle's mean height, mm:
// facets cut the edge off, by a sixth of their edges on the whole.
func (s *Site) edgeBlur() float64 { return 0.01 + s.Spacing/6 }

// endsBlur is the standard uncertainty, mm, of the mean length of a wall for
// its two ends: facets move each, one way, by up to L sin 45, on the mean by
// half of that.
func (s *Site) endsBlur() float64 { return math.Sqrt2 * s.facet() * math.Sqrt2 / 4 / math.Sqrt(3) }

// edgeCut is the standard uncertainty of the line angle's height where it is
// lowest, mm. A facet of length L across a sharp edge that is inclined just
// 45 degrees brings the wall's end down by L sin 45; that is the half width of
// a rectangular distribution.
func (s *Site) edgeCut() float64 { return 0.01 + s.facet()*math.Sqrt2/2/math.Sqrt(3) }

// standsOut is how many sections to either side the lowest one is compared
// with: about 1 mm of arc.
const standsOut = 15

// below is the part of a minimum's uncertainty that shows in how far it lies
// below the sections around it, where facets cut some edges off more than
// others; taken as the half width of a rectangular distribution.
func below(v []float64, k int) reading.Part {
	d := medianAround(v, standsOut)[k] - median3(v)[k]
	if !(d > 0) {
		d = 0
	}
	return reading.Part{Name: "sections beside", Standard: d / math.Sqrt(3)}
}

func (s *Site) heightToBase() reading.Reading {
	const id = "preparation.height_to_base"
	if !s.Mesial {
		return unmeasured(id, needMesial)
	}
	h := medianAround(s.heights, wallSpan)
	a, b := h[90], h[270]
	if math.IsNaN(a) || math.IsNaN(b) {
		return unmeasured(id, noWall)
	}
	base := s.Line.Point(s.Frame, 90).Dist(s.Line.Point(s.Frame, 270))
	v := (a + b) / 2 / base
	u := s.trace() / base * math.Sqrt(1+4*v*v) // facets move the line inward, or down, on both sides alike
	return reading.Reading{ID: id, Value: v, ScannerSensitivity: 1 / base,
		Note:  fmt.Sprintf("height %.2f mm over a base of %.2f mm", (a+b)/2, base),
		Parts: []reading.Part{{Name: "finish line repeatability", Standard: u}, {Name: "line angle", Standard: s.edgeBlur() / base}}}
}

// undercut is how far a lower wall point lies nearer the axis than a higher
// one, and the wall area that faces away from the axis.
func (s *Site) undercut() []reading.Reading {
	const faces = 0.5 // degrees (definition of the area)
	depth := make([]float64, finishline.Sections)
	at := make([]int, finishline.Sections)
	any := false
	for k := range depth {
		depth[k] = math.NaN()
		if s.Walls[k].Ok {
			depth[k], at[k] = s.undercutOf(k)
			any = true
		}
	}
	if !any {
		return []reading.Reading{unmeasured("preparation.undercut.depth", noWall), unmeasured("preparation.undercut.area", noWall)}
	}
	m := median3(depth)
	k := highest(m)
	d := reading.Reading{ID: "preparation.undercut.depth", Value: m[k], Profile: profile(depth), Parts: s.lengthParts(6, 0)}
	if p := &s.Profiles[k]; m[k] > 0 && s.Walls[k].Ok {
		d.At = s.place(k, s.Frame.At(float64(k), p.R[at[k]], p.Z[at[k]]))
	}
	area := 0.0
	limit := -math.Sin(faces * math.Pi / 180)
	for i := range s.Patches {
		if s.Patches[i].Normal.Dot(s.Frame.Z) < limit {
			area += s.Patches[i].Area
		}
	}
	a := reading.Reading{ID: "preparation.undercut.area", Value: area, At: d.At,
		Parts: []reading.Part{{Name: "resolution of the wall grid", Standard: 0.1 + 0.1*area}}}
	return []reading.Reading{d, a}
}

// undercutOf walks up the wall of section k and returns the depth of its
// deepest undercut and the sample at its bottom.
func (s *Site) undercutOf(k int) (float64, int) {
	w, p := &s.Walls[k], &s.Profiles[k]
	low, lowAt := math.Inf(1), w.Inner
	depth, at := 0.0, w.Inner
	half := 3 + int(math.Min(5, 500*s.known()))
	for i := s.wallEnd(w); i >= w.Edge; i-- {
		if p.Gap[i] {
			continue
		}
		r := p.Smooth(i, min(half, i-w.Edge, w.Inner-i))
		if r < low {
			low, lowAt = r, i
		} else if r-low > depth {
			depth, at = r-low, lowAt
		}
	}
	return depth, at
}

// wallEnd is the lowest sample of a wall that facets across the finish line do
// not reach: at a feather edge they lean in as the root does.
func (s *Site) wallEnd(w *finishline.Wall) int {
	if w.Inner != w.Line {
		return w.Inner
	}
	return max(w.Edge, w.Inner-int(math.Ceil(s.facet()/finishline.Step)))
}

// window is the robust smallest angle between the axis and a wall.
func (s *Site) window() reading.Reading {
	const id = "preparation.placement.window"
	if s.Axis.Worst < 0 || len(s.Patches) == 0 {
		return unmeasured(id, noWall)
	}
	p := &s.Patches[s.Axis.Worst]
	parts := append(s.angleParts(0.5, 0.5), reading.Part{Name: "facets on the curved wall", Standard: s.facetTilt(p)})
	return reading.Reading{ID: id, Value: s.Axis.Window, At: s.place(p.Azimuth, p.Point), Parts: parts}
}

// facetTilt is the standard uncertainty, degrees, of the wall's inclination at
// a patch that facets make: one of length L with a corner above and an edge
// below on a wall of radius R leans by the edge's sagitta over its height,
// L / 8 R; the patch with the smallest angle is where it leans most, so that
// is the half width of a rectangular distribution.
func (s *Site) facetTilt(p *finishline.Patch) float64 {
	r := p.Point.Sub(s.Frame.Origin).Reject(s.Frame.Z).Norm()
	return s.facet() / (8 * math.Max(r, 0.5)) / math.Sqrt(3) * 180 / math.Pi
}

// retention is the area of the axial walls.
func (s *Site) retention() reading.Reading {
	const id = "preparation.retention.area"
	area, seen := 0.0, 0
	for i := range s.Patches {
		area += s.Patches[i].Area
	}
	for k := range s.Walls {
		if s.Walls[k].Ok {
			seen++
		}
	}
	if seen == 0 {
		return unmeasured(id, noWall)
	}
	perMM := area / math.Max(0.5, 2*s.wallLength()) // of wall height
	r := reading.Reading{ID: id, Value: area, ScannerSensitivity: perMM, Parts: []reading.Part{
		{Name: "finish line repeatability", Standard: perMM * s.trace() / 2},
		{Name: "ends of the wall", Standard: perMM * s.endsBlur()}}}
	if seen < finishline.Sections {
		miss := 100 * float64(finishline.Sections-seen) / finishline.Sections
		r.Note = fmt.Sprintf("%.0f %% of the circumference shows no wall and is not counted", math.Ceil(miss))
		r.Parts = append(r.Parts, reading.Part{Name: "wall not scanned", Standard: area * miss / 100})
	}
	return r
}
