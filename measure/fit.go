package measure

import (
	"context"
	"fmt"
	"math"
	"slices"
	"sync"

	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
)

// beyondMargin is how far from the margin, mm, the internal gap is taken
// (definition).
const beyondMargin = 1.0

// Fit makes the readings of how the crown sits on the preparation. The
// definitions of gaps and discrepancies are those of J. R. Holmes, S. C.
// Bayne, G. A. Holland, W. D. Sulik, Considerations in measurement of marginal
// fit, J Prosthet Dent 62 (1989) 405-408 (from memory).
func (c *Crown) Fit(ctx context.Context) ([]reading.Reading, error) {
	ids := []reading.ID{"crown.fit.marginal_gap.mean", "crown.fit.marginal_gap.max", "crown.fit.discrepancy.max", "crown.fit.internal.mean", "crown.fit.interference"}
	if c.Open {
		var out []reading.Reading
		for _, id := range ids {
			out = append(out, unmeasured(id, outerOnly))
		}
		return out, nil
	}
	g, err := c.marginalGaps(ctx)
	if err != nil {
		return nil, err
	}
	out := append(c.marginalGap(g), c.discrepancy())
	more, err := c.internal(ctx)
	return append(out, more...), err
}

// marginalGaps returns, per section, the shortest distance from the finish
// line point to the intaglio.
func (c *Crown) marginalGaps(ctx context.Context) ([]float64, error) {
	hits := newHits(finishline.Sections)
	if err := c.Intaglio.Tree.ClosestAll(ctx, c.Line.Points(c.Frame), gapReach, hits); err != nil {
		return nil, err
	}
	out := make([]float64, len(hits))
	for k, h := range hits {
		out[k] = math.NaN()
		if h.Facet >= 0 && c.Line.Seen[k] {
			out[k] = math.Sqrt(h.DistSq)
		}
	}
	return out, nil
}

func (c *Crown) marginalGap(g []float64) []reading.Reading {
	const avg, most = "crown.fit.marginal_gap.mean", "crown.fit.marginal_gap.max"
	smooth := c.quieted(g)
	k := highest(smooth)
	if k < 0 {
		why := "the finish line was not seen"
		return []reading.Reading{unmeasured(avg, why), unmeasured(most, why)}
	}
	m, _ := mean(g)
	return []reading.Reading{
		{ID: avg, Value: m, Profile: profile(g), Parts: c.lengthParts(100, 0.3)},
		{ID: most, Value: smooth[k], At: c.place(k, c.Line.Point(c.Frame, k)), Profile: profile(g), Parts: c.lengthParts(4, 1)},
	}
}

// discrepancies returns, per section, the horizontal and the vertical part of
// the way from the finish line point to the crown margin edge: outward and
// toward the occlusal positive.
func (c *Crown) discrepancies() (horizontal, vertical []float64) {
	n := finishline.Sections
	horizontal, vertical = make([]float64, n), make([]float64, n)
	for k := range n {
		horizontal[k], vertical[k] = math.NaN(), math.NaN()
		if c.Line.Seen[k] {
			horizontal[k], vertical[k] = c.EdgeR[k]-c.Line.R[k], c.EdgeZ[k]-c.Line.Z[k]
		}
	}
	return horizontal, vertical
}

// discrepancy is the absolute marginal discrepancy.
func (c *Crown) discrepancy() reading.Reading {
	const id = "crown.fit.discrepancy.max"
	h, v := c.discrepancies()
	all := make([]float64, len(h))
	for k := range all {
		all[k] = math.Hypot(h[k], v[k])
	}
	smooth := c.quieted(all)
	k := highest(smooth)
	if k < 0 {
		return unmeasured(id, "the finish line was not seen")
	}
	return reading.Reading{ID: id, Value: smooth[k], At: c.place(k, c.Line.Point(c.Frame, k)), Profile: profile(all), Parts: c.lengthParts(4, 1),
		Subs: []reading.Sub{{Name: "horizontal part", Value: h[k], Unit: "mm"}, {Name: "vertical part", Value: v[k], Unit: "mm"}},
		Note: fmt.Sprintf("there %.3f mm outward and %.3f mm toward the occlusal", h[k], v[k])}
}

// internal makes the readings of the space inside the crown.
func (c *Crown) internal(ctx context.Context) ([]reading.Reading, error) {
	const avg, deep = "crown.fit.internal.mean", "crown.fit.interference"
	spots, hits, err := c.inside(ctx)
	if err != nil {
		return nil, err
	}
	g := gapsAt(c.Prepared, spots, hits)
	m := c.internalMean(g, spots)
	m.ID = avg
	back, at, err := c.intoCrown(ctx)
	if err != nil {
		return nil, err
	}
	for i := range back {
		back[i].i += len(spots)
	}
	return []reading.Reading{m, c.interference(deep, g, back, append(pointsOf(spots), at...))}, nil
}

// inside returns the spots of the intaglio with the nearest points of the
// preparation, found once.
func (c *Crown) inside(ctx context.Context) ([]spot, []bvh.SignedHit, error) {
	in := c.inner
	in.Lock()
	defer in.Unlock()
	if in.hits == nil {
		spots := c.intaglioSpots()
		hits, err := c.Prepared.nearest(ctx, pointsOf(spots), gapReach)
		if err != nil {
			return nil, nil, err
		}
		in.spots, in.hits = spots, hits
	}
	return in.spots, in.hits, nil
}

// inner is the intaglio, set against the preparation.
type inner struct {
	sync.Mutex
	spots []spot
	hits  []bvh.SignedHit
}

// intaglioSpots divides the intaglio into spots.
func (c *Crown) intaglioSpots() []spot {
	var out []spot
	pieces(c.Intaglio, spotArea, func(p geom.Vec, area float64) {
		azimuth, _, _ := c.Frame.Cylinder(p)
		out = append(out, spot{p, area, wrap(int(math.Round(azimuth))), zoned{}})
	})
	return out
}

// internalMean is the area mean of the gap more than 1 mm from the margin.
func (c *Crown) internalMean(g []sample, spots []spot) reading.Reading {
	sum, area := 0.0, 0.0
	for _, x := range g {
		p := spots[x.i]
		if c.fromMargin(p) > beyondMargin {
			sum, area = sum+math.Abs(x.value)*p.area, area+p.area
		}
	}
	if area == 0 {
		return unmeasured("", "the cavity is nowhere more than 1 mm from the margin")
	}
	return reading.Reading{Value: sum / area, Parts: c.lengthParts(100, 0)}
}

// fromMargin is the distance from a spot to the margin edge.
func (c *Crown) fromMargin(p spot) float64 {
	if c.margin == nil {
		r, z := bridged(c.EdgeR), bridged(c.EdgeZ)
		for k := range r {
			c.margin = append(c.margin, c.Frame.At(float64(k), r[k], z[k]))
		}
	}
	best := math.Inf(1)
	for d := -30; d <= 30; d++ {
		best = math.Min(best, c.margin[wrap(p.azimuth+d)].DistSq(p.point))
	}
	return math.Sqrt(best)
}

// intoCrown returns the signed distances of the preparation's vertices to the
// intaglio, negative inside the material.
func (c *Crown) intoCrown(ctx context.Context) ([]sample, []geom.Vec, error) {
	occlusal, axial := c.spots()
	all := slices.Concat(occlusal, axial)
	g, err := gaps(ctx, c.Intaglio, all, true)
	if err != nil {
		return nil, nil, err
	}
	return g, pointsOf(all), nil
}

// interference is the deepest penetration of the two surfaces, seen from
// either.
func (c *Crown) interference(id reading.ID, g, back []sample, pts []geom.Vec) reading.Reading {
	a, okA := robustMin(g)
	b, okB := robustMin(back)
	if !okA && !okB {
		return unmeasured(id, "the cavity and the preparation are nowhere near each other")
	}
	if !okA || (okB && b.value < a.value) {
		a = b
	}
	r := reading.Reading{ID: id, Value: math.Max(0, -a.value), Parts: c.lengthParts(4, 0)}
	if a.value < 0 {
		r.At = c.placeOf(pts[a.i])
	} else {
		r.Note = fmt.Sprintf("the least gap is %.3f mm", a.value)
	}
	return r
}
