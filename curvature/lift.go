package curvature

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// A scan's vertices lie on the tooth, its facets cut below a convex surface.
// The lift of a point of a facet is half of what the tangent planes at the
// corners, weighted like the corners, stand above it: for a surface of second
// degree that is exactly the part cut off, since such a surface lies in the
// middle between its facets and those weighted planes. (The planes' mean is
// that of Phong tessellation, T. Boubekeur and M. Alexa, ACM Trans. Graph. 27
// (2008) 141; the half follows from Taylor's formula.)
const (
	liftMost  = 0.1  // mm: a facet that cuts off more does not show the surface's shape
	liftAgree = 0.85 // cosine (32 degrees) within which the corners' normals agree with the facet's: else there is an edge
)

// Lift returns how far, mm along the facet's unit normal, the surface that
// facet f of m stands for lies above its point p; normals are the vertices'.
// It is 0 at edges and on flat and thin facets.
func Lift(m *mesh.Mesh, normals []geom.Vec, f int32, p geom.Vec) (rise float64, normal geom.Vec) {
	a, b, c := m.Corner(f)
	n := geom.TriangleNormal(a, b, c)
	area := n.Norm()
	if area == 0 {
		return 0, n
	}
	n = n.Mul(1 / area)
	w := [3]float64{geom.TriangleNormal(p, b, c).Dot(n) / area, geom.TriangleNormal(p, c, a).Dot(n) / area, geom.TriangleNormal(p, a, b).Dot(n) / area}
	q := [3]geom.Vec{a, b, c}
	var v [3]geom.Vec // normals, their length along n being 1
	for k := range q {
		v[k] = normals[m.F[f][k]]
		along := v[k].Dot(n)
		if along < liftAgree {
			return 0, n
		}
		v[k] = v[k].Mul(1 / along)
	}
	for k := range q {
		j := (k + 1) % 3
		e := q[k].Sub(q[j])
		rise += w[k] * w[j] * bothBend(e.Dot(v[k]), -e.Dot(v[j]))
	}
	if math.Abs(rise) > liftMost {
		return 0, n
	}
	return rise, n
}

// bothBend is the bend of an edge at whose ends the normals tell x and y: the
// mean, but at most twice the lesser, and none when they disagree about the
// side, so that where a flat meets a round the flat facet is not rounded.
// (The limiter of B. van Leer, J. Comput. Phys. 23 (1977) 276, from memory.)
func bothBend(x, y float64) float64 {
	if float64(x*y) <= 0 {
		return 0
	}
	less := math.Min(math.Abs(x), math.Abs(y))
	return math.Copysign(math.Min(math.Abs(x+y)/2, 2*less), x)
}
