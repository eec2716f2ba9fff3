package mesh

import "crownassay/geom"

// Mesh is an indexed triangle mesh. Facets are counter-clockwise seen from
// outside; every index is in range (readers guarantee it). A scan is an open
// sheet or several, a crown a closed shell.
type Mesh struct {
	V []geom.Vec // vertices, mm
	F [][3]int32 // facets
}

// Corner returns the three corners of facet f.
func (m *Mesh) Corner(f int32) (a, b, c geom.Vec) {
	t := m.F[f]
	return m.V[t[0]], m.V[t[1]], m.V[t[2]]
}

// Box returns the box of all vertices.
func (m *Mesh) Box() geom.Box {
	b := geom.EmptyBox()
	for _, v := range m.V {
		b = b.Include(v)
	}
	return b
}

// Area returns the surface area, mm^2.
func (m *Mesh) Area() float64 {
	s := 0.0
	for f := range m.F {
		s += geom.TriangleArea(m.Corner(int32(f)))
	}
	return s
}

// Volume returns the enclosed volume, mm^3 (divergence theorem); it has a
// meaning only for closed shells and is negative for inverted ones.
func (m *Mesh) Volume() float64 {
	o := m.Box().Center()
	s := 0.0
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		s += a.Sub(o).Dot(b.Sub(o).Cross(c.Sub(o)))
	}
	return s / 6
}

// Move returns a copy moved by g.
func (m *Mesh) Move(g geom.Rigid) *Mesh {
	v := make([]geom.Vec, len(m.V))
	for i, p := range m.V {
		v[i] = g.Apply(p)
	}
	return &Mesh{V: v, F: m.F}
}
