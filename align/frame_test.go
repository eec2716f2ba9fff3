package align

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// near reports closeness within an absolute tolerance.
func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// TestFrame: X, Y, Z are unit and square for any axis and either hand, and
// Local and World undo each other.
func TestFrame(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	vec := func() geom.Vec { return geom.V(rng.NormFloat64(), rng.NormFloat64(), rng.NormFloat64()).Mul(10) }
	for range 200 {
		for _, hand := range []float64{1, -1} {
			f := NewFrame(vec(), vec(), vec(), hand)
			for _, d := range []float64{f.X.Norm() - 1, f.Y.Norm() - 1, f.Z.Norm() - 1, f.X.Dot(f.Y), f.Y.Dot(f.Z), f.Z.Dot(f.X),
				f.X.Cross(f.Y).Dot(f.Z) - hand, f.Hand() - hand} {
				if !near(d, 0, 1e-12) {
					t.Fatalf("frame %+v of hand %v is off by %g", f, hand, d)
				}
			}
			p := vec()
			if q := f.World(f.Local(p)); q.Dist(p) > 1e-12*50 {
				t.Fatalf("World(Local(%v)) = %v", p, q)
			}
			a, r, z := f.Cylinder(p)
			if q := f.At(a, r, z); q.Dist(p) > 1e-12*50 || !near(a, f.Azimuth(p), 1e-12) {
				t.Fatalf("At(Cylinder(%v)) = %v, azimuth %v", p, q, f.Azimuth(p))
			}
		}
	}
}

// TestFrameDirections: azimuth 0 along x square to the axis, 90 along Y, which
// turns with the hand; an x along the axis still gives a frame.
func TestFrameDirections(t *testing.T) {
	for _, c := range []struct{ hand, azimuth float64 }{{1, 90}, {-1, 270}} {
		f := NewFrame(geom.V(1, 2, 3), geom.V(0, 0, 2), geom.V(3, 0, 5), c.hand)
		if f.X.Dist(geom.V(1, 0, 0)) > 1e-15 || f.Direction(0).Dist(f.X) > 1e-15 {
			t.Errorf("X = %v, want along x", f.X)
		}
		if got := f.Azimuth(geom.V(1, 9, 0)); !near(got, c.azimuth, 1e-12) {
			t.Errorf("hand %v: azimuth of +y = %v, want %v", c.hand, got, c.azimuth)
		}
	}
	f := NewFrame(geom.Vec{}, geom.V(0, 0, 1), geom.V(0, 0, 4), 1)
	if !near(f.X.Norm(), 1, 1e-12) || !near(f.X.Dot(f.Z), 0, 1e-12) {
		t.Errorf("frame from x along the axis: %+v", f)
	}
}

// TestMeanNormal: a level sheet's is (0,0,1); a half ball's is half of it (the
// disc pi r^2 over 2 pi r^2); a closed surface has none (divergence theorem).
func TestMeanNormal(t *testing.T) {
	half := shape.Without(shape.Ball(geom.Vec{}, 3, 0.1), func(p geom.Vec) bool { return p.Z < 0 })
	if n := MeanNormal(half); !near(n.Z, 0.5, 0.02) || !near(n.Norm(), n.Z, 1e-3) {
		t.Errorf("half ball: %v, want (0, 0, 0.5)", n)
	}
	if n := MeanNormal(shape.Plate(1, 5, 1)); n.Dist(geom.V(0, 0, 1)) > 1e-12 {
		t.Errorf("plate: %v", n)
	}
	if n := MeanNormal(shape.Ball(geom.Vec{}, 3, 0.3)); n.Norm() > 1e-12 {
		t.Errorf("ball: %v, want 0", n)
	}
}

// TestOcclusals: a sheet tells its outer side; a closed slab 30 x 20 x 8 its
// three axes both ways, the thinnest first (moments a^2/12 grow with length).
func TestOcclusals(t *testing.T) {
	g := shape.Pose(rand.New(rand.NewPCG(1, 1)))
	got := Occlusals(shape.Plate(1, 5, 1).Move(g))
	if len(got) != 1 || got[0].Dist(g.Turn(geom.V(0, 0, 1))) > 1e-9 {
		t.Errorf("sheet: %v", got)
	}
	slab := shape.Ball(geom.Vec{}, 1, 0.1)
	for i, v := range slab.V {
		slab.V[i] = geom.V(15*v.X, 10*v.Y, 4*v.Z)
	}
	got = Occlusals(slab.Move(g))
	if len(got) != 6 {
		t.Fatalf("closed slab: %d directions, want 6", len(got))
	}
	for i, want := range []geom.Vec{{Z: 1}, {Y: 1}, {X: 1}} {
		if d := math.Abs(got[2*i].Dot(g.Turn(want))); !near(d, 1, 1e-3) || got[2*i].Add(got[2*i+1]).Norm() > 1e-12 {
			t.Errorf("closed slab: directions %d are %v and %v, want along %v", i, got[2*i], got[2*i+1], want)
		}
	}
}

// TestFace: two sheets 6 mm apart that face each other, either one inverted or
// both; and too near to tell.
func TestFace(t *testing.T) {
	g := shape.Pose(rand.New(rand.NewPCG(2, 1)))
	low, high := shape.Plate(0, 20, 2).Move(g), shape.Inverted(shape.Plate(6, 20, 2)).Move(g)
	up := g.Turn(geom.V(0, 0, 1))
	for _, p := range []bool{false, true} {
		for _, o := range []bool{false, true} {
			a, b := low, high
			if p {
				a = shape.Inverted(a)
			}
			if o {
				b = shape.Inverted(b)
			}
			f := Face(a, b)
			if !f.Known || f.PreparedInverted != p || f.OpposingInverted != o || f.PreparedToOpposing.Dist(up) > 1e-9 {
				t.Errorf("prepared inverted %v, opposing inverted %v: %+v", p, o, f)
			}
		}
	}
	if f := Face(low, shape.Inverted(shape.Plate(0.5, 20, 2)).Move(g)); f.Known {
		t.Errorf("sheets 0.5 mm apart: %+v", f)
	}
	if f := Face(shape.Ball(geom.Vec{}, 5, 0.5), high); f.Known {
		t.Errorf("a closed surface: %+v", f)
	}
}
