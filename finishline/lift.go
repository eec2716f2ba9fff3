package finishline

import (
	"math"

	"crownassay/curvature"
	"crownassay/geom"
)

// Where a section's segments are lifted onto the surface that their facets
// stand for, a point is set every liftStep, mm, and the lift is enlarged for
// facets that the section cuts slantwise, but no more than for 45 degrees.
const (
	liftStep  = 0.06
	liftSlant = 0.5 // square of the facet normal's share in the section
)

// lifted appends the points of a section by the plane of normal n, moved onto
// the surface that the facets stand for, with further points between them.
// Facets[i] holds the segment from point i to the next.
func (s Scan) lifted(out []geom.Vec, pts []geom.Vec, facets []int32, n geom.Vec) []geom.Vec {
	before := geom.Vec{} // lift at the start of the segment by the facet before
	for i, f := range facets {
		a, b := pts[i], pts[i+1]
		l := curvature.NewLift(s.Tree.Mesh(), s.Normals, f)
		at := liftIn(&l, a, n)
		if i > 0 {
			at = at.Add(before).Mul(0.5)
		}
		out = append(out, a.Add(at))
		k := int(math.Ceil(a.Dist(b) / liftStep))
		for j := 1; j < k; j++ {
			p := a.Lerp(b, float64(j)/float64(k))
			out = append(out, p.Add(liftIn(&l, p, n)))
		}
		before = liftIn(&l, b, n)
		if i == len(facets)-1 {
			out = append(out, b.Add(before))
		}
	}
	return out
}

// liftIn is the way within a section's plane of normal n from point p of a
// facet to the surface that the facet stands for.
func liftIn(l *curvature.Lift, p, n geom.Vec) geom.Vec {
	rise := l.At(p)
	in := l.Normal.Sub(n.Mul(l.Normal.Dot(n)))
	return in.Mul(rise / math.Max(liftSlant, in.NormSq()))
}
