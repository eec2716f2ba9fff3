package measure

import (
	"math"

	"crownassay/bvh"
	"crownassay/geom"
)

// How the opening of a cavity by a ball is found. Lengths mm.
const (
	openSlack  = 0.0005 // a ball that cuts into the surface by less counts as fitting
	openStep   = 0.12   // facets with longer edges are looked at between their corners too
	openRounds = 60     // cuts taken up for one point at most
	openAgain  = 4      // times the cuts are taken anew at the place found
	openNear   = 0.02   // beyond touching: how near a cut's point is to be taken anew
)

// opening is the set that a ball of radius r fills in the space outside a
// surface: all places of the ball in which it cuts nowhere into the material.
type opening struct {
	tree *bvh.Tree // of the surface
	r    float64
}

// nearest returns the ball's middle, of those places where it fits, that is
// nearest to the point p, which is outside the material or on its surface: the
// opening begins r nearer. N is about the direction away from the material
// at p; off is how far p lies from the surface. Fits is false where no
// place near p was found.
//
// The middles of the ball's places are the points at least r away from the
// surface. The one nearest to p is the limit of projections of p on half
// spaces: each place that still cuts into the material adds the half space
// beyond the plane a distance r from the surface's point nearest to it. Where
// the walls are plane or hollow toward the ball, these hold all its middles,
// so that the limit is exact; where they bulge, they are taken anew at the
// place found until it stays, which finds a place that is nearest among those
// around it.
func (o *opening) nearest(p, n geom.Vec, off float64) (at geom.Vec, fits bool) {
	at = o.first(&probe{p: p, n: n, off: off})
	if o.free(at) {
		return at, true
	}
	return o.around(p, at)
}

// first is the place where the ball touches the surface at a probe.
func (o *opening) first(p *probe) geom.Vec { return p.p.Add(p.n.Mul(math.Max(0, o.r-p.off))) }

// around is nearest where the ball cuts into the material at the place at.
func (o *opening) around(p, at geom.Vec) (geom.Vec, bool) {
	c := cuts{o: o, near: o.tree.Finder(), p: p}
	at, ok := c.settle(at)
	for round := 0; ok && round < openAgain && c.bulges; round++ {
		c.anew(at)
		next, found := c.settle(c.nearest())
		if !found || next.Dist(p) > at.Dist(p)-openSlack/10 {
			break
		}
		at = next
	}
	return at, ok && o.outside(at)
}

// free reports whether a ball about c cuts nowhere into the material.
func (o *opening) free(c geom.Vec) bool {
	_, hit := o.tree.Closest(c, o.r-openSlack)
	return !hit
}

// outside reports whether a place found by cuts lies out of the material: it
// touches the surface, so that no more than that needs to be looked at.
func (o *opening) outside(c geom.Vec) bool {
	h, ok := o.tree.Signed(c, o.r+openNear)
	return !ok || h.Dist > 0
}

// cuts are the half spaces found so far for one point p.
type cuts struct {
	o      *opening
	near   *bvh.Finder
	p      geom.Vec
	at     []geom.Vec // points of the surface
	face   []bool     // whether the point lies within a facet: then its plane is the cut
	bounds []bound
	bulges bool // some point lies on an edge or a corner
}

// settle adds cuts, beginning with a ball about c, until the nearest place
// cuts into nothing.
func (c *cuts) settle(at geom.Vec) (geom.Vec, bool) {
	for range openRounds {
		h, hit := c.near.Signed(at, c.o.r-openSlack)
		if !hit {
			return at, true
		}
		m := at.Sub(h.Point)
		if h.Dist < 0 {
			m = m.Neg()
		}
		if face := h.Feature >= geom.FeatureFace; face || m.NormSq() < 1e-12 {
			c.add(h.Point, c.o.tree.FeatureNormal(h.Hit), face)
		} else {
			c.add(h.Point, m.Unit(), false)
		}
		next, ok := c.project()
		if !ok {
			return at, false
		}
		at = next
	}
	return at, false
}

func (c *cuts) add(q, m geom.Vec, face bool) {
	c.at, c.face = append(c.at, q), append(c.face, face)
	c.bounds = append(c.bounds, bound{vec6{m.X, m.Y, m.Z}, m.Dot(q.Sub(c.p)) + c.o.r})
	c.bulges = c.bulges || !face
}

// project returns the point nearest to p within all cuts.
func (c *cuts) project() (geom.Vec, bool) {
	x, ok := nearestWithin(vec6{}, c.bounds)
	return c.p.Add(geom.V(x[0], x[1], x[2])), ok
}

func (c *cuts) nearest() geom.Vec {
	at, _ := c.project()
	return at
}

// anew keeps the cuts that a ball about at touches, those at edges and corners
// turned to face it.
func (c *cuts) anew(at geom.Vec) {
	old := *c
	c.at, c.face, c.bounds, c.bulges = nil, nil, nil, false
	for i, q := range old.at {
		m := at.Sub(q)
		switch l := m.Norm(); {
		case old.face[i]:
			a := old.bounds[i].a
			if m.Dot(geom.V(a[0], a[1], a[2])) < c.o.r+openNear {
				c.add(q, geom.V(a[0], a[1], a[2]), true)
			}
		case l < c.o.r+openNear && l > 0:
			c.add(q, m.Mul(1/l), false)
		}
	}
}

// probe is a point whose distance from the opening is asked: where, which way
// is out of the material and how far it lies from it.
type probe struct {
	p, n          geom.Vec
	off           float64
	facet, vertex int32 // of the mesh it was taken from; vertex is -1 for points between
}

// probes returns the points of the surface that are looked at: its vertices,
// and points between where facets are larger than openStep.
func probes(s *Surface) []probe {
	m := s.Mesh
	out := make([]probe, 0, len(m.V))
	seen := make([]bool, len(m.V))
	for f, t := range m.F {
		for _, v := range t {
			if !seen[v] {
				seen[v] = true
				out = append(out, probe{m.V[v], s.normals[v], 0, int32(f), v})
			}
		}
	}
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		between(a, b, c, openStep, func(p geom.Vec) {
			out = append(out, probe{s.lifted(int32(f), p), geom.TriangleNormal(a, b, c).Unit(), 0, int32(f), -1})
		})
	}
	return out
}

// between calls visit for middles of edges longer than step, halving the
// triangle until none is.
func between(a, b, c geom.Vec, step float64, visit func(geom.Vec)) {
	ab, bc, ca := a.DistSq(b), b.DistSq(c), c.DistSq(a)
	switch {
	case bc >= ab && bc >= ca:
		a, b, c, ab = b, c, a, bc
	case ca >= ab && ca >= bc:
		a, b, c, ab = c, a, b, ca
	}
	if ab <= step*step {
		return
	}
	mid := a.Lerp(b, 0.5)
	visit(mid)
	between(a, mid, c, step, visit)
	between(mid, b, c, step, visit)
}
