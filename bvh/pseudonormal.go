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
	t.signOnce.Do(func() { t.normal = newPseudonormals(t.m, t.adjacency()) })
	return t.normal
}

// adjacency returns what lies across the mesh's edges, found when first asked
// for.
func (t *Tree) adjacency() *mesh.Adjacency {
	t.adjOnce.Do(func() {
		if t.adj == nil {
			t.adj = mesh.Adjacent(t.m)
		}
	})
	return t.adj
}

func newPseudonormals(m *mesh.Mesh, a *mesh.Adjacency) *pseudonormals {
	n := &pseudonormals{vertex: m.VertexNormals(), adj: a}
	n.outward = n.borderConormals(m)
	return n
}

func (n *pseudonormals) borderConormals(m *mesh.Mesh) map[int32]geom.Vec {
	out := map[int32]geom.Vec{}
	for h, o := range n.adj.Opposite {
		if o == mesh.Border {
			g := n.conormal(m, int32(h))
			a, b := m.From(int32(h)), m.To(int32(h))
			out[a], out[b] = out[a].Add(g), out[b].Add(g)
		}
	}
	return out
}

// conormal returns the unit vector in the facet of half-edge h, square to the
// edge and pointing out of the facet.
func (n *pseudonormals) conormal(m *mesh.Mesh, h int32) geom.Vec {
	a, b := m.From(h), m.To(h)
	return m.V[b].Sub(m.V[a]).Cross(n.facing(m, h)).Unit()
}

// edge returns the sum of the unit normals of the facets at half-edge h.
func (n *pseudonormals) edge(m *mesh.Mesh, h int32) geom.Vec {
	s := n.facing(m, h)
	for k := n.adj.Around[h]; k != h; k = n.adj.Around[k] {
		s = s.Add(n.facing(m, k))
	}
	return s
}

// facing returns the unit normal of the facet of half-edge h. That of a thin
// facet is rounding, so there the facets past its two other edges stand in.
func (n *pseudonormals) facing(m *mesh.Mesh, h int32) geom.Vec {
	a, b, c := m.Corner(h / 3)
	if !geom.Thin(a, b, c) {
		return geom.TriangleNormal(a, b, c).Unit()
	}
	var s geom.Vec
	for _, k := range [2]int32{mesh.Next(h), mesh.Prev(h)} {
		if o := n.adj.Opposite[k]; o >= 0 {
			if a, b, c := m.Corner(o / 3); !geom.Thin(a, b, c) {
				s = s.Add(geom.TriangleNormal(a, b, c).Unit())
			}
		}
	}
	return s.Unit()
}
