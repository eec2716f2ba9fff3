package curvature

import (
	"crownassay/geom"
	"crownassay/mesh"
)

// Normals returns the angle-weighted unit vertex normals; zero for a vertex
// without facets.
func Normals(m *mesh.Mesh) []geom.Vec { return m.VertexNormals() }
