package phantom

import (
	"context"
	"math"
	"slices"

	"crownassay/geom"
)

// findings collects what is true of one outer surface, with its crown where
// there is one.
type findings struct {
	*contour
	m      *model
	t      *Truth
	prefix string     // of the readings' ids: "crown.", "finished." or "existing."
	ridge  [2]float64 // heights of the marginal ridges, mesial and distal; NaN for none
}

// put fills one reading with its place in the tooth's frame.
func (f *findings) put(id string, v float64, place geom.Vec) {
	f.t.Readings[f.prefix+id] = v
	f.t.Places[f.prefix+id] = triple(f.m.toFile(place))
}

// truth fills the crown's readings under the prefix and returns the sections.
func (r *restoration) truth(ctx context.Context, t *Truth, prefix string) (*CrownTruth, error) {
	c, err := newContour(ctx, r.out, r.model.survey)
	if err != nil {
		return nil, err
	}
	f := &findings{contour: c, m: r.model, t: t, prefix: prefix}
	cavity := newCloud(r.in, surfaceTurns, surfaceSteps)
	gaps := c.gaps(cavity)
	f.margin(gaps)
	f.outline()
	out := c.describe(r.model, gaps)
	f.ridges(r)
	f.contacts(r, out)
	r.toolLeft(f)
	if err := f.thickness(ctx, cavity, out); err != nil {
		return nil, err
	}
	if err := f.mirrored(ctx); err != nil {
		return nil, err
	}
	if err := r.internal(ctx, f); err != nil {
		return nil, err
	}
	return out, r.seating(ctx, f, out)
}

// gaps are the shortest distances from the sections' finish line points to the
// cavity.
func (c *contour) gaps(cavity *cloud) []float64 {
	out := make([]float64, len(c.sections))
	for i := range out {
		_, out[i] = cavity.nearest(c.sections[i].space(uFinish))
	}
	return out
}

// profile collects one value of every section.
func (c *contour) profile(f func(k *contourCut) float64) []float64 {
	out := make([]float64, len(c.sections))
	for i := range out {
		out[i] = f(&c.sections[i])
	}
	return out
}

func (k *contourCut) horizontal() float64 { return k.flat.r - k.finish.r }
func (k *contourCut) vertical() float64   { return k.flat.z - k.finish.z }
func (k *contourCut) discrepancy() float64 {
	return math.Hypot(k.horizontal(), k.vertical())
}

// margin fills what lies between the margin edge and the finish line.
func (f *findings) margin(gaps []float64) {
	f.t.Readings[f.prefix+"fit.marginal_gap.mean"] = mean(gaps)
	f.highest("fit.marginal_gap.max", gaps)
	f.highest("fit.discrepancy.max", f.profile((*contourCut).discrepancy))
	v, i := lowest(f.profile((*contourCut).horizontal))
	f.put("contour.overhang.min", v, f.sections[i].margin)
}

// outline fills the readings of the outer surface alone.
func (f *findings) outline() {
	f.highest("contour.overhang.max", f.profile((*contourCut).horizontal))
	f.highest("contour.emergence.max", f.profile(func(k *contourCut) float64 { return k.emergence }))
	f.highest("contour.bulge.max", f.profile(func(k *contourCut) float64 { return k.bulge }))
}

// highest fills one robust maximum along the profile with its place on the
// margin edge.
func (f *findings) highest(id string, v []float64) {
	w := medianRound(v, 1)
	i := slices.Index(w, slices.Max(w))
	f.put(id, w[i], f.sections[i].margin)
}

// describe lists margin edge and sections; gaps may be nil.
func (c *contour) describe(m *model, gaps []float64) *CrownTruth {
	t := &CrownTruth{}
	for i := range loopSteps {
		a := 2 * math.Pi * float64(i) / loopSteps
		t.Margin = append(t.Margin, triple(m.toFile(spin(a, c.out.margin(a)))))
	}
	for i := range c.sections {
		k := &c.sections[i]
		s := CrownSection{Azimuth: float64(i), Margin: triple(m.toFile(k.margin)), Horizontal: k.horizontal(),
			Vertical: k.vertical(), Discrepancy: k.discrepancy(), Emergence: k.emergence, Bulge: k.bulge, BulgeHeight: k.bulgeAt}
		if gaps != nil {
			s.Gap = gaps[i]
		}
		t.Sections = append(t.Sections, s)
	}
	return t
}
