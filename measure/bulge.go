package measure

import (
	"math"

	"crownassay/geom"
)

// A scan's vertices lie on the tooth, its facets cut below a convex surface.
// The lift of a point of a facet is half of what the tangent planes at the
// corners, weighted like the corners, stand above it: for a surface of second
// degree that is exactly the part cut off, since such a surface lies in the
// middle between its facets and those weighted planes. (The planes' mean is
// that of Phong tessellation, T. Boubekeur and M. Alexa, ACM Trans. Graph. 27
// (2008) 141; the half follows from Taylor's formula.)
const (
	liftMost  = 0.05 // mm: a facet that cuts off more does not show the surface's shape
	liftAgree = 0.85 // cosine (32 degrees) within which the corners' normals agree with the facet's: else there is an edge
)

// lifted returns p, a point of facet f, moved onto the surface that the facet
// stands for. Points of facets at edges and of flat facets stay.
func (s *Surface) lifted(f int32, p geom.Vec) geom.Vec {
	a, b, c := s.Mesh.Corner(f)
	n := geom.TriangleNormal(a, b, c)
	area := n.Norm()
	if area == 0 {
		return p
	}
	n = n.Mul(1 / area)
	w := [3]float64{geom.TriangleNormal(p, b, c).Dot(n) / area, geom.TriangleNormal(p, c, a).Dot(n) / area, geom.TriangleNormal(p, a, b).Dot(n) / area}
	rise := 0.0
	for k, q := range [3]geom.Vec{a, b, c} {
		m := s.normals[s.Mesh.F[f][k]]
		along := m.Dot(n)
		if along < liftAgree {
			return p
		}
		rise += w[k] * q.Sub(p).Dot(m) / along / 2
	}
	if math.Abs(rise) > liftMost {
		return p
	}
	return p.Add(n.Mul(rise))
}
