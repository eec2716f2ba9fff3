package mesh

import (
	"context"
	"math"

	"crownassay/geom"
	"crownassay/internal/par"
)

// normalsBlock is how many facets' parts in the normals of vertices are kept
// at a time.
const normalsBlock = 16384

// VertexNormals returns the unit vertex normals: the sum of the facets'
// normals, each weighted by its angle at the vertex, so that the normal does
// not depend on how a face is cut into triangles. Thin facets (geom.Thin) are
// left out, their normals being rounding; zero for a vertex without others.
// Source: G. Thuermer, C. A. Wuethrich, Computing vertex normals from
// polygonal facets, Journal of Graphics Tools 3 (1998) 43-46.
func (m *Mesh) VertexNormals() []geom.Vec {
	return m.CornerNormals(func(a, b, c geom.Vec) [3]geom.Vec {
		ab, bc, ca := b.Sub(a), c.Sub(b), a.Sub(c)
		s := ab.Cross(bc)
		twice := s.Norm() // the area
		u := s.Mul(1 / twice)
		atA, atB := math.Atan2(twice, -ab.Dot(ca)), math.Atan2(twice, -bc.Dot(ab))
		return [3]geom.Vec{u.Mul(atA), u.Mul(atB), u.Mul(math.Pi - atA - atB)}
	})
}

// CornerNormals returns unit vertex normals that are sums of what parts gives
// for the three corners of each facet. Thin facets (geom.Thin) are left out;
// zero for a vertex without others.
func (m *Mesh) CornerNormals(parts func(a, b, c geom.Vec) [3]geom.Vec) []geom.Vec {
	n := make([]geom.Vec, len(m.V))
	block := make([][3]geom.Vec, min(len(m.F), normalsBlock))
	for first := 0; first < len(m.F); first += normalsBlock {
		facets := m.F[first:min(len(m.F), first+normalsBlock)]
		par.Do(context.Background(), len(facets), 0, func(lo, hi int) {
			for i := lo; i < hi; i++ {
				if a, b, c := m.Corner(int32(first + i)); geom.Thin(a, b, c) {
					block[i] = [3]geom.Vec{}
				} else {
					block[i] = parts(a, b, c)
				}
			}
		})
		for i, t := range facets { // in the order of facets, whatever the number of workers
			for k, v := range t {
				n[v] = n[v].Add(block[i][k])
			}
		}
	}
	for i := range n {
		n[i] = n[i].Unit()
	}
	return n
}
