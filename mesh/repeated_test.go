package mesh

import (
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
)

// TestRepeated compares with a look at all pairs, on meshes of few vertices,
// where facets repeat, turn over and name a vertex twice.
func TestRepeated(t *testing.T) {
	for seed := range uint64(50) {
		r := rand.New(rand.NewPCG(seed, 1))
		m := &Mesh{V: make([]geom.Vec, 6)}
		for range 1 + r.IntN(60) {
			m.F = append(m.F, [3]int32{r.Int32N(6), r.Int32N(6), r.Int32N(6)})
		}
		want := make([]bool, len(m.F))
		for f := range m.F {
			want[f] = slices.ContainsFunc(m.F[:f], func(o [3]int32) bool { return sorted(o) == sorted(m.F[f]) })
		}
		if got := Repeated(m, Adjacent(m)); !slices.Equal(got, want) {
			t.Fatalf("seed %d: %v, want %v", seed, got, want)
		}
	}
}
