package mesh

import (
	"math"
	"slices"
	"testing"

	"crownassay/geom"

	"pgregory.net/rapid"
)

// census is what must not depend on the order of facets and vertices.
type census struct {
	edges, shells, loops, loopVertices int
	closed                             bool
	kinds                              []string
	counts                             []int
}

func takeCensus(m *Mesh) census {
	a := Adjacent(m)
	c := census{edges: edges(m, a), closed: Closed(m, a)}
	_, c.shells = Shells(m, a)
	loops := a.BorderLoops()
	for _, l := range loops {
		c.loopVertices += len(l)
	}
	if c.loops = len(loops); touching(m, loops) {
		c.loops = -1 // how many simple loops such borders make depends on the order
	}
	for _, d := range Defects(m, a) {
		c.kinds, c.counts = append(c.kinds, d.Kind), append(c.counts, d.Count)
	}
	return c
}

// touching reports whether a vertex is passed by two loops.
func touching(m *Mesh, loops [][]int32) bool {
	seen := make([]bool, len(m.V))
	for _, l := range loops {
		for _, v := range l {
			if seen[v] {
				return true
			}
			seen[v] = true
		}
	}
	return false
}

func (c census) equal(d census) bool {
	return c.edges == d.edges && c.shells == d.shells && c.loops == d.loops && c.loopVertices == d.loopVertices &&
		c.closed == d.closed && slices.Equal(c.kinds, d.kinds) && slices.Equal(c.counts, d.counts)
}

// renumber puts facets and vertices in another order and begins facets at
// another corner.
func renumber(t *rapid.T, m *Mesh) *Mesh {
	ids := func(n int) []int {
		p := make([]int, n)
		for i := range p {
			p[i] = i
		}
		return p
	}
	place := rapid.Permutation(ids(len(m.V))).Draw(t, "vertices")
	out := &Mesh{V: make([]geom.Vec, len(m.V))}
	for i, p := range place {
		out.V[p] = m.V[i]
	}
	for _, f := range rapid.Permutation(ids(len(m.F))).Draw(t, "facets") {
		c, k := m.F[f], rapid.IntRange(0, 2).Draw(t, "corner")
		out.F = append(out.F, [3]int32{int32(place[c[k]]), int32(place[c[(k+1)%3]]), int32(place[c[(k+2)%3]])})
	}
	return out
}

// drawMesh is one of the exact shapes with facets missing, so that borders,
// pinched vertices and several shells occur.
func drawMesh(t *rapid.T) *Mesh {
	m := rapid.SampledFrom([]*Mesh{tetrahedron(), grid(4, 3), cubesAtEdge(),
		wrapped(7, 3, false, true), wrapped(5, 2, false, false), wrapped(9, 2, true, false)}).Draw(t, "shape")
	out := &Mesh{V: m.V}
	for _, f := range m.F {
		if rapid.IntRange(0, 5).Draw(t, "keep") > 0 {
			out.F = append(out.F, f)
		}
	}
	return out
}

func TestRenumberingChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		want, got := takeCensus(m), takeCensus(renumber(t, m))
		if !want.equal(got) {
			t.Fatalf("renumbered %+v, want %+v", got, want)
		}
	})
}

// Every border half-edge is passed once, since no edge of these shapes has
// more than two facets where borders end; Opposite and Around are inverse.
func TestAdjacencyLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := drawMesh(t)
		a := Adjacent(m)
		borders := 0
		for h, o := range a.Opposite {
			switch {
			case o == Border:
				borders++
			case o >= 0 && (a.Opposite[o] != int32(h) || m.From(o) != m.To(int32(h)) || m.To(o) != m.From(int32(h))):
				t.Fatalf("half-edge %d: opposite %d does not answer", h, o)
			}
			if r := a.ring(int32(h)); len(r) != twin(m, int32(h)) {
				t.Fatalf("half-edge %d: %d around, want %d", h, len(r), twin(m, int32(h)))
			}
		}
		passed := 0
		for _, l := range a.BorderLoops() {
			passed += len(l)
			s := slices.Clone(l)
			if slices.Sort(s); len(slices.Compact(s)) != len(l) {
				t.Fatalf("loop %v passes a vertex twice", l)
			}
		}
		if passed < borders {
			t.Fatalf("loops pass %d vertices, but there are %d border edges", passed, borders)
		}
	})
}

// twin counts by search the half-edges on the edge of h.
func twin(m *Mesh, h int32) int {
	n := 0
	for g := range int32(3 * len(m.F)) {
		same := m.From(g) == m.From(h) && m.To(g) == m.To(h)
		if same || m.From(g) == m.To(h) && m.To(g) == m.From(h) {
			n++
		}
	}
	return n
}

// Turning any facets of a closed shape is undone, since the outside is known: the volume comes back.
func TestOrientedUndoesFlips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom([]*Mesh{tetrahedron(), cubesAtEdge(), wrapped(7, 3, false, true)}).Draw(t, "shape")
		bad := rapid.SliceOfDistinct(rapid.IntRange(0, len(m.F)-1), rapid.ID).Draw(t, "flipped")
		out, _ := Oriented(flip(m, bad...))
		if v, want := out.Volume(), m.Volume(); math.Abs(v-want) > 1e-12*want {
			t.Fatalf("volume %g, want %g", v, want)
		}
		if again, n := Oriented(out); n != 0 || again != out {
			t.Fatalf("turned %d facets again", n)
		}
	})
}
