package curvature

import (
	"slices"

	"crownassay/mesh"
)

// links lists the vertices that share an edge with each vertex: those of v are
// to[start[v]:start[v+1]], ascending.
type links struct {
	start []int32
	to    []int32
}

func (l *links) at(v int32) []int32 { return l.to[l.start[v]:l.start[v+1]] }

func newLinks(m *mesh.Mesh) links {
	ring := mesh.Incidence(m)
	l := links{start: make([]int32, len(m.V)+1), to: make([]int32, 0, 6*len(m.V))}
	var around []int32
	for v := range m.V {
		around = around[:0]
		for _, f := range ring.At(int32(v)) {
			t := &m.F[f]
			around = append(around, t[0], t[1], t[2])
		}
		slices.Sort(around)
		for _, q := range slices.Compact(around) {
			if q != int32(v) {
				l.to = append(l.to, q)
			}
		}
		l.start[v+1] = int32(len(l.to))
	}
	return l
}
