package measure

import (
	"context"
	"fmt"
	"math"
	"slices"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

func newSigned(n int) []bvh.SignedHit { return make([]bvh.SignedHit, n) }
func newHits(n int) []bvh.Hit         { return make([]bvh.Hit, n) }

// How the bite is read. Lengths mm.
const (
	contactGap   = 0.05 // signed distance up to which two teeth touch (definition)
	deepestBite  = 1.5  // deeper is not a bite but the far side of a sheet
	besideMargin = 1.0  // the preparation and its surroundings that do not count
	facingSine   = 0.2  // surfaces that meet face each other at least this much
	firmContact  = 0.02 // mm^2: a smaller touch is one facet's corner
)

// Bite makes the readings of how the two arches meet outside the preparation.
func (s *Site) Bite(ctx context.Context) ([]reading.Reading, error) {
	const overlap, contacts = "scan.bite.overlap", "scan.bite.contacts"
	both := func(why string) []reading.Reading {
		return []reading.Reading{unmeasured(overlap, why), unmeasured(contacts, why)}
	}
	if s.Opposing == nil {
		return both("no opposing surface is given"), nil
	}
	d, err := s.biteDistances(ctx)
	if err != nil {
		return nil, err
	}
	deep, near := s.deepest(d)
	if !near {
		return both("outside the preparation the arches are nowhere near each other: export both in the bite"), nil
	}
	r := reading.Reading{ID: overlap, Value: math.Max(0, -deep.value), Parts: s.lengthParts(1, 0)}
	if deep.value < 0 {
		r.At = &reading.Place{Point: s.Prepared.Mesh.V[deep.i]}
	}
	return []reading.Reading{r, s.contacts(d)}, nil
}

// deepest is the robust smallest of the distances; near is false when there
// is none.
func (s *Site) deepest(d []float64) (deep sample, near bool) {
	share := vertexAreas(s.Prepared.Mesh)
	var all []sample
	for i, x := range d {
		if !math.IsNaN(x) {
			all = append(all, sample{x, share[i], i})
		}
	}
	return robustMin(all)
}

// biteDistances returns the signed distance of each vertex outside the
// preparation to the opposing arch, NaN where the two do not face each other
// within reach.
func (s *Site) biteDistances(ctx context.Context) ([]float64, error) {
	m := s.Prepared.Mesh
	box := s.Opposing.Mesh.Box().Grow(contactGap)
	normals := s.Prepared.normals
	out := make([]float64, len(m.V))
	var idx []int32
	var pts []geom.Vec
	for i, v := range m.V {
		out[i] = math.NaN()
		if box.DistSq(v) > 0 || s.onPreparation(v) {
			continue
		}
		idx, pts = append(idx, int32(i)), append(pts, v)
	}
	hits := newSigned(len(pts))
	if err := s.Opposing.Tree.SignedAll(ctx, pts, deepestBite, hits); err != nil {
		return nil, err
	}
	for j, h := range hits {
		if h.Facet < 0 || h.BeyondBorder {
			continue
		}
		if s.Opposing.Tree.FeatureNormal(h.Hit).Dot(normals[idx[j]]) < -facingSine {
			out[idx[j]] = h.Dist
		}
	}
	return out, nil
}

// onPreparation reports whether p lies within the finish line or close
// outside it, in plan.
func (s *Site) onPreparation(p geom.Vec) bool {
	a, r, _ := s.Frame.Cylinder(p)
	lr, _ := s.lineAt(a)
	return r < lr+besideMargin
}

// contacts counts separate areas of contact, connected over facets, in front
// of and behind the preparation.
func (s *Site) contacts(d []float64) reading.Reading {
	front, back := 0, 0
	for _, a := range contactAreas(s.Prepared.Mesh, d, contactGap) {
		if a.middle().Sub(s.Frame.Origin).Dot(s.Frame.X) > 0 {
			front++
		} else {
			back++
		}
	}
	r := reading.Reading{ID: "scan.bite.contacts", Value: float64(front + back)}
	if s.Mesial {
		r.Note = fmt.Sprintf("%d in front of the preparation, %d behind it", front, back)
		r.Subs = []reading.Sub{{Name: "in front", Value: float64(front), Unit: "1"}, {Name: "behind", Value: float64(back), Unit: "1"}}
	}
	return r
}

// contactAreas returns the separate areas of a mesh over which a distance,
// known at its vertices and taken to be linear over a facet, is at most limit,
// less those that are a single facet's corner.
func contactAreas(m *mesh.Mesh, d []float64, limit float64) []contactArea {
	touches := func(v int32) bool { return d[v] <= limit }
	parts := newParts(len(m.V))
	for _, t := range m.F {
		for k := range 3 {
			if a, b := t[k], t[(k+1)%3]; touches(a) && touches(b) {
				parts.join(a, b)
			}
		}
	}
	var areas []contactArea
	at := map[int32]int{}
	for f, t := range m.F {
		for _, v := range t {
			if !touches(v) {
				continue
			}
			r := parts.root(v)
			i, ok := at[r]
			if !ok {
				i = len(areas)
				at[r], areas = i, append(areas, contactArea{})
			}
			areas[i].add(m, int32(f), shareBelow(d[t[0]], d[t[1]], d[t[2]], limit))
			break
		}
	}
	return slices.DeleteFunc(areas, func(c contactArea) bool { return c.size < firmContact })
}

// shareBelow is the share of a triangle's area over which the linear function
// with the given values at its corners is at most limit; an unknown corner
// counts as far above.
func shareBelow(a, b, c, limit float64) float64 {
	v := [3]float64{a, b, c}
	for i := range v {
		if math.IsNaN(v[i]) {
			v[i] = limit + contactReach
		}
	}
	slices.Sort(v[:])
	switch {
	case v[2] <= limit:
		return 1
	case v[1] <= limit:
		return 1 - (v[2]-limit)*(v[2]-limit)/((v[2]-v[0])*(v[2]-v[1]))
	case v[0] <= limit:
		return (limit - v[0]) * (limit - v[0]) / ((v[1] - v[0]) * (v[2] - v[0]))
	}
	return 0
}

// contactArea is the area of some facets and the sum of their middles, each
// times its area.
type contactArea struct {
	sum  geom.Vec
	size float64
}

// add counts a share of a facet.
func (c *contactArea) add(m *mesh.Mesh, f int32, share float64) {
	p, q, r := m.Corner(f)
	w := geom.TriangleArea(p, q, r) * share
	c.size += w
	c.sum = c.sum.Add(p.Add(q).Add(r).Mul(w / 3))
}

// middle is the area's centre of gravity.
func (c *contactArea) middle() geom.Vec { return c.sum.Mul(1 / c.size) }

// parts joins vertices into connected parts; each is named by its lowest one.
type parts []int32

func newParts(n int) parts {
	p := make(parts, n)
	for i := range p {
		p[i] = int32(i)
	}
	return p
}

func (p parts) root(i int32) int32 {
	for p[i] != i {
		p[i] = p[p[i]]
		i = p[i]
	}
	return i
}

func (p parts) join(a, b int32) {
	ra, rb := p.root(a), p.root(b)
	p[max(ra, rb)] = min(ra, rb)
}
