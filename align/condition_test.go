package align

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// tube is the wall of a cylinder about the z axis.
func tube(radius, height, edge float64) *mesh.Mesh {
	path := shape.Path{{R: radius, Z: height / 2}, {R: radius, Z: -height / 2}}
	return shape.Without(shape.Lathe(shape.Round(path), edge, 1), func(p geom.Vec) bool {
		return math.Abs(p.Z) > height/2-1e-6
	})
}

func conditionAlone(t *testing.T, m *mesh.Mesh) Condition {
	t.Helper()
	s := samplesOf(m, nil, 0.5)
	k := newMatching(target{bvh.New(m), nil}, pointsOfSamples(s, len(s)))
	if err := k.find(context.Background(), geom.Still(), 0.2); err != nil {
		t.Fatal(err)
	}
	c, ok := k.condition(k.pivot())
	if !ok {
		t.Fatal("no condition")
	}
	return c
}

// The eigenvalues of a ball, a square plate and a tube in closed form: means
// over the surface of the squared cosine between normal and displacement.
// Ball: 0 for turns, 1/3 for slides. Plate of half width a, L^2 = 2a^2/3: a
// turn about an axis in it y^2/L^2 = 1/2, a slide across it 1. Tube of radius R
// and height h, L^2 = R^2 + h^2/12: a turn about an axis square to its own
// (h^2/24)/L^2, a slide square to it 1/2. Samples of 0.5 mm and their normals
// are within 1 % of it.
func TestConditionInClosedForm(t *testing.T) {
	const r, h = 3.0, 8.0
	tilt := h * h / 24 / (r*r + h*h/12)
	for _, c := range []struct {
		name  string
		m     *mesh.Mesh
		want  [6]float64
		words []string
	}{
		{"ball", shape.Ball(geom.V(1, 2, 3), 4, 0.15), [6]float64{0, 0, 0, 1. / 3, 1. / 3, 1. / 3}, []string{"turning", "turning", "turning"}},
		{"plate", shape.Plate(2, 5, 0.2), [6]float64{0, 0, 0, 0.5, 0.5, 1}, []string{"sliding", "sliding", "turning about (0.00, 0.00, 1.00)"}},
		{"tube", tube(r, h, 0.15), [6]float64{0, 0, tilt, tilt, 0.5, 0.5}, []string{"sliding along (0.00, 0.00, 1.00)", "turning about (0.00, 0.00, 1.00) through (0.00, 0.00,"}},
	} {
		got := conditionAlone(t, c.m)
		for i, w := range c.want {
			if math.Abs(got.Values[i]-w) > 0.01*max(w, 0.1) {
				t.Errorf("%s: eigenvalue %d = %.5f, want %.5f", c.name, i, got.Values[i], w)
			}
		}
		if got.Open != len(c.words) || len(got.Free) != len(c.words) {
			t.Fatalf("%s: %d freedoms open: %q", c.name, got.Open, got.Free)
		}
		for i, w := range c.words {
			if said := unsigned(got.Free[i]); !strings.HasPrefix(said, w) {
				t.Errorf("%s: freedom %d: %q, want %q", c.name, i, said, w)
			}
		}
	}
}

// unsigned takes the signs off: an axis has no direction.
func unsigned(s string) string { return strings.ReplaceAll(s, "-", "") }

// A turn about an axis beside the center, with and without a pitch, is told as
// such: the displacement of the center is w x (center - axis) + pitch w.
func TestFreedomIsTheScrew(t *testing.T) {
	v := pivot{geom.V(5, 0, 0), 2}
	axis, at := geom.V(0, 0, 1), geom.V(5, 3, 0)
	for _, c := range []struct {
		pitch float64
		want  string
	}{
		{0, "turning about (0.00, 0.00, 1.00) through (5.00, 3.00, 0.00)"},
		{1.5, "turning about (0.00, 0.00, 1.00) through (5.00, 3.00, 0.00) while sliding 1.5 mm a radian"},
	} {
		d := axis.Cross(v.center.Sub(at)).Add(axis.Mul(c.pitch))
		x := vec6{0, 0, v.size, d.X, d.Y, d.Z}
		if got := freedom(x, v.size/x.length(), v); got != c.want {
			t.Errorf("pitch %g: %q, want %q", c.pitch, got, c.want)
		}
	}
}

// A noisy body of revolution is laid on its like but for the turn about its
// axis, and that is refused unless the caller says it may stay open.
func TestRegisterBodyOfRevolution(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 1))
	p := shape.Prep{Radius: 4, Width: 0.8, Height: 5, Taper: 6, Rim: 0.8, Root: 4, Deep: 2}
	scan := func(edge float64, seed uint64) *mesh.Mesh {
		return noisy(shape.Lathe(shape.Round(p.Path()), edge, seed), seed)
	}
	fixed, moving := scan(0.12, 1), scan(0.15, 2)
	g := shape.Pose(rng)
	_, err := Register(context.Background(), moving.Move(g), fixed, Options{})
	var refused *RefusedError
	if !errors.As(err, &refused) || refused.Stop != NotConditioned || !strings.HasPrefix(unsigned(refused.Why), "the surfaces leave open turning about (0.00, 0.00, 1.00)") {
		t.Fatalf("Register: %v, want it refused for the turn about z", err)
	}
	got, err := Register(context.Background(), moving, fixed, Options{})
	if err != nil || got.Stop != InFrame || got.Condition.Open != 1 {
		t.Errorf("in one frame: %v, %v, %d freedoms open", got.Stop, err, got.Condition.Open)
	}
	got, err = Register(context.Background(), moving.Move(g), fixed, Options{AllowOpen: true})
	if err != nil || got.Condition.Open != 1 {
		t.Fatalf("open turn allowed: %v, %+v", err, got.Condition)
	}
	axis := got.Motion.Turn(g.Turn(geom.V(0, 0, 1)))
	if d := axis.Dist(geom.V(0, 0, 1)); d > mostTurned*math.Pi/180 {
		t.Errorf("the axis is %g rad off", d)
	}
	if o := got.Motion.Apply(g.T); o.Norm() > mostMissed {
		t.Errorf("the origin is %g mm off", o.Norm())
	}
}
