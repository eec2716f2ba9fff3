package foreign

import (
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// Noisy moves every vertex by noise of the given standard deviation along the
// mean normal of its facets.
func Noisy(m *mesh.Mesh, sigma float64, rng *rand.Rand) *mesh.Mesh {
	n := make([]geom.Vec, len(m.V))
	for f, t := range m.F {
		a, b, c := m.Corner(int32(f))
		x := b.Sub(a).Cross(c.Sub(a))
		for _, v := range t {
			n[v] = n[v].Add(x)
		}
	}
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: m.F}
	for i, p := range m.V {
		out.V[i] = p
		if n[i].NormSq() > 0 {
			out.V[i] = p.Add(n[i].Unit().Mul(sigma * rng.NormFloat64()))
		}
	}
	return out
}

// Hole takes out what lies within r of p.
func Hole(m *mesh.Mesh, p geom.Vec, r float64) *mesh.Mesh {
	return Keep(m, func(q, _ geom.Vec) bool { return q.Dist(p) > r })
}

// Joined puts several surfaces in one file.
func Joined(ms ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, m := range ms {
		n := int32(len(out.V))
		out.V = append(out.V, m.V...)
		for _, t := range m.F {
			out.F = append(out.F, [3]int32{t[0] + n, t[1] + n, t[2] + n})
		}
	}
	return out
}

// Flipped turns over a share of the facets.
func Flipped(m *mesh.Mesh, share float64, rng *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V, F: make([][3]int32, len(m.F))}
	for i, t := range m.F {
		if rng.Float64() < share {
			t[1], t[2] = t[2], t[1]
		}
		out.F[i] = t
	}
	return out
}

// Twice repeats a share of the facets.
func Twice(m *mesh.Mesh, share float64, rng *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V, F: append([][3]int32(nil), m.F...)}
	for _, t := range m.F {
		if rng.Float64() < share {
			out.F = append(out.F, t)
		}
	}
	return out
}

// Soup is triangles without any order.
func Soup(n int, size float64, rng *rand.Rand) *mesh.Mesh {
	m := &mesh.Mesh{}
	for i := range n {
		for range 3 {
			m.V = append(m.V, geom.V(rng.Float64(), rng.Float64(), rng.Float64()).Mul(size))
		}
		k := int32(3 * i)
		m.F = append(m.F, [3]int32{k, k + 1, k + 2})
	}
	return m
}

// Thinned collapses a share of the edges onto one of their ends, at random,
// where no facet turns over by it.
func Thinned(m *mesh.Mesh, share float64, rng *rand.Rand) *mesh.Mesh {
	around := make([][]int32, len(m.V))
	for f, t := range m.F {
		for _, v := range t {
			around[v] = append(around[v], int32(f))
		}
	}
	face, dead, locked := append([][3]int32(nil), m.F...), make([]bool, len(m.F)), make([]bool, len(m.V))
	for _, f := range rng.Perm(len(m.F)) {
		t := face[f]
		k := rng.IntN(3)
		a, b := t[k], t[(k+1)%3]
		if dead[f] || locked[a] || locked[b] || rng.Float64() > share || !closedFan(face, around[a], a) || !keeps(m, face, around[a], a, b) {
			continue
		}
		for _, g := range around[a] {
			dead[g] = dead[g] || has(face[g], b)
			for _, v := range face[g] {
				locked[v] = true // no second collapse near, so that the fans stay right
			}
			for c := range 3 {
				if face[g][c] == a {
					face[g][c] = b
				}
			}
		}
	}
	out := &mesh.Mesh{V: m.V}
	for f, t := range face {
		if !dead[f] {
			out.F = append(out.F, t)
		}
	}
	return packed(out)
}

func has(t [3]int32, v int32) bool { return t[0] == v || t[1] == v || t[2] == v }

// closedFan reports whether the facets around v close: each neighbour twice.
func closedFan(face [][3]int32, fan []int32, v int32) bool {
	n := map[int32]int{}
	for _, f := range fan {
		for _, w := range face[f] {
			n[w]++
		}
	}
	for w, c := range n {
		if w != v && c != 2 {
			return false
		}
	}
	return true
}

// keeps reports whether moving a to b turns no facet by more than 20 degrees
// and keeps facets from becoming needles.
func keeps(m *mesh.Mesh, face [][3]int32, fan []int32, a, b int32) bool {
	for _, f := range fan {
		t := face[f]
		if has(t, b) {
			continue
		}
		before := geom.TriangleNormal(m.V[t[0]], m.V[t[1]], m.V[t[2]])
		for c := range 3 {
			if t[c] == a {
				t[c] = b
			}
		}
		after := geom.TriangleNormal(m.V[t[0]], m.V[t[1]], m.V[t[2]])
		if after.Norm() < 1e-9 || before.Dot(after) < 0.94*before.Norm()*after.Norm() {
			return false
		}
	}
	return true
}
