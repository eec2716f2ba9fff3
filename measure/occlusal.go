package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
	"crownassay/unit"
)

// Occlusal makes the readings of the space over the preparation: clearance,
// room and reduction.
func (s *Site) Occlusal(ctx context.Context) ([]reading.Reading, error) {
	if s.space.holds(s) {
		return s.space.readings, nil
	}
	rs, err := s.spaceOver(ctx)
	if err == nil {
		s.space = &space{s.Profiles, s.Walls, rs}
	}
	return rs, err
}

func (s *Site) spaceOver(ctx context.Context) ([]reading.Reading, error) {
	occlusal, axial := s.spots()
	out, err := s.clearance(ctx, occlusal)
	if err != nil {
		return nil, err
	}
	more, err := s.reduction(ctx, occlusal, axial)
	return append(out, more...), err
}

// gaps returns the distance from each spot to a surface. With signed, spots
// inside the surface come out negative, else only low ones are exact (see
// plainGaps). Spots farther than reach are left out.
func gaps(ctx context.Context, to *Surface, spots []spot, signed bool) ([]sample, error) {
	if !signed {
		return plainGaps(ctx, to, spots)
	}
	hits, err := to.nearest(ctx, pointsOf(spots), gapReach)
	if err != nil {
		return nil, err
	}
	return gapsAt(to, spots, hits), nil
}

// gapsAt makes signed gaps of the nearest points of a surface.
func gapsAt(to *Surface, spots []spot, hits []bvh.SignedHit) []sample {
	out := make([]sample, 0, len(spots))
	for i := range hits {
		if h := &hits[i]; h.Facet >= 0 {
			out = append(out, sample{to.gap(spots[i].point, h, true), spots[i].area, i})
		}
	}
	return out
}

// nearest returns the nearest point of the surface for each point; Facet is -1
// where there is none within reach.
func (s *Surface) nearest(ctx context.Context, pts []geom.Vec, reach float64) ([]bvh.SignedHit, error) {
	hits := newSigned(len(pts))
	return hits, s.Tree.SignedAll(ctx, pts, reach, hits)
}

// gap is the distance of p from the surface that the facets stand for, given
// the nearest point of the facets; with signed, negative inside. Past a border
// there is no inside.
func (s *Surface) gap(p geom.Vec, h *bvh.SignedHit, signed bool) float64 {
	v := s.foot(p, h.Hit).Dist(p)
	if signed && h.Dist < 0 && !h.BeyondBorder {
		return -v
	}
	return v
}

// pointsOf returns where the spots are.
func pointsOf(spots []spot) []geom.Vec {
	out := make([]geom.Vec, len(spots))
	for i := range spots {
		out[i] = spots[i].point
	}
	return out
}

// gapReach is how far, mm, an opposing or earlier surface may be to be of use.
const gapReach = 8.0

// seenShare is the least share of the occlusal surface over which the other
// surface must have been scanned.
const seenShare = 0.5

func (s *Site) clearance(ctx context.Context, spots []spot) ([]reading.Reading, error) {
	const id, room = "preparation.clearance.occlusal", "preparation.room"
	both := func(why string) []reading.Reading {
		return []reading.Reading{unmeasured(id, why), unmeasured(room, why)}
	}
	if s.Opposing == nil {
		return both("no opposing surface is given"), nil
	}
	g, err := gaps(ctx, s.Opposing, spots, true)
	if err != nil {
		return nil, err
	}
	if area(g) < seenShare*total(spots) || len(g) == 0 {
		return both("the opposing surface does not cover the preparation: scan the teeth opposite to it"), nil
	}
	all, ok := robustMin(g)
	if !ok {
		return both("hardly any occlusal surface was seen"), nil
	}
	r := reading.Reading{ID: id, Value: all.value, At: s.placeOf(spots[all.i].point), Parts: s.lengthParts(1, 0), Profile: s.lowestPerDegree(g, spots)}
	if b := border(g, all.value, func(i int) float64 { return spots[i].zone.rim }); b > 0 {
		r.Parts = append(r.Parts, reading.Part{Name: "border at the line angle", Standard: b})
	}
	for _, zone := range reading.Zones {
		if sub, ok := s.zoneOf(g, spots, zone); ok {
			r.Subs = append(r.Subs, sub)
		}
	}
	return []reading.Reading{r, s.room(r)}, nil
}

func area(g []sample) float64 {
	a := 0.0
	for i := range g {
		a += g[i].area
	}
	return a
}

func total(spots []spot) float64 {
	a := 0.0
	for i := range spots {
		a += spots[i].area
	}
	return a
}

// zoneOf is the robust minimum over one zone. Where it lies at the zone's
// border it changes with the border; half of what it changes by when that moves
// by its standard uncertainty either way is the standard uncertainty for it.
func (s *Site) zoneOf(g []sample, spots []spot, zone string) (reading.Sub, bool) {
	within := func(wider float64) (sample, bool) {
		var in []sample
		for _, x := range g {
			if spots[x.i].zone.in(zone, wider) {
				in = append(in, x)
			}
		}
		return robustMin(in)
	}
	m, ok := within(0)
	if !ok {
		return reading.Sub{}, false
	}
	out := reading.Sub{Name: zone, Value: m.value, Unit: unit.Millimetre, At: s.placeOf(spots[m.i].point)}
	narrow, some := within(-1)
	if wide, ok := within(1); ok && some {
		out.Border = (narrow.value - wide.value) / 2
	}
	return out, true
}

// lowestPerDegree is the smallest value seen at each degree of azimuth.
func (s *Site) lowestPerDegree(g []sample, spots []spot) []reading.Sample {
	low := make([]float64, finishline.Sections)
	for k := range low {
		low[k] = math.NaN()
	}
	for _, x := range g {
		if k := spots[x.i].azimuth; !(x.value >= low[k]) {
			low[k] = x.value
		}
	}
	return profile(low)
}

// room is what the clearance leaves after the cement and the least thickness
// of the material.
func (s *Site) room(clearance reading.Reading) reading.Reading {
	const id = "preparation.room"
	if s.LeastThickness <= 0 {
		return unmeasured(id, s.NoThickness)
	}
	return reading.Reading{ID: id, Value: clearance.Value - s.CementSpace - s.LeastThickness, At: clearance.At, Parts: clearance.Parts,
		Note: fmt.Sprintf("clearance %.2f less cement space %.2f less least thickness %.2f mm", clearance.Value, s.CementSpace, s.LeastThickness)}
}

// apartLimit is the largest typical distance, mm, between before and prepared
// outside the preparation for them to count as one frame.
const apartLimit = 0.15

// apartSpots is how many vertices are looked at for that: its standard error
// is a few hundredths of the distances' spread.
const apartSpots = 2000

func (s *Site) reduction(ctx context.Context, occlusal, axial []spot) ([]reading.Reading, error) {
	const occ, axi = "preparation.reduction.occlusal", "preparation.reduction.axial"
	both := func(why string) []reading.Reading {
		return []reading.Reading{unmeasured(occ, why), unmeasured(axi, why)}
	}
	if s.NoBefore != "" {
		return both(s.NoBefore), nil
	}
	if s.Before == nil {
		return both("no surface from before the preparation is given"), nil
	}
	apart, err := s.apart(ctx)
	if err != nil {
		return nil, err
	}
	if !(apart <= apartLimit) {
		return both("the surface from before does not lie over the prepared arch: export both from one session, in one frame"), nil
	}
	var out []reading.Reading
	for _, part := range []struct {
		id    reading.ID
		spots []spot
	}{{occ, occlusal}, {axi, axial}} {
		g, err := gaps(ctx, s.Before, part.spots, false)
		if err != nil {
			return nil, err
		}
		m, ok := robustMin(g)
		if !ok || area(g) < seenShare*total(part.spots) {
			out = append(out, unmeasured(part.id, "the surface from before does not cover the preparation"))
			continue
		}
		out = append(out, reading.Reading{ID: part.id, Value: m.value, At: s.placeOf(part.spots[m.i].point), Parts: s.lengthParts(4, 0),
			Profile: s.lowestPerDegree(g, part.spots),
			Note:    "measured to the surface from before; where that was over-contoured the true reduction of the tooth is less"})
	}
	return out, nil
}

// apart is the median distance from the prepared arch outside the preparation
// to the surface from before.
func (s *Site) apart(ctx context.Context) (float64, error) {
	var pts []geom.Vec
	for _, v := range s.Prepared.Mesh.V {
		if a, r, z := s.Frame.Cylinder(v); z > 0.5 {
			if lr, _ := s.lineAt(a); r > lr+1 && r < lr+12 {
				pts = append(pts, v)
			}
		}
	}
	if len(pts) == 0 {
		return math.NaN(), nil
	}
	if step := len(pts) / apartSpots; step > 1 {
		for i := range apartSpots {
			pts[i] = pts[i*step]
		}
		pts = pts[:apartSpots]
	}
	hits := newHits(len(pts))
	if err := s.Before.Tree.ClosestAll(ctx, pts, gapReach, hits); err != nil {
		return 0, err
	}
	d := make([]float64, len(hits))
	for i, h := range hits {
		d[i] = math.Min(gapReach, math.Sqrt(h.DistSq))
	}
	return finishline.Median(d), nil
}
