package align

import (
	"crownassay/bvh"
	"crownassay/geom"
)

// creased is the difference between unit normals at the ends of an edge, 0.5
// for 29 degrees, from which on the edge is taken for a crease of the surface
// and not for a chord of a curved one.
const creased = 0.5

// curved returns how far the curved surface that a facet stands for rises over
// the place h of it, mm, and its unit normal there: along each edge the
// parabola whose ends are square to the vertices' normals. A facet with an edge
// across a crease is taken as flat. On a ball the rise is the sagitta: the
// square of the edge over 8 r in its middle. Without it two scans of different
// facets lie apart by the difference of their sagittas, 30 um for facets of
// 0.5 mm on a cusp of 1 mm radius.
// Source: T. Nagata, Simple local interpolation of surfaces using normal
// vectors, Computer Aided Geometric Design 22 (2005) 327-347, to second order.
func curved(t *bvh.Tree, h bvh.Hit) (rise float64, normal geom.Vec) {
	var p, n [3]geom.Vec
	p[0], p[1], p[2] = t.Mesh().Corner(h.Facet)
	w, ok := barycentric(h.Point, p)
	if !ok {
		return 0, t.FeatureNormal(h)
	}
	for k := range n {
		n[k] = t.FeatureNormal(bvh.Hit{Facet: h.Facet, Feature: geom.FeatureVertex + geom.Feature(k)})
		normal = normal.Add(n[k].Mul(w[k]))
	}
	for k := range 3 {
		l := (k + 1) % 3
		d := n[l].Sub(n[k])
		if d.NormSq() > creased*creased {
			return 0, t.FeatureNormal(h)
		}
		rise += float64(float64(w[k]*w[l]) * d.Dot(p[l].Sub(p[k])) / 2)
	}
	return rise, normal.Unit()
}

// barycentric returns the weights of the corners at a point of the triangle;
// ok is false for a thin one.
func barycentric(x geom.Vec, p [3]geom.Vec) (w [3]float64, ok bool) {
	if geom.Thin(p[0], p[1], p[2]) {
		return w, false
	}
	n := geom.TriangleNormal(p[0], p[1], p[2])
	whole := n.NormSq()
	for k := range 3 {
		a, b := p[(k+1)%3], p[(k+2)%3]
		w[k] = geom.TriangleNormal(x, a, b).Dot(n) / whole
	}
	return w, true
}
