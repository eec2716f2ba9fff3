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
	LiftMost  = 0.1  // mm: a facet that cuts off more does not show the surface's shape
	liftAgree = 0.85 // cosine (32 degrees) within which the corners' normals agree with the facet's: else there is an edge
)

// Lift tells how far the surface that a facet stands for lies above it.
type Lift struct {
	Normal geom.Vec // unit, of the facet; its area vector where that has none

	a, b, c geom.Vec
	area    float64     // twice that of the facet
	bend    [3]float64  // of the edges ab, bc, ca
	corner  [3]geom.Vec // unit normals of the corners
	edge    bool        // an edge, or a thin facet: it does not show the surface
	flat    bool        // nothing is lifted, there or on a flat facet
}

// NewLift looks at facet f of m; normals are the vertices'.
func NewLift(m *mesh.Mesh, normals []geom.Vec, f int32) Lift {
	var l Lift
	l.a, l.b, l.c = m.Corner(f)
	l.Normal = geom.TriangleNormal(l.a, l.b, l.c)
	if l.area = l.Normal.Norm(); l.area == 0 {
		l.edge, l.flat = true, true
		return l
	}
	l.Normal = l.Normal.Mul(1 / l.area)
	var v [3]geom.Vec // normals, their length along the facet's being 1
	for k, i := range m.F[f] {
		l.corner[k] = normals[i]
		along := normals[i].Dot(l.Normal)
		if along < liftAgree {
			l.edge, l.flat = true, true
			return l
		}
		v[k] = normals[i].Mul(1 / along)
	}
	q := [3]geom.Vec{l.a, l.b, l.c}
	for k := range q {
		j := (k + 1) % 3
		e := q[k].Sub(q[j])
		l.bend[k] = bothBend(e.Dot(v[k]), -e.Dot(v[j]))
	}
	l.flat = l.bend == [3]float64{}
	return l
}

// At returns how far, mm along the facet's normal, the surface lies above
// point p of the facet. It is 0 at edges and on flat and thin facets.
func (l *Lift) At(p geom.Vec) float64 {
	if l.flat {
		return 0
	}
	a, b, c := l.weights(p)
	rise := a*b*l.bend[0] + b*c*l.bend[1] + c*a*l.bend[2]
	if math.Abs(rise) > LiftMost {
		return 0
	}
	return rise
}

// weights are those of the corners at point p of the facet; a point beside it
// has them too, not all above 0.
func (l *Lift) weights(p geom.Vec) (a, b, c float64) {
	a = geom.TriangleNormal(p, l.b, l.c).Dot(l.Normal) / l.area
	b = geom.TriangleNormal(p, l.c, l.a).Dot(l.Normal) / l.area
	c = geom.TriangleNormal(p, l.a, l.b).Dot(l.Normal) / l.area
	return a, b, c
}

// NormalAt returns the unit normal of the surface over point p of the facet,
// from those of the corners, weighted like them; ok is false on thin facets and
// where a corner's normal leans so far from the facet's that there is an edge.
// Beside the facet it goes on as it does on it.
func (l *Lift) NormalAt(p geom.Vec) (normal geom.Vec, ok bool) {
	if l.edge {
		return l.Normal, false
	}
	a, b, c := l.weights(p)
	return l.corner[0].Mul(a).Add(l.corner[1].Mul(b)).Add(l.corner[2].Mul(c)).Unit(), true
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
