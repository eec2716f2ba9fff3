package mesh

import "crownassay/geom"

// VertexNormals returns the unit vertex normals: the sum of the facets'
// normals, each weighted by its angle at the vertex, so that the normal does
// not depend on how a face is cut into triangles. Thin facets (geom.Thin) are
// left out, their normals being rounding; zero for a vertex without others.
// Source: G. Thuermer, C. A. Wuethrich, Computing vertex normals from
// polygonal facets, Journal of Graphics Tools 3 (1998) 43-46.
func (m *Mesh) VertexNormals() []geom.Vec {
	n := make([]geom.Vec, len(m.V))
	for f, t := range m.F {
		a, b, c := m.Corner(int32(f))
		if geom.Thin(a, b, c) {
			continue
		}
		u := geom.TriangleNormal(a, b, c).Unit()
		for k := range 3 {
			w := geom.CornerAngle(m.V[t[k]], m.V[t[(k+1)%3]], m.V[t[(k+2)%3]])
			n[t[k]] = n[t[k]].Add(u.Mul(w))
		}
	}
	for i := range n {
		n[i] = n[i].Unit()
	}
	return n
}
