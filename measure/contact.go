package measure

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownassay/bvh"
	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

// Where contacts are looked for. Lengths mm, azimuths degrees.
const (
	contactReach  = 3.0  // farther apart nothing is said to face
	contactSpan   = 75   // degrees to either side of mesial and distal
	contactMargin = 0.5  // above the crown margin nothing touches but gingiva
	aboveCrease   = 0.1  // the neighbour begins this far above the crease at its gingiva
	leastTooth    = 3.0  // mm^2: the neighbour's seen side is larger
	closeReach    = 0.1  // around the lowest vertex the facets are looked at between their corners
	closeEdge     = 0.03 // and divided so finely
	facingAway    = 0.0  // cosine: surfaces that touch look at each other
)

// Contacts makes the readings of where the crown meets the other teeth.
func (c *Crown) Contacts(ctx context.Context) ([]reading.Reading, error) {
	var out []reading.Reading
	for _, side := range []struct {
		id      reading.ID
		azimuth int
		name    string
	}{{"crown.contact.mesial", 0, "mesial"}, {"crown.contact.distal", 180, "distal"}} {
		r, err := c.proximal(ctx, side.id, side.azimuth, side.name)
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	r, err := c.occlusalContact(ctx)
	return append(out, r), err
}

// proximal is the contact with the tooth on one side.
func (c *Crown) proximal(ctx context.Context, id reading.ID, azimuth int, side string) (reading.Reading, error) {
	if !c.Mesial {
		return unmeasured(id, needMesial), nil
	}
	to := c.neighbourSurface(azimuth)
	if to == nil {
		return unmeasured(id, fmt.Sprintf("no neighbouring tooth was scanned on the %s side", side)), nil
	}
	f, err := c.toTooth(ctx, to, azimuth)
	if err != nil {
		return reading.Reading{}, err
	}
	v, at, std, ok := f.dip()
	if !ok {
		return unmeasured(id, fmt.Sprintf("the crown comes nowhere within %.0f mm of the %s neighbour", contactReach, side)), nil
	}
	r := reading.Reading{ID: id, Value: v, At: c.placeOf(at), Parts: append(c.lengthParts(4, 0), contactParts(to, at, std)...)}
	area := f.touching(c.Cameo.Mesh, 0)
	r.Subs = []reading.Sub{{Name: "contact area", Value: area, Unit: "mm^2"}}
	r.Note = fmt.Sprintf("contact area %.2f mm2", area)
	ridge, ok, err := c.ownRidge(ctx, azimuth)
	if err != nil {
		return reading.Reading{}, err
	}
	if ok {
		_, _, z := c.Frame.Cylinder(at)
		r.Subs = append(r.Subs, reading.Sub{Name: reading.BelowRidge, Value: ridge.z - z, Unit: "mm"})
		r.Note += fmt.Sprintf(", %.1f mm below the marginal ridge", ridge.z-z)
	}
	c.takeOff(&r, f, at)
	return r, nil
}

// contactParts are what a distance to a tooth at a place is uncertain by beside
// the scans: the fit of the distances around it, and how far the tooth's surface
// may lie off the facet there, which may be larger than those at the finish line.
func contactParts(to *Surface, at geom.Vec, fit float64) []reading.Part {
	parts := []reading.Part{{Name: "fit of the distances", Standard: fit}}
	if h, ok := to.Tree.Closest(at, contactReach); ok {
		parts = append(parts, reading.Part{Name: "facet of the tooth", Standard: sagOf(longestSide(to.Mesh.Corner(h.Facet)))})
	}
	return parts
}

// beside reports whether an azimuth lies within contactSpan of another.
func beside(a float64, azimuth int) bool {
	return math.Abs(math.Mod(a-float64(azimuth)+540, 360)-180) < contactSpan
}

// aboveMargin reports whether a point of the cameo at height z in section k is
// high enough above the crown margin to touch a tooth.
func (c *Crown) aboveMargin(_, z float64, k int) bool { return z > c.EdgeZ[k]+contactMargin }

// toward is aboveMargin for the side of the cameo at an azimuth.
func (c *Crown) toward(azimuth int) func(a, z float64, k int) bool {
	return func(a, z float64, k int) bool { return beside(a, azimuth) && c.aboveMargin(a, z, k) }
}

// touching is the area of the field's mesh over which the value is at most a
// limit.
func (f *field) touching(m *mesh.Mesh, limit float64) float64 {
	a := 0.0
	for i, t := range m.F {
		if w := shareBelow(f.value[t[0]], f.value[t[1]], f.value[t[2]], limit); w > 0 {
			a += w * geom.TriangleArea(m.Corner(int32(i)))
		}
	}
	return a
}

// toTooth returns the distances from the side of the cameo at azimuth 0 or 180
// to the tooth there, found once.
func (c *Crown) toTooth(ctx context.Context, to *Surface, azimuth int) (*field, error) {
	side := &c.sides[azimuth/180]
	if *side != nil && (*side).to == to {
		return *side, nil
	}
	f, err := c.lowDistances(ctx, to, c.toward(azimuth))
	if err != nil {
		return nil, err
	}
	*side = f
	return f, nil
}

// distances returns the signed distance from the cameo's vertices to a
// surface, where keep (azimuth, height, section) says so and the two look at
// each other.
func (c *Crown) distances(ctx context.Context, to *Surface, keep func(a, z float64, k int) bool) (*field, error) {
	f, idx, pts := c.facing(to, keep)
	hits, err := to.nearest(ctx, pts, contactReach)
	if err != nil {
		return nil, err
	}
	f.take(idx, pts, hits)
	return f, nil
}

// facing returns a field that is not measured yet and its points.
func (c *Crown) facing(to *Surface, keep func(a, z float64, k int) bool) (f *field, idx []int, pts []geom.Vec) {
	m := c.Cameo.Mesh
	f = &field{to: to, p: m.V, n: c.Cameo.normals, value: make([]float64, len(m.V)), area: vertexAreas(m), noise: c.known()}
	box := to.Mesh.Box().Grow(contactReach)
	for i, p := range m.V {
		f.value[i] = math.NaN()
		if box.DistSq(p) > 0 {
			continue
		}
		if a, _, z := c.Frame.Cylinder(p); keep(a, z, wrap(int(math.Round(a)))) {
			idx, pts = append(idx, i), append(pts, p)
		}
	}
	f.closer = func(at geom.Vec) (float64, geom.Vec) { return c.Cameo.closest(to, at) }
	return f, idx, pts
}

// take enters the distances of points that have a nearest one and look at it.
func (f *field) take(idx []int, pts []geom.Vec, hits []bvh.SignedHit) {
	for j := range hits {
		h := &hits[j]
		if h.Facet < 0 || h.BeyondBorder || f.to.Tree.FeatureNormal(h.Hit).Dot(f.n[idx[j]]) > facingAway {
			continue
		}
		f.value[idx[j]] = f.to.signed(pts[j], h)
	}
}

// signed is the signed distance of p to the surface that the facets stand for,
// given the nearest point of the facets.
func (s *Surface) signed(p geom.Vec, h *bvh.SignedHit) float64 {
	q := s.lifted(h.Facet, h.Point)
	v := q.Dist(p)
	if q.DistSq(h.Point) > v*v { // the lift itself is larger: its sign decides
		return p.Sub(q).Dot(s.Tree.FeatureNormal(h.Hit))
	}
	return math.Copysign(v, h.Dist)
}

// closest returns the smallest signed distance to another surface of the
// points of this one, between its vertices too, within closeReach of a place.
func (s *Surface) closest(to *Surface, at geom.Vec) (least float64, where geom.Vec) {
	least, where = math.Inf(1), at
	var cut func(f int32, a, b, c geom.Vec)
	cut = func(f int32, a, b, c geom.Vec) {
		x, y, z, mid, _ := halve(a, b, c)
		if x.DistSq(y) > closeEdge*closeEdge {
			cut(f, x, mid, z)
			cut(f, mid, y, z)
			return
		}
		p := s.lifted(f, a.Add(b).Add(c).Mul(1.0/3))
		h, ok := to.Tree.Signed(p, contactReach)
		if ok && !h.BeyondBorder && to.Tree.FeatureNormal(h.Hit).Dot(geom.TriangleNormal(a, b, c)) <= facingAway {
			if v := to.signed(p, &h); v < least {
				least, where = v, p
			}
		}
	}
	s.Tree.Ball(at, closeReach, func(f int32) {
		a, b, c := s.Mesh.Corner(f)
		cut(f, a, b, c)
	})
	return least, where
}

// vertexAreas returns the area that each vertex stands for: a third of its
// facets'.
func vertexAreas(m *mesh.Mesh) []float64 {
	out := make([]float64, len(m.V))
	for f, t := range m.F {
		w := geom.TriangleArea(m.Corner(int32(f))) / 3
		for _, v := range t {
			out[v] += w
		}
	}
	return out
}

// neighbourSurface returns the part of the prepared arch that is the tooth
// beside the preparation at azimuth 0 or 180, above the crease at its gingiva;
// nil when there is none.
func (s *Site) neighbourSurface(azimuth int) *Surface { return s.teeth[azimuth/180]() }

func (s *Site) cutNeighbour(azimuth int) *Surface {
	tall := s.tall(azimuth)
	crease := make([]float64, finishline.Sections)
	found := false
	for k := range crease {
		crease[k] = math.NaN()
	}
	for d := -neighbourSpan; d <= neighbourSpan; d++ {
		k := wrap(azimuth + d)
		if lo, hi := s.neighbourRun(k, tall); hi > lo {
			crease[k], found = s.Profiles[k].Z[lo], true
		}
	}
	if !found {
		return nil
	}
	crease = bridged(crease)
	m := s.Prepared.Mesh
	side := s.Frame.Direction(float64(azimuth))
	far, low := slices.Max(s.Line.R)+2*neighbourReach, slices.Min(crease)+aboveCrease
	var keep [][3]int32
	for f, t := range m.F {
		a, b, c := m.Corner(int32(f))
		p := a.Add(b).Add(c).Mul(1.0 / 3)
		d := p.Sub(s.Frame.Origin)
		if side.Dot(d) < 0 || d.Dot(s.Frame.Z) < low || d.Reject(s.Frame.Z).NormSq() > far*far {
			continue // what the azimuth is found for below is a small part
		}
		az, r, z := s.Frame.Cylinder(p)
		k := wrap(int(math.Round(az)))
		if beside(az, azimuth) && r > s.Line.R[k] && r < s.Line.R[k]+2*neighbourReach && z > crease[k]+aboveCrease {
			keep = append(keep, t)
		}
	}
	if len(keep) == 0 {
		return nil
	}
	one := s.nearTooth(compact(m, keep), tall)
	if one == nil {
		return nil
	}
	return NewSurface(one)
}

// nearTooth returns the connected piece of a mesh that rises above tall and
// comes nearest to the axis: of what stands above the crease, the tooth beside
// and neither the papilla before it nor the tooth behind it. Nil when there is
// none.
func (s *Site) nearTooth(m *mesh.Mesh, tall float64) *mesh.Mesh {
	label, n := mesh.Shells(m, mesh.Adjacent(m))
	near, top, area := make([]float64, n), make([]float64, n), make([]float64, n)
	for l := range near {
		near[l], top[l] = math.Inf(1), math.Inf(-1)
	}
	for f, l := range label {
		if l < 0 {
			continue
		}
		area[l] += geom.TriangleArea(m.Corner(int32(f)))
		for _, v := range m.F[f] {
			_, r, z := s.Frame.Cylinder(m.V[v])
			near[l], top[l] = math.Min(near[l], r), math.Max(top[l], z)
		}
	}
	best := -1
	for l := range near {
		if top[l] > tall && area[l] > leastTooth && (best < 0 || near[l] < near[best]) {
			best = l
		}
	}
	if best < 0 {
		return nil
	}
	return labelled(m, label, int32(best))
}

// occlusalContact is the contact with the opposing teeth.
func (c *Crown) occlusalContact(ctx context.Context) (reading.Reading, error) {
	const id = "crown.contact.occlusal"
	if c.Opposing == nil {
		return unmeasured(id, "no opposing surface is given"), nil
	}
	f, err := c.lowDistances(ctx, c.Opposing, c.aboveMargin)
	if err != nil {
		return reading.Reading{}, err
	}
	v, at, std, ok := f.dip()
	if !ok {
		return unmeasured(id, fmt.Sprintf("the crown comes nowhere within %.0f mm of the opposing teeth", contactReach)), nil
	}
	r := reading.Reading{ID: id, Value: v, At: c.placeOf(at), Parts: append(c.lengthParts(1, 0), contactParts(c.Opposing, at, std)...)}
	areas := contactAreas(c.Cameo.Mesh, f.value, contactGap)
	r.Subs = []reading.Sub{{Name: "separate contacts", Value: float64(len(areas)), Unit: "1"}}
	var said []string
	for i, a := range areas {
		p := c.placeOf(a.middle())
		r.Subs = append(r.Subs, reading.Sub{Name: fmt.Sprintf("contact %d", i+1), Value: a.size, Unit: "mm^2", At: p})
		if c.Mesial {
			said = append(said, fmt.Sprintf("%s %.2f mm2", reading.Sector(p.Azimuth), a.size))
		}
	}
	r.Note = fmt.Sprintf("%s within %.2f mm", count(len(areas), "separate contact"), contactGap)
	if len(said) > 0 {
		r.Note += ": " + strings.Join(said, ", ")
	}
	c.takeOff(&r, f, at)
	return r, nil
}

// count puts a number before a noun.
func count(n int, noun string) string {
	switch n {
	case 0:
		return "no " + noun
	case 1:
		return "one " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
