package geom

// Feature names the part of a triangle abc that holds a point. Vertices are
// 0, 1, 2; FeatureEdge+k is the edge from corner k to corner k+1.
type Feature uint8

// The features of a triangle.
const (
	FeatureVertex Feature = 0 // + corner 0, 1, 2
	FeatureEdge   Feature = 3 // + edge 0 (ab), 1 (bc), 2 (ca)
	FeatureFace   Feature = 6
)

// ClosestOnTriangle returns the point of triangle abc nearest to p and the
// feature it lies on. Works for triangles without area.
// Source: C. Ericson, Real-Time Collision Detection, 2005, section 5.1.5
// (Voronoi regions of the features).
func ClosestOnTriangle(p, a, b, c Vec) (Vec, Feature) {
	ab, ac, ap := b.Sub(a), c.Sub(a), p.Sub(a)
	d1, d2 := ab.Dot(ap), ac.Dot(ap)
	if d1 <= 0 && d2 <= 0 {
		return a, FeatureVertex
	}
	bp := p.Sub(b)
	d3, d4 := ab.Dot(bp), ac.Dot(bp)
	if d3 >= 0 && d4 <= d3 {
		return b, FeatureVertex + 1
	}
	vc := float64(d1*d4) - float64(d3*d2)
	if vc <= 0 && d1 >= 0 && d3 <= 0 {
		return a.Add(ab.Mul(ratio(d1, d1-d3))), FeatureEdge
	}
	cp := p.Sub(c)
	d5, d6 := ab.Dot(cp), ac.Dot(cp)
	if d6 >= 0 && d5 <= d6 {
		return c, FeatureVertex + 2
	}
	vb := float64(d5*d2) - float64(d1*d6)
	if vb <= 0 && d2 >= 0 && d6 <= 0 {
		return a.Add(ac.Mul(ratio(d2, d2-d6))), FeatureEdge + 2
	}
	va := float64(d3*d6) - float64(d5*d4)
	if va <= 0 && d4-d3 >= 0 && d5-d6 >= 0 {
		return b.Add(c.Sub(b).Mul(ratio(d4-d3, (d4-d3)+(d5-d6)))), FeatureEdge + 1
	}
	den := va + vb + vc
	return a.Add(ab.Mul(vb / den)).Add(ac.Mul(vc / den)), FeatureFace
}

// ratio is n/d, 0 for an edge without length.
func ratio(n, d float64) float64 {
	if d == 0 {
		return 0
	}
	return n / d
}

// TriangleNormal returns twice the area times the unit normal of abc,
// counter-clockwise seen from outside.
func TriangleNormal(a, b, c Vec) Vec { return b.Sub(a).Cross(c.Sub(a)) }

// TriangleArea returns the area of abc.
func TriangleArea(a, b, c Vec) float64 { return 0.5 * TriangleNormal(a, b, c).Norm() }
