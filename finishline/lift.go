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

// lifted returns the points of a section by the plane of normal n, moved onto
// the surface that the facets stand for, with further points between them.
// Facets[i] holds the segment from point i to the next.
func (s Scan) lifted(pts []geom.Vec, facets []int32, n geom.Vec) []geom.Vec {
	out := make([]geom.Vec, 0, 4*len(pts))
	before := geom.Vec{} // lift at the start of the segment by the facet before
	for i, f := range facets {
		a, b := pts[i], pts[i+1]
		at := s.lift(f, a, n)
		if i > 0 {
			at = at.Add(before).Mul(0.5)
		}
		out = append(out, a.Add(at))
		k := int(math.Ceil(a.Dist(b) / liftStep))
		for j := 1; j < k; j++ {
			p := a.Lerp(b, float64(j)/float64(k))
			out = append(out, p.Add(s.lift(f, p, n)))
		}
		before = s.lift(f, b, n)
		if i == len(facets)-1 {
			out = append(out, b.Add(before))
		}
	}
	return out
}

// lift is the way within a section's plane of normal n from point p of facet
// f to the surface that the facet stands for.
func (s Scan) lift(f int32, p, n geom.Vec) geom.Vec {
	rise, u := curvature.Lift(s.Tree.Mesh(), s.Normals, f, p)
	in := u.Sub(n.Mul(u.Dot(n)))
	return in.Mul(rise / math.Max(liftSlant, in.NormSq()))
}
