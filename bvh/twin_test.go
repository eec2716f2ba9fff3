package bvh

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// The slow twins: one look at every facet, no tree.

func scanClosest(m *mesh.Mesh, p geom.Vec, maxDist float64) (Hit, bool) {
	best, found := missedHit(), false
	for f, t := range m.F {
		if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
			continue
		}
		a, b, c := m.Corner(int32(f))
		q, feature, d := nearest(&p, &a, &b, &c, geom.Thin(a, b, c))
		if d <= maxDist*maxDist && (!found || d < best.DistSq) {
			best, found = Hit{int32(f), feature, q, d}, true
		}
	}
	return best, found
}

func scanRay(m *mesh.Mesh, o, d geom.Vec, tMax float64) (RayHit, bool) {
	best, found := missedRay(), false
	s := newShear(o, d)
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		if t, ok := s.hit(&a, &b, &c); ok && t <= tMax && (!found || t < best.T) {
			best, found = RayHit{int32(f), t}, true
		}
	}
	return best, found
}

// winding is the winding number of a closed mesh about p, 1 inside and 0
// outside, by summing solid angles.
// Source: A. van Oosterom, J. Strackee, The solid angle of a plane triangle,
// IEEE Transactions on Biomedical Engineering 30 (1983) 125-126.
func winding(m *mesh.Mesh, p geom.Vec) float64 {
	sum := 0.0
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		a, b, c = a.Sub(p), b.Sub(p), c.Sub(p)
		la, lb, lc := a.Norm(), b.Norm(), c.Norm()
		sum += math.Atan2(a.Dot(b.Cross(c)), la*lb*lc+a.Dot(b)*lc+b.Dot(c)*la+c.Dot(a)*lb)
	}
	return sum / (2 * math.Pi)
}
