package bvh

import (
	"context"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
)

// exactVolume is six times the signed volume of a tetrahedron, in rational
// numbers without rounding.
func exactVolume(a, b, c, d geom.Vec) int {
	diff := func(p, q geom.Vec) [3]*big.Rat {
		var out [3]*big.Rat
		for i, x := range [][2]float64{{p.X, q.X}, {p.Y, q.Y}, {p.Z, q.Z}} {
			out[i] = new(big.Rat).Sub(new(big.Rat).SetFloat64(x[0]), new(big.Rat).SetFloat64(x[1]))
		}
		return out
	}
	u, v, w := diff(a, d), diff(b, d), diff(c, d)
	sum := new(big.Rat)
	for i := range 3 {
		j, k := (i+1)%3, (i+2)%3
		m := new(big.Rat).Sub(new(big.Rat).Mul(v[j], w[k]), new(big.Rat).Mul(v[k], w[j]))
		sum.Add(sum, m.Mul(m, u[i]))
	}
	return sum.Sign()
}

// slowCrossings tries every pair, in exact arithmetic: the segment in which
// two planes cut each other is not looked at, only sides.
func slowCrossings(m *mesh.Mesh) []int32 {
	hit := make([]bool, len(m.F))
	for i, u := range m.F {
		for j, v := range m.F[:i] {
			if !slices.ContainsFunc(u[:], func(x int32) bool { return slices.Contains(v[:], x) }) && (slowPierced(m, u, v) || slowPierced(m, v, u)) {
				hit[i], hit[j] = true, true
			}
		}
	}
	var out []int32
	for f, h := range hit {
		if h {
			out = append(out, int32(f))
		}
	}
	return out
}

func slowPierced(m *mesh.Mesh, u, v [3]int32) bool {
	a, b, c := m.V[u[0]], m.V[u[1]], m.V[u[2]]
	for k := range 3 {
		p, q := m.V[v[k]], m.V[v[(k+1)%3]]
		if exactVolume(a, b, c, p)*exactVolume(a, b, c, q) >= 0 {
			continue
		}
		s := exactVolume(p, q, a, b)
		if s != 0 && exactVolume(p, q, b, c) == s && exactVolume(p, q, c, a) == s {
			return true
		}
	}
	return false
}

// together puts meshes into one.
func together(ms ...*mesh.Mesh) *mesh.Mesh {
	out := &mesh.Mesh{}
	for _, m := range ms {
		n := int32(len(out.V))
		out.V = append(out.V, m.V...)
		for _, f := range m.F {
			out.F = append(out.F, [3]int32{f[0] + n, f[1] + n, f[2] + n})
		}
	}
	return out
}

func shifted(m *mesh.Mesh, d geom.Vec) *mesh.Mesh {
	return m.Move(geom.Rigid{R: geom.Identity(), T: d})
}

func TestSelfCrossingsAreThoseOfAllPairs(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 3))
	for range 4 {
		m := together(sphere(3, 4), shifted(sphere(2+r.Float64(), 4), randVec(r, 2.5)))
		got, err := New(m).SelfCrossings(context.Background())
		if err != nil || !slices.Equal(got, slowCrossings(m)) {
			t.Errorf("crossings %v (%v), all pairs %v", got, err, slowCrossings(m))
		}
	}
	soup := &mesh.Mesh{}
	for i := range int32(90) {
		for range 3 { // on a coarse grid: many touch or lie in one plane
			soup.V = append(soup.V, geom.V(float64(r.IntN(6)), float64(r.IntN(6)), float64(r.IntN(6))))
		}
		soup.F = append(soup.F, [3]int32{3 * i, 3*i + 1, 3*i + 2})
	}
	got, err := New(soup).SelfCrossings(context.Background())
	if want := slowCrossings(soup); err != nil || !slices.Equal(got, want) || len(want) == 0 {
		t.Errorf("soup: crossings %v (%v), all pairs %v", got, err, want)
	}
}

// What touches without crossing is not counted: a sphere alone, apart, within
// another, and two facets over each other in one plane.
func TestNoSelfCrossings(t *testing.T) {
	flat := &mesh.Mesh{V: []geom.Vec{{}, {X: 4}, {Y: 4}, {X: 1, Y: 1}, {X: 5, Y: 1}, {X: 1, Y: 5}}, F: [][3]int32{{0, 1, 2}, {3, 4, 5}}}
	onEdge := &mesh.Mesh{V: []geom.Vec{{}, {X: 4}, {Y: 4}, {X: 1, Y: 1}, {X: 1, Y: 1, Z: 3}, {X: 2, Y: 1, Z: 3}}, F: [][3]int32{{0, 1, 2}, {3, 4, 5}}}
	for name, m := range map[string]*mesh.Mesh{"sphere": sphere(4, 20), "apart": together(sphere(2, 9), shifted(sphere(2, 9), geom.V(5, 0, 0))),
		"within": together(sphere(4, 9), sphere(1, 9)), "in one plane": flat, "a corner on a facet": onEdge, "lumpy": lumpy(30)} {
		if got, err := New(m).SelfCrossings(context.Background()); err != nil || len(got) > 0 {
			t.Errorf("%s: %d crossings, %v", name, len(got), err)
		}
	}
}

// Two spheres of radius 3 with centres 4 apart cross along a circle of radius
// sqrt(9-4) about their middle (closed form); every facet found lies on it.
func TestCrossingFacetsLieOnTheCircle(t *testing.T) {
	m := together(sphere(3, 40), shifted(sphere(3, 40), geom.V(4, 0, 0)))
	got, err := New(m).SelfCrossings(context.Background())
	if err != nil || len(got) < 100 {
		t.Fatalf("%d crossings, %v", len(got), err)
	}
	for _, f := range got {
		a, b, c := m.Corner(f)
		p := a.Add(b).Add(c).Mul(1.0 / 3)
		if d := math.Hypot(p.X-2, math.Hypot(p.Y, p.Z)-math.Sqrt(5)); d > 0.35 { // facets' edges are 0.24
			t.Errorf("facet %d lies %.2f off the circle", f, d)
		}
	}
}

func BenchmarkSelfCrossings(b *testing.B) {
	tree := New(lumpy(224))
	for b.Loop() {
		if _, err := tree.SelfCrossings(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}
