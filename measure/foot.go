package measure

import (
	"math"

	"crownassay/bvh"
	"crownassay/curvature"
	"crownassay/geom"
)

// How the foot of a perpendicular on a curved surface is found from the nearest
// point of its facets. Lengths mm.
const (
	footRounds  = 3
	footGain    = 0.0003 // a step that would bring less is not taken: a fiftieth of what a clearance may be off by
	footSharper = 0.25   // least 1 + distance x curvature: nearer to the middle of a hollow's curve no step is sure
)

// foot returns the point nearest to p on the surface that the facets stand for,
// from the nearest point of the facets. Seen from p, facets and surface turn
// their nearest points to different sides: at distance d over a ball of radius
// R a facet's foot may lie t beside the surface's own, and its distance is then
// t^2 (1/d + 1/R) / 2 too large. Each step goes along the surface by what the
// way to p leans over it, less what the normals turn meanwhile (Newton's method
// with the curvature that the corners' normals show).
func (s *Surface) foot(p geom.Vec, h bvh.Hit) geom.Vec {
	f, at := h.Facet, h.Point
	best := s.lifted(f, at)
	dist := best.Dist(p)
	for range footRounds {
		n, ok := s.normalAt(f, at)
		if !ok {
			break
		}
		d := p.Sub(best)
		lean := d.Reject(n)
		if t := lean.Norm(); t*t < footGain*dist {
			break
		}
		along := lean.Unit()
		bend := 1 + d.Dot(n)*s.turning(f, at, along)
		to, ok := s.Tree.Closest(best.Add(lean.Mul(1/math.Max(footSharper, bend))), 1)
		if !ok {
			break
		}
		next := s.lifted(to.Facet, to.Point)
		if x := next.Dist(p); x < dist {
			best, dist, f, at = next, x, to.Facet, to.Point
			continue
		}
		break
	}
	return best
}

// normalAt is the unit normal of the surface over point p of facet f, from the
// corners' normals; ok is false at edges.
func (s *Surface) normalAt(f int32, p geom.Vec) (geom.Vec, bool) {
	return curvature.Between(s.Mesh, s.normals, f, p)
}

// turning is by how much the normal turns along a unit direction of the surface
// at point p of facet f, 1/mm, + where the surface is convex.
func (s *Surface) turning(f int32, p, along geom.Vec) float64 {
	a, b, c := s.Mesh.Corner(f)
	step := 0.25 * math.Sqrt(geom.TriangleArea(a, b, c))
	x, okX := s.normalAt(f, p.Sub(along.Mul(step)))
	y, okY := s.normalAt(f, p.Add(along.Mul(step)))
	if step == 0 || !okX || !okY {
		return 0
	}
	return y.Sub(x).Dot(along) / (2 * step)
}
