package meshio

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// geodesic is a sphere of radius r: each facet of an icosahedron cut into n^2,
// so 20 n^2 facets on 10 n^2 + 2 vertices. Coordinates are rounded to float32
// when single is set, as a binary STL holds them.
func geodesic(n int, r float64, single bool) *mesh.Mesh {
	const phi = math.Phi
	ico := []geom.Vec{{X: -1, Y: phi}, {X: 1, Y: phi}, {X: -1, Y: -phi}, {X: 1, Y: -phi}, {Y: -1, Z: phi}, {Y: 1, Z: phi},
		{Y: -1, Z: -phi}, {Y: 1, Z: -phi}, {X: phi, Z: -1}, {X: phi, Z: 1}, {X: -phi, Z: -1}, {X: -phi, Z: 1}}
	m := &mesh.Mesh{}
	number := map[[12]int]int32{}
	vertex := func(t [3]int, a, b, c int) int32 {
		var key [12]int
		key[t[0]], key[t[1]], key[t[2]] = a, b, c
		i, ok := number[key]
		if !ok {
			i = int32(len(m.V))
			number[key] = i
			p := ico[t[0]].Mul(float64(a)).Add(ico[t[1]].Mul(float64(b))).Add(ico[t[2]].Mul(float64(c))).Unit().Mul(r)
			if single {
				p = geom.V(float64(float32(p.X)), float64(float32(p.Y)), float64(float32(p.Z)))
			}
			m.V = append(m.V, p)
		}
		return i
	}
	for _, t := range [][3]int{{0, 11, 5}, {0, 5, 1}, {0, 1, 7}, {0, 7, 10}, {0, 10, 11}, {1, 5, 9}, {5, 11, 4}, {11, 10, 2},
		{10, 7, 6}, {7, 1, 8}, {3, 9, 4}, {3, 4, 2}, {3, 2, 6}, {3, 6, 8}, {3, 8, 9}, {4, 9, 5}, {2, 4, 11}, {6, 2, 10}, {8, 6, 7}, {9, 8, 1}} {
		for a := range n {
			for b := range n - a {
				c := n - a - b
				p, q, s := vertex(t, a, b, c), vertex(t, a+1, b, c-1), vertex(t, a, b+1, c-1)
				m.F = append(m.F, [3]int32{p, q, s})
				if c > 1 {
					m.F = append(m.F, [3]int32{q, vertex(t, a+1, b+1, c-2), s})
				}
			}
		}
	}
	return m
}
