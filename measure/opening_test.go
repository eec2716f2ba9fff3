package measure

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// vGroove is a V-groove along y of included angle a in degrees, its bottom
// rounded with radius re, made of strips; the apex of its planes is at height 0.
func vGroove(a, re float64) *mesh.Mesh {
	half := a / 2 * math.Pi / 180
	var p []geom.Vec
	p = append(p, geom.V(-3*math.Sin(half), 0, 3*math.Cos(half)))
	if re == 0 {
		p = append(p, geom.Vec{})
	} else {
		for k := range 33 {
			t := (math.Pi/2 - half) * (2*float64(k)/32 - 1)
			p = append(p, geom.V(re*math.Sin(t), 0, re/math.Sin(half)-re*math.Cos(t)))
		}
	}
	p = append(p, geom.V(3*math.Sin(half), 0, 3*math.Cos(half)))
	m := &mesh.Mesh{}
	for _, q := range p {
		m.V = append(m.V, geom.V(q.X, -2, q.Z), geom.V(q.X, 2, q.Z))
	}
	for i := range len(p) - 1 {
		j := int32(2 * i)
		m.F = append(m.F, [3]int32{j, j + 2, j + 1}, [3]int32{j + 1, j + 2, j + 3})
	}
	return m
}

// deepest is the largest depth over the probes of a surface in the middle of
// it, away from its border.
func deepest(t *testing.T, m *mesh.Mesh, r float64, middle func(geom.Vec) bool) float64 {
	t.Helper()
	s := NewSurface(m)
	o := opening{s.Tree, r}
	all := slices.DeleteFunc(probes(s), func(p probe) bool { return !middle(p.p) })
	l, err := o.leftAt(context.Background(), all, nil)
	if err != nil {
		t.Fatal(err)
	}
	i, depth, err := l.deepest(context.Background())
	if err != nil || i < 0 {
		t.Fatalf("the ball fits nowhere, %v", err)
	}
	return depth
}

// In a V-groove of angle a, rounded with radius re, a ball of radius r leaves
// (r - re)(1/sin(a/2) - 1): both touch the two planes, their middles r and re
// away from each (geometry). Held to 1 um; the definition asks for 10.
func TestOpeningOfGroove(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for _, a := range []float64{30, 60, 90, 96, 120, 150, 170} {
		for _, re := range []float64{0, 0.05, 0.2} {
			for _, r := range []float64{0.3, 0.5} {
				g := shape.Pose(rng)
				back := g.Inverse()
				got := deepest(t, vGroove(a, re).Move(g), r, func(p geom.Vec) bool { q := back.Apply(p); return math.Abs(q.Y) < 1 && q.Z < 2.5 })
				want := (r - re) * (1/math.Sin(a/2*math.Pi/180) - 1)
				if !near(got, want, 0.001) {
					t.Errorf("angle %g, edge %g, ball %g: left %.4f, want %.4f", a, re, r, got, want)
				}
			}
		}
	}
}

// A ball in a cone of half angle b rounded with radius re leaves
// (r - re)(1/sin b - 1); in the corner of three square planes
// (sqrt(3) - 1) r; at the foot of a hole with a flat floor (sqrt(2) - 1) r
// (geometry). Facets of the turned ones miss the surface by h^2 / 8 r.
func TestOpeningOfConeAndCorners(t *testing.T) {
	const r = 0.3
	for _, b := range []float64{20, 45, 70} {
		for _, re := range []float64{0, 0.1} {
			s, c := math.Sincos(b * math.Pi / 180)
			path := shape.Path{{R: 0, Z: 0}}
			if re > 0 {
				path = shape.Path{}.Arc(shape.Point{Z: re / s}, re, -90, -b, 24)
				path[0].R = 0
			}
			path = append(path, shape.Point{R: 2 * s, Z: 2 * c})
			m := shape.Lathe(shape.Round(path), 0.03, 2)
			if !normalUp(m) {
				m = shape.Inverted(m)
			}
			got := deepest(t, m, r, func(p geom.Vec) bool { return p.Z < 1 })
			if want := (r - re) * (1/s - 1); !near(got, want, 0.003) {
				t.Errorf("cone %g, edge %g: left %.4f, want %.4f", b, re, got, want)
			}
		}
	}
	corner := &mesh.Mesh{V: []geom.Vec{{}, {X: 2}, {Y: 2}, {Z: 2}}, F: [][3]int32{{0, 1, 2}, {0, 2, 3}, {0, 3, 1}}}
	if got, want := deepest(t, corner, r, func(p geom.Vec) bool { return p.Norm() < 0.5 }), (math.Sqrt(3)-1)*r; !near(got, want, 1e-6) {
		t.Errorf("corner: left %.6f, want %.6f", got, want)
	}
	hole := shape.Path{{R: 0, Z: 0}, {R: 1.5, Z: 0}, {R: 1.5, Z: 2}}
	m := shape.Lathe(shape.Round(hole), 0.05, 3)
	if !normalUp(m) {
		m = shape.Inverted(m)
	}
	if got, want := deepest(t, m, r, func(p geom.Vec) bool { return p.Z < 1.5 }), (math.Sqrt2-1)*r; !near(got, want, 0.001) {
		t.Errorf("hole: left %.4f, want %.4f", got, want)
	}
}

// normalUp reports whether the facet at the bottom faces up.
func normalUp(m *mesh.Mesh) bool {
	a, b, c := m.Corner(0)
	return geom.TriangleNormal(a, b, c).Z > 0
}

// The slow twin: the middles of the ball are sought on a grid of 20 um around
// some probes of a bumpy bowl, hollow and bulging. The grid can only find
// middles that are too far: where they lie in a narrow tip, by some steps.
func TestOpeningAgainstGrid(t *testing.T) {
	const r, h = 0.3, 0.02
	rng := rand.New(rand.NewPCG(9, 1))
	wave := func(a float64) shape.Path {
		var p shape.Path
		for i := range 60 {
			x := 3 * float64(i) / 59
			p = append(p, shape.Point{R: x, Z: 0.25*math.Sin(5*x) + 0.2*x*x + 0.12*math.Sin(3*a*math.Pi/180)*x*x/9})
		}
		return p
	}
	m := shape.Lathe(wave, 0.1, 4)
	if !normalUp(m) {
		m = shape.Inverted(m)
	}
	s := NewSurface(m)
	o := opening{s.Tree, r}
	all, tried, deep := probes(s), 0, 0.0
	for tried < 25 {
		p := all[rng.IntN(len(all))]
		if math.Hypot(p.p.X, p.p.Y) > 2.2 {
			continue
		}
		at, fits := o.nearest(p.p, p.n, 0)
		if !fits {
			t.Fatalf("no place near %v", p.p)
		}
		got := at.Dist(p.p) - r
		if got < 1e-9 && rng.IntN(20) > 0 {
			continue
		}
		tried++
		deep = math.Max(deep, got)
		twin := gridPlace(s, p.p, r, r+got+6*h, h) - r
		if got > twin+0.001 || got < twin-4*h {
			t.Errorf("at %v: %.4f, on the grid %.4f", p.p, got, twin)
		}
	}
	if deep < 0.02 {
		t.Errorf("the bowl leaves only %.4f: nothing was tested", deep)
	}
}

// gridPlace is the distance from p, up to far, of the nearest point of a grid
// of step h that is r and more away from the surface.
func gridPlace(s *Surface, p geom.Vec, r, far, h float64) float64 {
	best, n := math.Inf(1), int(far/h)
	for i := -n; i <= n; i++ {
		for j := -n; j <= n; j++ {
			for k := -n; k <= n; k++ {
				c := p.Add(geom.V(float64(i)*h, float64(j)*h, float64(k)*h))
				if d := c.Dist(p); d < best && d > r-h && d <= far {
					if hit, _ := s.Tree.Signed(c, 2); hit.Dist >= r {
						best = d
					}
				}
			}
		}
	}
	return best
}

// The digits are the same for any number of workers.
func TestOpeningWorkers(t *testing.T) {
	s := NewSurface(vGroove(96, 0.05))
	o := opening{s.Tree, 0.3}
	p := probes(s)
	defer func() { par.Workers = 0 }()
	first := ""
	for _, n := range []int{1, 2, 5} {
		par.Workers = n
		l, err := o.leftAt(context.Background(), p, nil)
		if err != nil {
			t.Fatal(err)
		}
		i, depth, err := l.deepest(context.Background())
		if got := fmt.Sprint(i, depth, err, l.d); first == "" {
			first = got
		} else if got != first {
			t.Errorf("%d workers give other digits", n)
		}
	}
}
