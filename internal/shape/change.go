package shape

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// Pose returns a random motion: any rotation, up to 50 mm away.
func Pose(rng *rand.Rand) geom.Rigid {
	axis := geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Unit()
	off := geom.V(100*rng.Float64()-50, 100*rng.Float64()-50, 100*rng.Float64()-50)
	return geom.Rigid{R: geom.RotationAbout(axis, 2*math.Pi*rng.Float64()), T: off}
}

// Renumbered returns the same surface with vertices and facets in another
// order and facets beginning at another corner.
func Renumbered(m *mesh.Mesh, rng *rand.Rand) *mesh.Mesh {
	name := rng.Perm(len(m.V))
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: make([][3]int32, len(m.F))}
	for i, v := range m.V {
		out.V[name[i]] = v
	}
	for i, k := range rng.Perm(len(m.F)) {
		s := rng.IntN(3)
		for c := range 3 {
			out.F[i][c] = int32(name[m.F[k][(c+s)%3]])
		}
	}
	return out
}

// Refined returns the same surface with every facet cut into four.
func Refined(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{V: append([]geom.Vec(nil), m.V...)}
	middle := map[[2]int32]int32{}
	mid := func(a, b int32) int32 {
		key := [2]int32{min(a, b), max(a, b)}
		i, ok := middle[key]
		if !ok {
			i = int32(len(out.V))
			middle[key] = i
			out.V = append(out.V, m.V[key[0]].Lerp(m.V[key[1]], 0.5))
		}
		return i
	}
	for _, f := range m.F {
		x, y, z := mid(f[0], f[1]), mid(f[1], f[2]), mid(f[2], f[0])
		out.F = append(out.F, [3]int32{f[0], x, z}, [3]int32{x, f[1], y}, [3]int32{z, y, f[2]}, [3]int32{x, y, z})
	}
	return out
}

// Noisy returns the surface with every vertex moved along its normal by
// normally distributed noise of standard deviation sigma, mm.
func Noisy(m *mesh.Mesh, sigma float64, rng *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: m.F}
	for i, n := range m.VertexNormals() {
		out.V[i] = m.V[i].Add(n.Mul(sigma * rng.NormFloat64()))
	}
	return out
}

// Inverted returns the surface inside out.
func Inverted(m *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V, F: make([][3]int32, len(m.F))}
	for i, f := range m.F {
		out.F[i] = [3]int32{f[0], f[2], f[1]}
	}
	return out
}

// Without returns the surface less the facets whose middle is in the region.
func Without(m *mesh.Mesh, region func(middle geom.Vec) bool) *mesh.Mesh {
	out := &mesh.Mesh{V: m.V}
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		if !region(a.Add(b).Add(c).Mul(1.0 / 3)) {
			out.F = append(out.F, m.F[f])
		}
	}
	return out
}

// Joined returns both surfaces in one mesh, not connected.
func Joined(a, b *mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{V: append(append([]geom.Vec(nil), a.V...), b.V...), F: append([][3]int32(nil), a.F...)}
	n := int32(len(a.V))
	for _, f := range b.F {
		out.F = append(out.F, [3]int32{f[0] + n, f[1] + n, f[2] + n})
	}
	return out
}
