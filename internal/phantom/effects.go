package phantom

import (
	"math"
	"math/rand/v2"

	"crownassay/geom"
	"crownassay/mesh"
)

// noisy moves every vertex along its normal by normally distributed noise.
// Correlated noise is averaged over neighbours within about 0.2 mm and brought
// back to the wanted RMS.
func noisy(m *mesh.Mesh, sigma float64, correlated bool, rng *rand.Rand) {
	if sigma <= 0 {
		return
	}
	n := vertexNormals(m)
	x := make([]float64, len(m.V))
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	if correlated {
		x = spread(m, x)
	}
	for i := range m.V {
		m.V[i] = m.V[i].Add(n[i].Mul(sigma * x[i]))
	}
}

func vertexNormals(m *mesh.Mesh) []geom.Vec {
	n := make([]geom.Vec, len(m.V))
	for i, f := range m.F {
		d := geom.TriangleNormal(m.Corner(int32(i)))
		for _, k := range f {
			n[k] = n[k].Add(d)
		}
	}
	for i := range n {
		n[i] = n[i].Unit()
	}
	return n
}

// spread averages x over edges as often as makes 0.2 mm of the mean edge, and
// scales it to an RMS of 1.
func spread(m *mesh.Mesh, x []float64) []float64 {
	edge := math.Sqrt(m.Area() / float64(len(m.F)) * 4 / math.Sqrt(3))
	for range max(1, int(math.Round(math.Pow(0.2/edge, 2)))) {
		sum, w := make([]float64, len(x)), make([]float64, len(x))
		for _, f := range m.F {
			for k := range 3 {
				a, b := f[k], f[(k+1)%3]
				sum[a] += x[a] + x[b]
				w[a] += 2
			}
		}
		for i := range x {
			if w[i] > 0 {
				x[i] = sum[i] / w[i]
			}
		}
	}
	ms := 0.0
	for _, v := range x {
		ms += v * v
	}
	f := 1 / math.Sqrt(ms/float64(len(x)))
	for i := range x {
		x[i] *= f
	}
	return x
}

// shuffled puts vertices and facets in random order and turns the facets'
// corners.
func shuffled(m *mesh.Mesh, rng *rand.Rand) *mesh.Mesh {
	out := &mesh.Mesh{V: make([]geom.Vec, len(m.V)), F: make([][3]int32, len(m.F))}
	v := rng.Perm(len(m.V))
	for i, p := range m.V {
		out.V[v[i]] = p
	}
	for i, k := range rng.Perm(len(m.F)) {
		f, r := m.F[i], rng.IntN(3)
		out.F[k] = [3]int32{int32(v[f[r]]), int32(v[f[(r+1)%3]]), int32(v[f[(r+2)%3]])}
	}
	return out
}

// single rounds all coordinates to single precision.
func single(m *mesh.Mesh) {
	for i, p := range m.V {
		m.V[i] = geom.Vec{X: float64(float32(p.X)), Y: float64(float32(p.Y)), Z: float64(float32(p.Z))}
	}
}

// flip turns all facets over.
func flip(m *mesh.Mesh) {
	f := make([][3]int32, len(m.F))
	for i, t := range m.F {
		f[i] = [3]int32{t[0], t[2], t[1]}
	}
	m.F = f
}

// scale multiplies all coordinates.
func scale(m *mesh.Mesh, f float64) {
	for i := range m.V {
		m.V[i] = m.V[i].Mul(f)
	}
}
