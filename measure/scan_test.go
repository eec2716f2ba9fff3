package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// TestSpacing: rows and columns of squares of edge h, each cut in two, have
// two edges of about h for one of h sqrt 2, so that the median is h within the
// few per cent by which rows are fitted into the path.
func TestSpacing(t *testing.T) {
	for _, h := range []float64{0.06, 0.1, 0.2} {
		a := anywhere(2)
		a.exact = true
		s := a.site(t, shape.Lathe(shape.Round(flatTop.Path()), h, 3))
		if got := s.Spacing; !near(got, h, 0.06*h) {
			t.Errorf("edge %.2f: spacing = %.4f", h, got)
		}
	}
}

// TestNoise: vertices moved along their normals by known noise. Tolerance:
// twice the standard uncertainty that the reading itself states, 0.5 um and 15
// %. Six unknowns of each fit are counted off, so nothing is lost to them.
func TestNoise(t *testing.T) {
	for _, sigma := range []float64{0, 0.005, 0.01, 0.02} {
		a := anywhere(4)
		a.exact = true
		m := shape.Lathe(shape.Round(flatTop.Path()), 0.08, 3)
		s := a.site(t, shape.Noisy(m, sigma, rand.New(rand.NewPCG(8, 8))))
		if got := s.Noise; !near(got, sigma, 2*(0.0005+0.15*sigma)) {
			t.Errorf("noise = %.5f, want %.5f", got, sigma)
		}
	}
}

// TestTooCoarseForNoise: with 0.5 mm facets no quadric has its nine points
// within 0.3 mm, and the reading says so.
func TestTooCoarseForNoise(t *testing.T) {
	a := anywhere(4)
	a.exact = true
	sharp := flatTop
	sharp.Rim = 0
	s := a.site(t, shape.Lathe(shape.Round(sharp.Path()), 0.5, 3))
	if r := s.Scan()[2]; r.Measured() || r.ID != "scan.noise" {
		t.Errorf("%s = %v on facets of 0.5 mm", r.ID, r.Value)
	}
}

// TestHoles: discs cut out of a level top. A hole's area is that of the disc
// within the ring of facets at its rim.
func TestHoles(t *testing.T) {
	const radius, h = 0.8, 0.1
	disc := func(x, y, r float64) func(geom.Vec) bool {
		return func(p geom.Vec) bool { return p.Z > 3.9 && math.Hypot(p.X-x, p.Y-y) < r }
	}
	whole := shape.Lathe(shape.Round(flatTop.Path()), h, 1)
	one := shape.Without(whole, disc(2, 0, radius))
	for _, c := range []struct {
		name  string
		m     *mesh.Mesh
		count int
	}{
		{"whole", whole, 0},
		{"one", one, 1},
		{"two", shape.Without(one, disc(-2, 0, 0.4)), 2},
		{"at the wall and the root", shape.Without(whole, func(p geom.Vec) bool {
			return p.X > 0 && (math.Hypot(p.Y, p.Z-2) < 0.4 || math.Hypot(p.Y, p.Z+1) < 0.4)
		}), 2},
		{"far down the root", shape.Without(shape.Lathe(shape.Round(deep().Path()), h, 1), func(p geom.Vec) bool {
			return p.X > 0 && math.Hypot(p.Y, p.Z+3) < 0.4
		}), 0},
	} {
		a := anywhere(6)
		a.exact = true
		r := a.site(t, c.m).holes()
		if r.Value != float64(c.count) {
			t.Errorf("%s: %v holes, want %d", c.name, r.Value, c.count)
		}
		if c.name == "one" || c.name == "two" {
			want := math.Pi * radius * radius
			if got := r.Subs[0].Value; !near(got, want, 2*math.Pi*radius*h) {
				t.Errorf("%s: largest = %.3f mm^2, want %.3f", c.name, got, want)
			}
		}
	}
}

func deep() shape.Prep {
	p := flatTop
	p.Deep = 5
	return p
}
