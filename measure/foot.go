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
	footSlack   = 1e-9   // more than what rounding does to a distance
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
	at := h.Point
	l := curvature.NewLift(s.Mesh, s.normals, h.Facet)
	best := onSurface(&l, at)
	dist := best.Dist(p)
	for range footRounds {
		n, ok := l.NormalAt(at)
		if !ok {
			break
		}
		d := p.Sub(best)
		lean := d.Reject(n)
		if t := lean.Norm(); t*t < footGain*dist {
			break
		}
		bend := 1 + d.Dot(n)*s.turning(&l, h.Facet, at, lean.Unit())
		to := best.Add(lean.Mul(1 / math.Max(footSharper, bend)))
		if h, ok = s.Tree.ClosestFrom(h.Facet, to, math.Min(1, to.Dist(at)+footSlack)); !ok { // at lies on a facet
			break
		}
		at, l = h.Point, curvature.NewLift(s.Mesh, s.normals, h.Facet)
		next := onSurface(&l, at)
		x := next.Dist(p)
		if !(x < dist) {
			break
		}
		best, dist = next, x
	}
	return best
}

// onSurface is the point of the surface over point p of a facet.
func onSurface(l *curvature.Lift, p geom.Vec) geom.Vec { return p.Add(l.Normal.Mul(l.At(p))) }

// turning is by how much the normal turns along a unit direction of the surface
// at point p of facet f, 1/mm, + where the surface is convex.
func (s *Surface) turning(l *curvature.Lift, f int32, p, along geom.Vec) float64 {
	step := 0.25 * math.Sqrt(geom.TriangleArea(s.Mesh.Corner(f)))
	x, okX := l.NormalAt(p.Sub(along.Mul(step)))
	y, okY := l.NormalAt(p.Add(along.Mul(step)))
	if step == 0 || !okX || !okY {
		return 0
	}
	return y.Sub(x).Dot(along) / (2 * step)
}
