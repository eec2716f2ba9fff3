package mesh

import (
	"math/rand/v2"
	"testing"
)

// bigTorus has 200,000 facets, in order or shuffled.
func bigTorus(shuffled bool) *Mesh {
	m := wrapped(500, 200, false, true)
	if shuffled {
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(m.F), func(i, j int) { m.F[i], m.F[j] = m.F[j], m.F[i] })
	}
	return m
}

func BenchmarkAdjacent(b *testing.B) {
	for _, c := range []struct {
		name     string
		shuffled bool
	}{{"ordered", false}, {"shuffled", true}} {
		m := bigTorus(c.shuffled)
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				Adjacent(m)
			}
		})
	}
}

func BenchmarkDefects(b *testing.B) {
	m := bigTorus(false)
	a := Adjacent(m)
	for b.Loop() {
		Defects(m, a)
	}
}

func BenchmarkOriented(b *testing.B) {
	m := bigTorus(false)
	for b.Loop() {
		Oriented(m)
	}
}
