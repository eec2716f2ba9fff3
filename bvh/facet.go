package bvh

import "crownassay/geom"

// nearest returns the point of facet abc nearest to p, the feature it lies on
// and the squared distance. A thin facet (geom.Thin) is taken as its three
// edges: its inside is too narrow to matter and where p stands over it is
// rounding.
func nearest(p, a, b, c *geom.Vec, thin bool) (geom.Vec, geom.Feature, float64) {
	if thin {
		return nearestEdge(p, a, b, c)
	}
	q, f := geom.ClosestOnTriangle(*p, *a, *b, *c)
	return q, f, p.DistSq(q)
}

func nearestEdge(p, a, b, c *geom.Vec) (geom.Vec, geom.Feature, float64) {
	q, f, d := alongEdge(p, a, b, 0)
	if q1, f1, d1 := alongEdge(p, b, c, 1); d1 < d {
		q, f, d = q1, f1, d1
	}
	if q1, f1, d1 := alongEdge(p, c, a, 2); d1 < d {
		q, f, d = q1, f1, d1
	}
	return q, f, d
}

// alongEdge returns the point of edge k, from a to b, nearest to p.
func alongEdge(p, a, b *geom.Vec, k geom.Feature) (geom.Vec, geom.Feature, float64) {
	e := b.Sub(*a)
	t, l := p.Sub(*a).Dot(e), e.NormSq()
	switch {
	case !(t > 0):
		return *a, geom.FeatureVertex + k, p.DistSq(*a)
	case t >= l:
		return *b, geom.FeatureVertex + (k+1)%3, p.DistSq(*b)
	}
	q := a.Add(e.Mul(t / l))
	return q, geom.FeatureEdge + k, p.DistSq(q)
}
