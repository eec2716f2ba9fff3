package gauge

import "crownassay/mesh"

// scaled is the mesh with all coordinates multiplied.
func scaled(m *mesh.Mesh, by float64) *mesh.Mesh {
	out := &mesh.Mesh{V: append(m.V[:0:0], m.V...), F: m.F}
	for i, v := range out.V {
		out.V[i] = v.Mul(by)
	}
	return out
}

// largest is the largest dimension of the mesh's box.
func largest(m *mesh.Mesh) float64 {
	s := m.Box().Size()
	return max(s.X, s.Y, s.Z)
}
