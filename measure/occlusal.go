package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/reading"
	"crownassay/unit"
)

// spot is a small piece of the preparation: where, how large, and on which
// azimuth and zone it lies.
type spot struct {
	point   geom.Vec
	area    float64
	azimuth int
	zone    string
}

// How facets are divided into spots, mm, and where the fossa ends.
const (
	spotEdge   = 0.12 // longer edges are halved, so that 0.05 mm^2 is several spots
	fossaShare = 0.45 // of the line angle's reach (definition of the zones)
)

// spots divides the prepared surface inside the finish line into the
// occlusal part, above the line angle, and the axial part below it.
func (s *Site) spots() (occlusal, axial []spot) {
	edgeR, edgeZ := s.edges()
	m := s.Prepared.Mesh
	reach := 0.0
	for _, r := range s.Line.R {
		reach = math.Max(reach, r)
	}
	inside := func(p geom.Vec) (int, float64, float64, bool) {
		a, r, z := s.Frame.Cylinder(p)
		lr, lz := s.lineAt(a)
		return wrap(int(math.Round(a))), r, z, r < lr && z > lz-0.2
	}
	var add func(a, b, c geom.Vec)
	add = func(a, b, c geom.Vec) {
		if x, y, z, w, long := halve(a, b, c); long {
			add(x, w, z)
			add(w, y, z)
			return
		}
		p := a.Add(b).Add(c).Mul(1.0 / 3)
		k, r, z, in := inside(p)
		if !in || math.IsNaN(edgeR[k]) {
			return
		}
		q := spot{p, geom.TriangleArea(a, b, c), k, ""}
		if r < edgeR[k] && z > edgeZ[k]-0.5*(edgeR[k]-r)-0.5 && above(r, z, edgeR[k], edgeZ[k]) {
			q.zone = s.zone(k, r/edgeR[k])
			occlusal = append(occlusal, q)
		} else if z > s.Line.Z[k] {
			axial = append(axial, q)
		}
	}
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		if near := a.Sub(s.Frame.Origin); near.Reject(s.Frame.Z).Norm() > reach+1 {
			continue
		}
		add(a, b, c)
	}
	return occlusal, axial
}

// above reports whether a point of a section lies above the line angle rather
// than on the wall below it: the line angle looks up and in along 45 degrees.
func above(r, z, edgeR, edgeZ float64) bool { return z-edgeZ >= r-edgeR }

// halve returns the triangle turned so that xy is its longest edge, with that
// edge's middle, and whether it is longer than spotEdge.
func halve(a, b, c geom.Vec) (x, y, z, mid geom.Vec, long bool) {
	ab, bc, ca := a.DistSq(b), b.DistSq(c), c.DistSq(a)
	switch {
	case ab >= bc && ab >= ca:
		x, y, z = a, b, c
	case bc >= ca:
		x, y, z, ab = b, c, a, bc
	default:
		x, y, z, ab = c, a, b, ca
	}
	return x, y, z, x.Lerp(y, 0.5), ab > spotEdge*spotEdge
}

// edges returns the line angle per section, bridged where a section shows
// none; NaN when hardly any does.
func (s *Site) edges() (r, z []float64) {
	n := finishline.Sections
	r, z = make([]float64, n), make([]float64, n)
	for k := range n {
		r[k], z[k] = math.NaN(), math.NaN()
		if w := &s.Walls[k]; w.Ok {
			r[k], z[k] = w.EdgeR, w.EdgeZ
		}
	}
	return bridged(r), bridged(z)
}

// bridged fills NaN runs linearly around the circle.
func bridged(v []float64) []float64 {
	out := append([]float64(nil), v...)
	n := len(v)
	for k := range v {
		if !math.IsNaN(v[k]) {
			continue
		}
		lo, hi := 1, 1
		for lo < n && math.IsNaN(v[(k-lo+n)%n]) {
			lo++
		}
		for hi < n && math.IsNaN(v[(k+hi)%n]) {
			hi++
		}
		if lo < n {
			t := float64(lo) / float64(lo+hi)
			out[k] = v[(k-lo+n)%n]*(1-t) + v[(k+hi)%n]*t
		}
	}
	return out
}

// zone names the occlusal zone at azimuth k and a share of the line angle's
// reach; nothing for front teeth and where directions are not known.
func (s *Site) zone(k int, share float64) string {
	if !s.Posterior || !s.Mesial {
		return ""
	}
	if share < fossaShare {
		return reading.Fossa
	}
	if lingual := k > 180; lingual == s.FunctionalLingual {
		return reading.FunctionalCusps
	}
	return reading.OtherCusps
}

// Occlusal makes the readings of the space over the preparation: clearance,
// room and reduction.
func (s *Site) Occlusal(ctx context.Context) ([]reading.Reading, error) {
	occlusal, axial := s.spots()
	out, err := s.clearance(ctx, occlusal)
	if err != nil {
		return nil, err
	}
	more, err := s.reduction(ctx, occlusal, axial)
	return append(out, more...), err
}

// gaps returns the distance from each spot to a surface. With signed, spots
// inside the surface come out negative. Spots farther than reach are left
// out.
func gaps(ctx context.Context, to *Surface, spots []spot, signed bool) ([]sample, error) {
	pts := make([]geom.Vec, len(spots))
	for i := range spots {
		pts[i] = spots[i].point
	}
	hits := newSigned(len(pts))
	if err := to.Tree.SignedAll(ctx, pts, gapReach, hits); err != nil {
		return nil, err
	}
	out := make([]sample, 0, len(pts))
	for i, h := range hits {
		if h.Facet < 0 {
			continue
		}
		v := math.Sqrt(h.DistSq)
		if signed && h.Dist < 0 && !h.BeyondBorder {
			v = h.Dist
		}
		out = append(out, sample{v, spots[i].area, i})
	}
	return out, nil
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
	all, ok := robustMin(append([]sample(nil), g...))
	if !ok {
		return both("hardly any occlusal surface was seen"), nil
	}
	r := reading.Reading{ID: id, Value: all.value, At: s.placeOf(spots[all.i].point), Parts: s.lengthParts(4, 0), Profile: s.lowestPerDegree(g, spots)}
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

// zoneOf is the robust minimum over one zone.
func (s *Site) zoneOf(g []sample, spots []spot, zone string) (reading.Sub, bool) {
	var in []sample
	for _, x := range g {
		if spots[x.i].zone == zone {
			in = append(in, x)
		}
	}
	m, ok := robustMin(in)
	if !ok {
		return reading.Sub{}, false
	}
	return reading.Sub{Name: zone, Value: m.value, Unit: unit.Millimetre, At: s.placeOf(spots[m.i].point)}, true
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

func (s *Site) reduction(ctx context.Context, occlusal, axial []spot) ([]reading.Reading, error) {
	const occ, axi = "preparation.reduction.occlusal", "preparation.reduction.axial"
	both := func(why string) []reading.Reading {
		return []reading.Reading{unmeasured(occ, why), unmeasured(axi, why)}
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
		m, ok := robustMin(append([]sample(nil), g...))
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
