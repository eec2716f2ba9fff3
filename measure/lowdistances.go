package measure

import (
	"context"
	"math"

	"crownassay/bvh"
	"crownassay/curvature"
	"crownassay/geom"
	"crownassay/mesh"
)

// lowFrom is the count of points from which a contact is looked at in two
// rounds: of fewer, one in gapsEvery might miss it.
const lowFrom = 4096

// lowDistances is distances as far as they matter to a contact: there may be
// none for vertices that are farther from the other surface than those around
// the nearest place and around what touches.
func (c *Crown) lowDistances(ctx context.Context, to *Surface, keep func(a, z float64, k int) bool) (*field, error) {
	f, idx, pts := c.facing(to, keep)
	if len(pts) < lowFrom {
		return c.distances(ctx, to, keep)
	}
	reach, hits := make([]float64, len(pts)), newSigned(len(pts))
	for j := range reach {
		if reach[j] = -1; j%gapsEvery == 0 {
			reach[j] = contactReach
		}
	}
	if err := to.Tree.SignedEach(ctx, pts, reach, hits); err != nil {
		return nil, err
	}
	f.take(idx, pts, hits)
	deep, within := f.matters(c.Cameo.Mesh)
	if !(within < contactReach) {
		return c.distances(ctx, to, keep)
	}
	more := farther(pts, hits, reach, within)
	if err := to.Tree.SignedEach(ctx, pts, reach, more); err != nil {
		return nil, err
	}
	f.take(idx, pts, more)
	if m, ok := robustMin(f.samples()); !ok || m.value < -deep {
		return c.distances(ctx, to, keep)
	}
	return f, nil
}

// matters returns, from some of a field's values, how far from the other
// surface a vertex may be to matter, +Inf where they do not tell, and how deep
// the smallest value may be for that. The distance to facets changes by no more
// than the way over the crown, and what they stand for lies within LiftMost.
func (f *field) matters(m *mesh.Mesh) (deep, within float64) {
	some := f.samples()
	lowest := 0.0
	for _, x := range some {
		lowest = math.Min(lowest, x.value)
	}
	deep = contactGap - lowest
	around := math.Max(leastOf(some), deep) + dipAround
	touching := contactGap + longestEdge(m)
	return deep, math.Max(around, touching) + 2*curvature.LiftMost + gapsMargin
}

// farther says in reach how far to look for those of the points that were not
// looked for in the first round, and returns room for what is found.
func farther(pts []geom.Vec, first []bvh.SignedHit, reach []float64, within float64) []bvh.SignedHit {
	for j := range reach {
		k := j - j%gapsEvery
		d := math.Min(contactReach, math.Abs(first[k].Dist)) // +Inf beyond contactReach
		switch {
		case j == k || d-pts[j].Dist(pts[k]) > within:
			reach[j] = -1
		default:
			reach[j] = within
		}
	}
	return newSigned(len(pts))
}

// longestEdge is the length of a mesh's longest facet edge.
func longestEdge(m *mesh.Mesh) float64 {
	most := 0.0
	for f := range m.F {
		most = math.Max(most, longestSide(m.Corner(int32(f))))
	}
	return most
}

// longestSide is the length of a facet's longest edge.
func longestSide(a, b, c geom.Vec) float64 {
	return math.Sqrt(max(a.DistSq(b), b.DistSq(c), c.DistSq(a)))
}
