package curvature

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/mesh"
)

// torus has the radii R and r about the z axis, its vertices displaced along
// the surface by up to a quarter of the spacing, so that no symmetry helps;
// not displaced for no jitter.
func torus(R, r float64, nu, nv int, jitter *rand.Rand) *mesh.Mesh {
	m := &mesh.Mesh{}
	quarter := func() float64 {
		if jitter == nil {
			return 0
		}
		return 0.5 * (jitter.Float64() - 0.5)
	}
	for i := range nu {
		for j := range nv {
			u := 2 * math.Pi * (float64(i) + quarter()) / float64(nu)
			v := 2 * math.Pi * (float64(j) + quarter()) / float64(nv)
			m.V = append(m.V, torusPoint(R, r, u, v))
		}
	}
	at := func(i, j int) int32 { return int32(i%nu*nv + j%nv) }
	for i := range nu {
		for j := range nv {
			a, b, c, d := at(i, j), at(i+1, j), at(i+1, j+1), at(i, j+1)
			m.F = append(m.F, [3]int32{a, b, c}, [3]int32{a, c, d})
		}
	}
	return m
}

func torusPoint(R, r, u, v float64) geom.Vec {
	w := R + r*math.Cos(v)
	return geom.V(w*math.Cos(u), w*math.Sin(u), r*math.Sin(v))
}

// A torus of radii 5 and 2 has the curvatures 1/2 and cos v / (5 + 2 cos v).
// Fits over a radius of 0.4 mm leave out the fourth order: of the curvature
// times (0.4 k)^2, 4 % where k is 1/2, at most. Where the normal's error is
// first order in an uneven patch, 1e-2 is left.
func TestPrincipalOfTorus(t *testing.T) {
	r := rand.New(rand.NewPCG(2, 1))
	m := torus(5, 2, 240, 100, r)
	g := randRigid(r)
	cs, err := Principal(context.Background(), m.Move(g), 0.4)
	if err != nil {
		t.Fatal(err)
	}
	var worst, worstNormal float64
	for i, c := range cs {
		p := m.V[i]
		w := math.Hypot(p.X, p.Y)
		k2 := (w - 5) / 2 / w
		n := geom.V(p.X*(w-5)/w, p.Y*(w-5)/w, p.Z).Unit()
		if !c.OK {
			t.Fatalf("vertex %d: not fitted", i)
		}
		worst = max(worst, math.Abs(c.K1-0.5), math.Abs(c.K2-k2))
		worstNormal = max(worstNormal, c.Normal.Dist(g.Turn(n)))
	}
	if worst > 0.02 || worstNormal > 0.01 {
		t.Errorf("largest error of k1, k2 %g, of the normal %g, want under 0.02 and 0.01 (seed 2, 1)", worst, worstNormal)
	}
}

// The error falls with the square of the radius.
func TestPrincipalConverges(t *testing.T) {
	errorAt := func(n int, radius float64) float64 {
		m := torus(5, 2, 2*n, n, rand.New(rand.NewPCG(2, 2)))
		cs, _ := Principal(context.Background(), m, radius)
		s := 0.0
		for _, c := range cs {
			s += math.Abs(c.K1-0.5) / float64(len(cs))
		}
		return s
	}
	coarse, fine := errorAt(60, 0.8), errorAt(120, 0.4)
	if order := math.Log2(coarse / fine); order < 1.7 {
		t.Errorf("mean errors %g and %g at half the radius: order %.2f, want 2", coarse, fine, order)
	}
}

// Radius 0 and balls that hold too little take the two rings around a vertex:
// on a grid of triangles six neighbours and twelve beyond them.
func TestTwoRings(t *testing.T) {
	m := torus(5, 2, 60, 40, rand.New(rand.NewPCG(2, 3)))
	for _, radius := range []float64{0, 0.05} {
		cs, _ := Principal(context.Background(), m, radius)
		for i, c := range cs {
			if !c.OK || c.N != 19 {
				t.Fatalf("radius %g, vertex %d: %d points, %v, want 19", radius, i, c.N, c.OK)
			}
		}
	}
}

// The ball's points are those within the radius, here where the walk cannot be
// cut off, by a scan over all vertices.
func TestBallIsTheScan(t *testing.T) {
	m := torus(5, 2, 100, 60, rand.New(rand.NewPCG(2, 4)))
	cs, _ := Principal(context.Background(), m, 0.9)
	for i := 0; i < len(m.V); i += 97 {
		n := 0
		for _, q := range m.V {
			if q.DistSq(m.V[i]) <= 0.9*0.9 {
				n++
			}
		}
		if cs[i].N != n {
			t.Errorf("vertex %d: %d points, want %d", i, cs[i].N, n)
		}
	}
}

func TestPrincipalSaysWhereItCannot(t *testing.T) {
	one := &mesh.Mesh{V: []geom.Vec{{}, {X: 1}, {Y: 1}, {X: 7}}, F: [][3]int32{{0, 1, 2}}}
	cs, err := Principal(context.Background(), one, 1)
	if err != nil || len(cs) != 4 {
		t.Fatal(cs, err)
	}
	for i, c := range cs {
		if c.OK {
			t.Errorf("vertex %d of a lone triangle: fitted %+v", i, c)
		}
	}
	if cs, err := Principal(context.Background(), &mesh.Mesh{}, 1); err != nil || len(cs) != 0 {
		t.Errorf("empty mesh: %v, %v", cs, err)
	}
}

func TestPrincipalIsTheSameForAnyWorkers(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	m := torus(5, 2, 100, 60, rand.New(rand.NewPCG(2, 5)))
	par.Workers = 1
	want, _ := Principal(context.Background(), m, 0.5)
	for _, par.Workers = range []int{2, 7} {
		if got, _ := Principal(context.Background(), m, 0.5); !slices.Equal(got, want) {
			t.Errorf("%d workers: other digits", par.Workers)
		}
	}
}

func TestPrincipalStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	m := torus(5, 2, 100, 60, rand.New(rand.NewPCG(2, 6)))
	if _, err := Principal(ctx, m, 0.5); err != context.Canceled {
		t.Errorf("Principal = %v, want context.Canceled", err)
	}
}

// At a cube's corner all three faces count the same though some have two
// triangles there; a thin triangle has no say.
func TestNormals(t *testing.T) {
	m := &mesh.Mesh{
		V: []geom.Vec{{}, {X: 1}, {Y: 1}, {Z: 1}, {X: 1, Y: 1}, {X: 0.5, Z: -1e-9}},
		F: [][3]int32{{0, 4, 1}, {0, 2, 4}, {0, 3, 2}, {0, 1, 3}, {0, 1, 5}},
	}
	n := Normals(m)
	if want := geom.V(-1, -1, -1).Unit(); n[0].Dist(want) > 1e-15 {
		t.Errorf("corner: %v, want %v", n[0], want)
	}
	if n[5] != (geom.Vec{}) {
		t.Errorf("vertex of a thin facet only: %v, want zero", n[5])
	}
}

// Normals of a torus point off its tube; on an even grid the angles' weights
// leave an error of the order of the spacing squared.
func TestNormalsOfTorus(t *testing.T) {
	const nu, nv = 240, 120
	m := torus(5, 2, nu, nv, nil)
	for i, got := range Normals(m) {
		u, v := 2*math.Pi*float64(i/nv)/nu, 2*math.Pi*float64(i%nv)/nv
		want := torusPoint(0, 1, u, v)
		if got.Dist(want) > 0.002 {
			t.Fatalf("vertex %d: normal %v, want %v", i, got, want)
		}
	}
}

func BenchmarkPrincipal(b *testing.B) {
	m := torus(5, 2, 500, 200, rand.New(rand.NewPCG(2, 7)))
	for b.Loop() {
		Principal(context.Background(), m, 0)
	}
	b.ReportMetric(float64(len(m.V)), "vertices")
}
