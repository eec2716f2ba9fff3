package phantom

import (
	"context"
	"math"
	"slices"

	"crownassay/geom"
	"crownassay/internal/par"
)

// The samples of a surface that area means and robust extremes stand on: about
// 0.004 mm^2 each.
const (
	surfaceTurns = 360
	surfaceSteps = 140
)

// truth fills the crown's readings and sections.
func (r *restoration) truth(ctx context.Context, t *Truth) error {
	c, err := newContour(ctx, r.out, r.model.survey)
	if err != nil {
		return err
	}
	cavity := newCloud(r.in, surfaceTurns, surfaceSteps)
	t.Crown = &CrownTruth{}
	gaps := c.gaps(cavity)
	c.describe(t.Crown, r.model, gaps)
	r.model.contourTruth(c, "crown.", t)
	t.Readings["crown.fit.marginal_gap.mean"] = mean(gaps)
	r.model.highestTruth(c, "crown.fit.marginal_gap.max", gaps, t)
	for _, f := range []func() error{
		func() error { return r.thickness(ctx, c, cavity, t) },
		func() error { return r.internal(ctx, t) },
		func() error { return r.contacts(t) },
	} {
		if err := f(); err != nil {
			return err
		}
	}
	return nil
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

// contourTruth fills the readings of an outer surface; prefix is "crown." or
// "existing.".
func (m *model) contourTruth(c *contour, prefix string, t *Truth) {
	over := c.profile((*contourCut).horizontal)
	m.highestTruth(c, prefix+"contour.overhang.max", over, t)
	m.highestTruth(c, prefix+"contour.emergence.max", c.profile(func(k *contourCut) float64 { return k.emergence }), t)
	m.highestTruth(c, prefix+"contour.bulge.max", c.profile(func(k *contourCut) float64 { return k.bulge }), t)
	if prefix == "existing." {
		return
	}
	m.highestTruth(c, prefix+"fit.discrepancy.max", c.profile((*contourCut).discrepancy), t)
	v, i := lowest(over)
	t.Readings[prefix+"contour.overhang.min"] = v
	t.Places[prefix+"contour.overhang.min"] = triple(m.toFile(c.sections[i].margin))
}

// highestTruth fills one robust maximum along the profile with its place on
// the margin edge.
func (m *model) highestTruth(c *contour, id string, v []float64, t *Truth) {
	w := medianRound(v, 1)
	i := slices.Index(w, slices.Max(w))
	t.Readings[id] = w[i]
	t.Places[id] = triple(m.toFile(c.sections[i].margin))
}

// describe fills the sections.
func (c *contour) describe(t *CrownTruth, m *model, gaps []float64) {
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
}

// sampled spreads probes over a sheet; their zone is left at 0 and p is in the
// tooth's frame. The parameter of probe i lies at place i.
func sampled(ctx context.Context, s sheet, turns, steps int) ([]probe, []param, error) {
	n := turns * steps
	out, at := make([]probe, n), make([]param, n)
	da, dq := 2*math.Pi/float64(turns), s.span()/float64(steps)
	err := par.Do(ctx, n, 256, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			w := param{da * (float64(i/steps) + 0.5), dq * (float64(i%steps) + 0.5)}
			x := s.point(w.a+da/2, w.q).Sub(s.point(w.a-da/2, w.q))
			y := s.point(w.a, w.q+dq/2).Sub(s.point(w.a, w.q-dq/2))
			out[i] = probe{p: s.point(w.a, w.q), area: x.Cross(y).Norm(), near: int32(i)}
			at[i] = w
		}
	})
	return out, at, err
}

// The zones of an outer surface.
const (
	zoneMargin = iota // below marginBand above the crown margin
	zoneAxial
	zoneChewing // above the line angle
	zonesOuter
)

// zoneOf tells margin, axial and occlusal surface apart by the two sections
// beside p; share is how far p lies from the pole to the margin edge.
func (c *contour) zoneOf(p geom.Vec, share float64) int {
	d := p.Sub(c.s.origin)
	x := math.Atan2(d.Dot(c.s.b), d.Dot(c.s.m)) / degree
	x -= 360 * math.Floor(x/360)
	i := int(x) % 360
	u := x - math.Floor(x)
	k, n := &c.sections[i], &c.sections[(i+1)%360]
	switch {
	case share < k.shareTop+u*(n.shareTop-k.shareTop):
		return zoneChewing
	case share < k.shareHalf+u*(n.shareHalf-k.shareHalf):
		return zoneAxial
	}
	return zoneMargin
}

// thickness fills the two robust minima of the distance to the cavity.
func (r *restoration) thickness(ctx context.Context, c *contour, cavity *cloud, t *Truth) error {
	probes, at, err := sampled(ctx, r.out, surfaceTurns, surfaceSteps)
	if err != nil {
		return err
	}
	for i := range probes {
		probes[i].zone = c.zoneOf(probes[i].p, at[i].q/r.out.runs)
	}
	if err := cavity.measure(ctx, probes, zonesOuter); err != nil {
		return err
	}
	for zone, id := range map[int]string{zoneChewing: "crown.thickness.occlusal", zoneAxial: "crown.thickness.axial"} {
		v, p := robustMin(probes, func(k int) bool { return k == zone })
		t.Readings[id], t.Places[id] = v, triple(r.model.toFile(p))
	}
	return nil
}

// measure fills the distances of the probes, exact for all that could lie
// below the robust minimum of their zone, and sorts them.
func (c *cloud) measure(ctx context.Context, probes []probe, zones int) error {
	err := par.Do(ctx, len(probes), 128, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			probes[i].near, probes[i].d = c.coarse(probes[i].p)
		}
	})
	if err != nil {
		return err
	}
	slices.SortStableFunc(probes, func(a, b probe) int { return compare(a.d, b.d) })
	area, pick := make([]float64, zones), []int{}
	for i := range probes {
		if z := probes[i].zone; area[z] < 5*robustArea {
			area[z] += probes[i].area
			pick = append(pick, i)
		}
	}
	err = par.Do(ctx, len(pick), 8, func(lo, hi int) {
		for _, i := range pick[lo:hi] {
			_, probes[i].d = c.fine(probes[i].p, probes[i].near)
		}
	})
	slices.SortStableFunc(probes, func(a, b probe) int { return compare(a.d, b.d) })
	return err
}

// contacts fills the smallest signed distances to the neighbours.
func (r *restoration) contacts(t *Truth) error {
	for i, id := range []string{"crown.contact.mesial", "crown.contact.distal"} {
		if r.sides[i] == nil {
			continue
		}
		w := proximalWindow
		w.azimuth = math.Pi * float64(i)
		r.contact(id, r.sides[i], w, t)
	}
	r.contact("crown.contact.occlusal", r.bite, occlusalWindow, t)
	return nil
}

func (r *restoration) contact(id string, teeth *target, w window, t *Truth) {
	at, d := r.out.least(teeth, &r.model.target.frame, w)
	t.Readings[id] = d
	t.Places[id] = triple(r.model.toFile(r.out.at(at.a, at.q)))
}
