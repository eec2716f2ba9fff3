package mesh

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
)

// A gathered mesh has the same facets at the same places, each turned the same
// way, and neighbours in space are near in its order.
func TestGathered(t *testing.T) {
	m := &Mesh{}
	const n = 40
	for j := range n + 1 {
		for i := range n + 1 {
			m.V = append(m.V, geom.V(float64(i), float64(j), math.Sin(float64(i*j))))
		}
	}
	for j := range int32(n) {
		for i := range int32(n) {
			a := j*(n+1) + i
			m.F = append(m.F, [3]int32{a, a + 1, a + n + 2}, [3]int32{a, a + n + 2, a + n + 1})
		}
	}
	rng := rand.New(rand.NewPCG(1, 2))
	rng.Shuffle(len(m.F), func(i, j int) { m.F[i], m.F[j] = m.F[j], m.F[i] })
	m.V = append(m.V, geom.V(5, 5, 5)) // named by no facet
	g := Gathered(m)
	if len(g.V) != len(m.V)-1 || len(g.F) != len(m.F) {
		t.Fatalf("%d vertices, %d facets", len(g.V), len(g.F))
	}
	if a, b := places(m), places(g); !slices.Equal(a, b) {
		t.Error("the facets differ")
	}
	if a, b := strides(m), strides(g); b > a/5 {
		t.Errorf("mean way from facet to facet %.2f, was %.2f", b, a)
	}
	again := Gathered(g)
	if !slices.Equal(again.F, g.F) || !slices.Equal(again.V, g.V) {
		t.Error("gathering twice differs from once")
	}
}

// places lists the facets' corners in an order of their own.
func places(m *Mesh) [][9]float64 {
	out := make([][9]float64, len(m.F))
	for f := range m.F {
		a, b, c := m.Corner(int32(f))
		out[f] = [9]float64{a.X, a.Y, a.Z, b.X, b.Y, b.Z, c.X, c.Y, c.Z}
	}
	slices.SortFunc(out, func(x, y [9]float64) int { return slices.Compare(x[:], y[:]) })
	return out
}

// strides is the mean distance from one facet to the next in the mesh.
func strides(m *Mesh) float64 {
	s := 0.0
	for f := 1; f < len(m.F); f++ {
		s += m.V[m.F[f][0]].Dist(m.V[m.F[f-1][0]])
	}
	return s / float64(len(m.F)-1)
}
