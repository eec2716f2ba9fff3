package mesh

import (
	"math"

	"crownassay/geom"
)

// tetrahedron has the corners 0 and the three unit points: volume 1/6.
func tetrahedron() *Mesh {
	return &Mesh{
		V: []geom.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}},
		F: [][3]int32{{0, 2, 1}, {0, 1, 3}, {0, 3, 2}, {1, 2, 3}},
	}
}

// grid is a sheet of nx x ny unit squares, each cut into two, facing +z.
func grid(nx, ny int) *Mesh {
	m := &Mesh{}
	for j := range ny + 1 {
		for i := range nx + 1 {
			m.V = append(m.V, geom.V(float64(i), float64(j), 0))
		}
	}
	for j := range ny {
		for i := range nx {
			p := int32(j*(nx+1) + i)
			q := p + int32(nx) + 1
			m.F = append(m.F, [3]int32{p, p + 1, q + 1}, [3]int32{p, q + 1, q})
		}
	}
	return m
}

// wrapped is a band of n x w squares whose ends are joined, after a half
// twist if twist is set; w rows of squares, and its sides joined too if torus.
func wrapped(n, w int, twist, torus bool) *Mesh {
	rows := w + 1
	if torus {
		rows = w
	}
	m := &Mesh{}
	for i := range n {
		for j := range rows {
			m.V = append(m.V, bandPoint(float64(i)/float64(n), float64(j)/float64(w), twist, torus))
		}
	}
	at := func(i, j int) int32 {
		if i == n {
			i = 0
			if twist {
				j = w - j
			}
		}
		return int32(i*rows + j%rows)
	}
	for i := range n {
		for j := range w {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			m.F = append(m.F, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return m
}

// bandPoint is a point of a band about a ring of radius 3: s along, t across.
func bandPoint(s, t float64, twist, torus bool) geom.Vec {
	sin, cos := math.Sincos(2 * math.Pi * s)
	r, z := 3+(t-0.5), 0.0
	if twist {
		sh, ch := math.Sincos(math.Pi * s)
		r, z = 3+(t-0.5)*ch, (t-0.5)*sh
	}
	if torus {
		st, ct := math.Sincos(2 * math.Pi * t)
		r, z = 3+ct, st
	}
	return geom.V(r*cos, r*sin, z)
}

// cube is the unit cube moved by o, facing outward.
func cube(o geom.Vec) *Mesh {
	m := &Mesh{}
	for i := range 8 {
		m.V = append(m.V, o.Add(geom.V(float64(i&1), float64(i>>1&1), float64(i>>2))))
	}
	for _, q := range [][4]int32{{0, 2, 3, 1}, {4, 5, 7, 6}, {0, 1, 5, 4}, {2, 6, 7, 3}, {0, 4, 6, 2}, {1, 3, 7, 5}} {
		m.F = append(m.F, [3]int32{q[0], q[1], q[2]}, [3]int32{q[0], q[2], q[3]})
	}
	return m
}

// cubesAtEdge are two cubes that share the edge from (1,1,0) to (1,1,1), the
// vertices 3 and 7 of the first.
func cubesAtEdge() *Mesh {
	m, n := cube(geom.Vec{}), cube(geom.V(1, 1, 0))
	name := [8]int32{3, 8, 9, 10, 7, 11, 12, 13}
	m.V = append(append(m.V, n.V[1:4]...), n.V[5:]...)
	for _, t := range n.F {
		m.F = append(m.F, [3]int32{name[t[0]], name[t[1]], name[t[2]]})
	}
	return m
}

// edges counts the edges that facets have.
func edges(m *Mesh, a *Adjacency) int {
	n := 0
	for h := range a.Opposite {
		if a.last(int32(h)) && a.Opposite[h] != Collapsed {
			n++
		}
	}
	return n
}

// flip reverses the given facets of a copy of m.
func flip(m *Mesh, facets ...int) *Mesh {
	turn := make([]bool, len(m.F))
	for _, f := range facets {
		turn[f] = true
	}
	out, _ := turned(m, turn)
	return out
}
