package measure

import (
	"context"
	"fmt"
	"math"

	"crownassay/bvh"
	"crownassay/geom"
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
	m := s.Prepared.Mesh
	share := make([]float64, len(m.V))
	for f, t := range m.F {
		w := geom.TriangleArea(m.Corner(int32(f))) / 3
		for _, v := range t {
			share[v] += w
		}
	}
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
	for _, c := range s.contactAreas(d) {
		if c.Sub(s.Frame.Origin).Dot(s.Frame.X) > 0 {
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

// contactAreas returns the middle of each contact area.
func (s *Site) contactAreas(d []float64) []geom.Vec {
	m := s.Prepared.Mesh
	touches := func(v int32) bool { return d[v] <= contactGap }
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
		if !touches(t[0]) || !touches(t[1]) || !touches(t[2]) {
			continue
		}
		r := parts.root(t[0])
		i, ok := at[r]
		if !ok {
			i = len(areas)
			at[r], areas = i, append(areas, contactArea{})
		}
		areas[i].add(m.Corner(int32(f)))
	}
	return firm(areas)
}

// contactArea is the area of some facets and the sum of their middles, each
// times its area.
type contactArea struct {
	sum  geom.Vec
	size float64
}

func (c *contactArea) add(p, q, r geom.Vec) {
	w := geom.TriangleArea(p, q, r)
	c.size += w
	c.sum = c.sum.Add(p.Add(q).Add(r).Mul(w / 3))
}

// firm returns the middles of the areas that are no single facet's corner.
func firm(areas []contactArea) []geom.Vec {
	var out []geom.Vec
	for _, c := range areas {
		if c.size >= firmContact {
			out = append(out, c.sum.Mul(1/c.size))
		}
	}
	return out
}

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
