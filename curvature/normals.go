package curvature

import (
	"crownassay/geom"
	"crownassay/mesh"
)

// Normals returns the unit vertex normals, as mesh gives them.
func Normals(m *mesh.Mesh) []geom.Vec { return m.VertexNormals() }

// SphereNormals returns unit normals of the vertices that are exact where the
// vertex and its neighbours lie on a ball: every corner counts with the vector
// product of its edges over the squares of their lengths. Thin facets are left
// out; zero for a vertex without others.
// Source: N. Max, Weights for computing vertex normals from facet normals,
// Journal of Graphics Tools 4 (1999) 1-6 (from memory).
func SphereNormals(m *mesh.Mesh) []geom.Vec {
	n := make([]geom.Vec, len(m.V))
	for f, t := range m.F {
		if a, b, c := m.Corner(int32(f)); geom.Thin(a, b, c) {
			continue
		}
		for k := range 3 {
			p := m.V[t[k]]
			u, v := m.V[t[(k+1)%3]].Sub(p), m.V[t[(k+2)%3]].Sub(p)
			n[t[k]] = n[t[k]].Add(u.Cross(v).Mul(1 / (u.NormSq() * v.NormSq())))
		}
	}
	for i := range n {
		n[i] = n[i].Unit()
	}
	return n
}
