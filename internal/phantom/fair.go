package phantom

import (
	"math"

	"crownassay/geom"
	"crownassay/mesh"
)

// fairLength is how far the gingiva is evened out, mm; 1.2 takes the creases
// out of the seams between the teeth's cells and leaves the papillae.
const fairLength = 1.2

// fair evens out the gingiva away from the teeth: every free vertex moves
// towards the mean of its neighbours, a border vertex towards that of its
// neighbours on the border. Teeth and sulcus stay as their formulae have them.
func (a *arch) fair(m *mesh.Mesh, h float64) {
	free := a.freedom(m)
	links := gumLinks(m, free)
	sum, n := make([]geom.Vec, len(m.V)), make([]float64, len(m.V))
	for range min(120, int(math.Pow(fairLength/(1.3*h), 2))) {
		for _, l := range links {
			sum[l[0]] = sum[l[0]].Add(m.V[l[1]])
			n[l[0]]++
		}
		for i := range m.V {
			if n[i] > 0 {
				m.V[i] = m.V[i].Lerp(sum[i].Mul(1/n[i]), 0.7*free[i])
				sum[i], n[i] = geom.Vec{}, 0
			}
		}
	}
}

// freedom is 1 for the gingiva, 0 for teeth and sulcus, in between within 1 mm
// of the crest. Cell borders are free.
func (a *arch) freedom(m *mesh.Mesh) []float64 {
	free := make([]float64, len(m.V))
	for i := range free {
		free[i] = 1
	}
	for _, t := range a.teeth {
		gum := 0.0
		switch s := t.sheet.(type) {
		case *natural:
			gum = s.crownQ
		case *prepSheet:
			gum = s.from[segGum]
		case *crowned:
			gum = s.gumFrom()
		}
		for i, at := range t.at {
			free[t.first+i] = step((at.q - gum - 0.15) / 1.2)
		}
	}
	return free
}

// gumLinks lists the directed links (to, from) along which free vertices are
// averaged, in the order of the facets.
func gumLinks(m *mesh.Mesh, free []float64) [][2]int32 {
	next := borderNext(m, free)
	border := make([]bool, len(m.V))
	for a, b := range next {
		border[a], border[b] = true, true
	}
	var links [][2]int32
	for _, f := range m.F {
		for k := range 3 {
			a, b := f[k], f[(k+1)%3]
			if to, ok := next[a]; ok && to == b {
				links = append(links, [2]int32{a, b}, [2]int32{b, a})
			} else if free[a] > 0 && !border[a] {
				links = append(links, [2]int32{a, b})
			}
		}
	}
	return links
}

// borderNext maps every free border vertex to the next one along the border.
func borderNext(m *mesh.Mesh, free []float64) map[int32]int32 {
	open := map[[2]int32]bool{}
	for _, f := range m.F {
		for k := range 3 {
			a, b := f[k], f[(k+1)%3]
			if free[a] == 0 && free[b] == 0 {
				continue
			}
			if back := [2]int32{b, a}; open[back] {
				delete(open, back)
			} else {
				open[[2]int32{a, b}] = true
			}
		}
	}
	next := make(map[int32]int32, len(open))
	for e := range open {
		next[e[0]] = e[1]
	}
	return next
}
