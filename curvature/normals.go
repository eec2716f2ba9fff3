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
	return m.CornerNormals(func(a, b, c geom.Vec) [3]geom.Vec {
		ab, bc, ca := b.Sub(a), c.Sub(b), a.Sub(c)
		x, y, z := ab.NormSq(), bc.NormSq(), ca.NormSq()
		s := ab.Cross(bc)
		return [3]geom.Vec{s.Mul(1 / (z * x)), s.Mul(1 / (x * y)), s.Mul(1 / (y * z))}
	})
}
