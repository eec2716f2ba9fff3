package bvh

import (
	"crownassay/geom"
	"crownassay/mesh"
)

// pseudonormals knows the normals of all features.
// Source: J. A. Baerentzen, H. Aanaes, Signed distance computation using the
// angle weighted pseudonormal, IEEE TVCG 11 (2005) 243-253.
type pseudonormals struct {
	vertex []geom.Vec // angle-weighted sum, unit
	adj    *mesh.Adjacency
	// outward[v], for a vertex on a border, is the sum of the conormals of its
	// border edges: in the sheet, pointing away from it. Zero elsewhere.
	outward map[int32]geom.Vec
}

// pseudo returns the pseudonormals, made when first asked for.
func (t *Tree) pseudo() *pseudonormals {
	t.once.Do(func() { t.normal = newPseudonormals(t.m) })
	return t.normal
}

func newPseudonormals(m *mesh.Mesh) *pseudonormals {
	n := &pseudonormals{vertex: m.VertexNormals(), adj: mesh.Adjacent(m)}
	n.outward = borderConormals(m, n.adj)
	return n
}

func borderConormals(m *mesh.Mesh, adj *mesh.Adjacency) map[int32]geom.Vec {
	out := map[int32]geom.Vec{}
	for h, o := range adj.Opposite {
		if o == mesh.Border {
			g := conormal(m, int32(h))
			a, b := m.From(int32(h)), m.To(int32(h))
			out[a], out[b] = out[a].Add(g), out[b].Add(g)
		}
	}
	return out
}

// conormal returns the unit vector in the facet of half-edge h, square to the
// edge and pointing out of the facet.
func conormal(m *mesh.Mesh, h int32) geom.Vec {
	a, b := m.From(h), m.To(h)
	return m.V[b].Sub(m.V[a]).Cross(m.FacetNormal(h / 3)).Unit()
}

// edge returns the sum of the unit normals of the facets at half-edge h.
func (n *pseudonormals) edge(m *mesh.Mesh, h int32) geom.Vec {
	s := m.FacetNormal(h / 3)
	for k := n.adj.Around[h]; k != h; k = n.adj.Around[k] {
		s = s.Add(m.FacetNormal(k / 3))
	}
	return s
}
