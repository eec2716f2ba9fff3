package foreign

import (
	"math"

	"crownassay/mesh"
)

// Turned makes the preparation as a body turned on a lathe: n long facets
// around, corners exact, edge the length of facets along the half section (0:
// only the corners, huge facets). Columns stand on the same azimuths.
func (p Prep) Turned(n int, edge float64) *mesh.Mesh {
	path := divided(rounded(p.path()), edge)
	m := &mesh.Mesh{}
	for i, k := range path {
		for j := range n {
			v := p.Line(360 * float64(j) / float64(n)).Mul(k.r / p.mean())
			v.Z = k.z
			if m.V = append(m.V, v); i == 0 {
				break
			}
		}
	}
	at := func(i, j int) int32 {
		if i == 0 {
			return 0
		}
		return int32(1 + (i-1)*n + j%n)
	}
	for i := 1; i < len(path); i++ {
		for j := range n {
			if i > 1 {
				m.F = append(m.F, [3]int32{at(i-1, j), at(i, j), at(i-1, j+1)})
			}
			m.F = append(m.F, [3]int32{at(i-1, j+1), at(i, j), at(i, j+1)})
		}
	}
	return m
}

// divided cuts the pieces of a path no longer than edge.
func divided(path []knot, edge float64) []knot {
	out := path[:1:1]
	for i := 1; i < len(path); i++ {
		a, b := path[i-1], path[i]
		n := 1
		if edge > 0 {
			n = max(1, int(math.Ceil(math.Hypot(b.r-a.r, b.z-a.z)/edge)))
		}
		for k := 1; k <= n; k++ {
			t := float64(k) / float64(n)
			out = append(out, knot{a.r + t*(b.r-a.r), a.z + t*(b.z-a.z), 0})
		}
	}
	return out
}
