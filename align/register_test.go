package align

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/bvh"
	"crownassay/geom"
	"crownassay/internal/par"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// What a noisy partial copy must reach: 10 um at the worst vertex and 0.05
// degrees.
const mostMissed, mostTurned = 0.010, 0.05

func register(t *testing.T, moving, fixed *mesh.Mesh, o Options) Result {
	t.Helper()
	r, err := Register(context.Background(), moving, fixed, o)
	if err != nil {
		t.Fatalf("Register: %v (%+v)", err, r)
	}
	return r
}

// A noisy copy of other facets with 15 % missing, 60 degrees and 20 mm away
// and in any pose, comes back.
func TestRegisterPartialNoisyCopy(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for seed := uint64(1); seed <= 6; seed++ {
		r := reliefOf(seed)
		fixed := noisy(r.scan(0.15, 2*seed, nil), 2*seed)
		copied := noisy(r.scan(0.21, 2*seed+1, missing), 2*seed+1)
		for _, g := range []geom.Rigid{away(60, rng), shape.Pose(rng)} {
			moving := copied.Move(g)
			got := register(t, moving, fixed, Options{})
			d, deg := missedBy(got.Motion, g.Inverse(), moving)
			if got.Stop != Converged || d > mostMissed || deg > mostTurned {
				t.Errorf("seed %d: %v, %.4f mm and %.4f degrees off, want within %g and %g", seed, got.Stop, d, deg, mostMissed, mostTurned)
			}
			// Two surfaces of 10 um noise each; of the fixed one a third to a
			// half is left where its facets are interpolated.
			if got.RMS < 0.009 || got.RMS > 0.0145 || got.Overlap < 0.95 || got.Firm < 0.99 {
				t.Errorf("seed %d: rms %.4f, overlap %.3f, firm %.3f, want about 0.012, 1, 1", seed, got.RMS, got.Overlap, got.Firm)
			}
		}
	}
}

// Exact vertices on facets of 0.3 and 0.5 mm: what is left are terms of third
// order in the facets' edge e over the radius of the cusps, 1.2 mm and more:
// e^3/r^2 = 0.06 mm at a single place, of either sign, over thousands.
func TestRegisterExactSurfaces(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 2))
	r := reliefOf(11)
	fixed := r.scan(0.3, 1, nil)
	g := shape.Pose(rng)
	moving := r.scan(0.5, 2, nil).Move(g)
	got := register(t, moving, fixed, Options{})
	if d, deg := missedBy(got.Motion, g.Inverse(), moving); d > 0.001 || deg > 0.005 {
		t.Errorf("%.5f mm and %.5f degrees off, want within 0.001 and 0.005", d, deg)
	}
}

// Moving the moving surface on by a known motion takes that motion off the
// answer; exchanging the surfaces inverts it; the residuals are the same from
// both sides.
func TestRegisterComposesAndInverts(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 3))
	r := reliefOf(3)
	a, b := noisy(r.scan(0.2, 1, nil), 1), noisy(r.scan(0.23, 2, nil), 2)
	g, h := away(60, rng), shape.Pose(rng)
	first := register(t, b.Move(g), a, Options{})
	second := register(t, b.Move(h.After(g)), a, Options{})
	if d, _ := missedBy(second.Motion.After(h), first.Motion, b.Move(g)); d > 2e-4 {
		t.Errorf("after a known motion: %g mm off", d)
	}
	back := register(t, a, b.Move(g), Options{})
	if d, _ := missedBy(back.Motion.Inverse(), first.Motion, b.Move(g)); d > 2*mostMissed {
		t.Errorf("the other way: %g mm off", d)
	}
	if math.Abs(back.RMS/first.RMS-1) > 0.1 {
		t.Errorf("rms %g one way, %g the other", first.RMS, back.RMS)
	}
}

// Surfaces in one frame are left alone, the identity to the digit; so are
// those that the best motion would move by less than LeaveWithin.
func TestRegisterLeavesOneFrameAlone(t *testing.T) {
	r := reliefOf(4)
	fixed, moving := noisy(r.scan(0.2, 1, nil), 1), noisy(r.scan(0.25, 2, missing), 2)
	got := register(t, moving, fixed, Options{})
	if got.Stop != InFrame || got.Motion != geom.Still() || got.Moves > mostMissed || got.Overlap < 0.95 {
		t.Errorf("in one frame: %v, %+v, moves %g", got.Stop, got.Motion, got.Moves)
	}
	off := geom.Rigid{R: geom.Identity(), T: geom.V(0.1, 0.05, 0.12)}
	got = register(t, moving.Move(off), fixed, Options{})
	if d, _ := missedBy(got.Motion, off.Inverse(), moving); got.Stop != Converged || d > mostMissed {
		t.Errorf("0.16 mm off: %v, missed by %g", got.Stop, d)
	}
	off.T = off.T.Mul(0.2)
	got = register(t, moving.Move(off), fixed, Options{LeaveWithin: -1})
	if d, _ := missedBy(got.Motion, off.Inverse(), moving); got.Stop != Converged || d > mostMissed {
		t.Errorf("0.03 mm off, not to be left: %v, missed by %g", got.Stop, d)
	}
}

func TestTogether(t *testing.T) {
	r := reliefOf(4)
	tree := bvh.New(r.scan(0.2, 1, nil))
	for _, c := range []struct {
		name     string
		moving   *mesh.Mesh
		low, top float64
	}{
		{"the same sheet", r.scan(0.25, 2, nil), 0.97, 1},
		{"half of it", r.scan(0.25, 2, func(x, y float64) bool { return x > 0 }), 0.97, 1},
		{"inside out", shape.Inverted(r.scan(0.25, 2, nil)), 0, 0},
		{"another sheet", reliefOf(5).scan(0.25, 2, nil), 0, 0.2},
		{"far away", r.scan(0.25, 2, nil).Move(geom.Rigid{R: geom.Identity(), T: geom.V(0, 0, 50)}), 0, 0},
	} {
		a, err := Together(context.Background(), c.moving, tree, Options{})
		if err != nil || a.Share < c.low || a.Share > c.top {
			t.Errorf("%s: share %.3f, %v, want %.2f to %.2f", c.name, a.Share, err, c.low, c.top)
		}
	}
}

// A tooth that was cut down in between does not pull: neither when it is left
// out by weights nor, as it is the smaller part, without.
func TestRegisterOnARegion(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 4))
	r := reliefOf(6)
	fixed := noisy(r.scan(0.2, 1, nil), 1)
	moving := noisy(r.scan(0.22, 2, nil), 2)
	weight := make([]float64, len(moving.V))
	for i, v := range moving.V {
		weight[i] = 1
		if math.Abs(v.X) < 3.5 {
			weight[i] = 0
			moving.V[i].Z -= 1.2 * (1 - v.X*v.X/12.25)
		}
	}
	g := away(60, rng)
	kept := make([]float64, len(fixed.V))
	for i, v := range fixed.V {
		if math.Abs(v.X) >= 3.5 {
			kept[i] = 1
		}
	}
	for name, o := range map[string]Options{"weights": {MovingWeight: weight}, "weights of the fixed": {FixedWeight: kept}, "none": {}} {
		got := register(t, moving.Move(g), fixed, o)
		if d, deg := missedBy(got.Motion, g.Inverse(), moving.Move(g)); d > mostMissed || deg > mostTurned {
			t.Errorf("%s: %.4f mm, %.4f degrees off", name, d, deg)
		}
		if o.MovingWeight != nil && got.Overlap < 0.97 {
			t.Errorf("overlap of the region %.3f, want about 1", got.Overlap)
		}
	}
	if _, err := Register(context.Background(), moving, fixed, Options{FixedWeight: weight[:7]}); err == nil {
		t.Error("seven weights for a whole mesh are taken")
	}
}

// What does not belong together is refused with its reason.
func TestRegisterRefuses(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	r := reliefOf(7)
	fixed := r.scan(0.25, 1, nil)
	mirror := &mesh.Mesh{F: shape.Inverted(fixed).F}
	for _, v := range fixed.V {
		mirror.V = append(mirror.V, geom.V(-v.X, v.Y, v.Z))
	}
	g := shape.Pose(rng)
	sliver := r.scan(0.25, 2, func(x, y float64) bool { return x < 10 })
	for name, moving := range map[string]*mesh.Mesh{
		"another sheet":  reliefOf(8).scan(0.25, 2, nil),
		"mirrored":       mirror,
		"not shrunk":     times(fixed, 1.25),
		"in metres":      times(fixed, 0.001),
		"in micrometres": times(fixed, 1000),
		"inside out":     shape.Inverted(fixed),
		"nothing":        {},
		"a plate":        shape.Plate(0, 8, 0.4),
		"a narrow strip": shape.Joined(sliver, reliefOf(9).scan(0.25, 3, nil).Move(geom.Rigid{R: geom.Identity(), T: geom.V(0, 30, 0)})),
	} {
		got, err := Register(context.Background(), moving.Move(g), fixed, Options{})
		var refused *RefusedError
		if !errors.As(err, &refused) || refused.Stop != got.Stop && len(moving.F) > 0 || refused.Why == "" || refused.Hint == "" {
			t.Errorf("%s: %v, %v; want it refused", name, got.Stop, err)
		}
	}
}

func times(m *mesh.Mesh, by float64) *mesh.Mesh {
	out := &mesh.Mesh{F: m.F}
	for _, v := range m.V {
		out.V = append(out.V, v.Mul(by))
	}
	return out
}

// A start that is right within its reach is enough; one that is not, is
// refused and not made up for.
func TestRegisterFromAStart(t *testing.T) {
	r := reliefOf(14)
	fixed, moving := noisy(r.scan(0.2, 1, nil), 1), noisy(r.scan(0.23, 2, missing), 2)
	g := away(60, rand.New(rand.NewPCG(5, 8)))
	for _, c := range []struct {
		deg, mm float64
		right   bool
	}{{3, 0.5, true}, {6, 1, true}, {90, 5, false}} {
		start := geom.Rigid{R: geom.RotationAbout(geom.V(0, 0.6, 0.8), c.deg*math.Pi/180), T: geom.V(c.mm, 0, 0)}.After(g.Inverse())
		got, err := Register(context.Background(), moving.Move(g), fixed, Options{Start: &start})
		d, _ := missedBy(got.Motion, g.Inverse(), moving.Move(g))
		if c.right && (err != nil || d > mostMissed) || !c.right && err == nil {
			t.Errorf("%g degrees, %g mm off: %.4f mm missed, %v", c.deg, c.mm, d, err)
		}
	}
}

// A copy with errors of its own, waves of 40 um, is refused as a scan of the
// same thing and taken with a wider Near. The waves are as long as a quarter of
// the sheet, so the motion may take a share of them for its own.
func TestRegisterCopyWithErrors(t *testing.T) {
	r := reliefOf(15)
	fixed, moving := r.scan(0.2, 1, nil), r.scan(0.23, 2, nil)
	for i, v := range moving.V {
		moving.V[i].Z += 0.04 * math.Sin(v.X*1.1) * math.Cos(v.Y*1.3)
	}
	g := away(60, rand.New(rand.NewPCG(5, 9)))
	if got, err := Register(context.Background(), moving.Move(g), fixed, Options{Near: 0.05}); err == nil {
		t.Errorf("with Near 0.05: %v", got.Stop)
	}
	got := register(t, moving.Move(g), fixed, Options{Near: 0.2})
	if d, _ := missedBy(got.Motion, g.Inverse(), moving.Move(g)); d > 0.04 {
		t.Errorf("missed by %g, want less than the waves", d)
	}
	if got.Effective > float64(got.Points)/10 {
		t.Errorf("%d points with errors that hold together count as %.0f independent ones", got.Points, got.Effective)
	}
}

// The lower half repeats the upper one: two ways fit alike.
func TestRegisterSaysWhenTwoWaysFit(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	half := reliefOf(12).scan(0.25, 1, func(x, _ float64) bool { return x < 0 })
	turn := geom.Rigid{R: geom.RotationAbout(geom.V(0, 0, 1), math.Pi), T: geom.Vec{}}
	twice := shape.Joined(half, half.Move(turn)) // the same after half a turn
	_, err := Register(context.Background(), twice.Move(shape.Pose(rng)), twice, Options{})
	var refused *RefusedError
	if !errors.As(err, &refused) || refused.Stop != Ambiguous {
		t.Errorf("two ways: %v", err)
	}
}

// The same digits for any number of workers, and it stops when told to.
func TestRegisterWorkersAndContext(t *testing.T) {
	defer func(w int) { par.Workers = w }(par.Workers)
	r := reliefOf(10)
	fixed, moving := r.scan(0.25, 1, nil), r.scan(0.3, 2, missing).Move(away(60, rand.New(rand.NewPCG(5, 7))))
	par.Workers = 1
	want := register(t, moving, fixed, Options{})
	for _, par.Workers = range []int{2, 5} {
		got := register(t, moving, fixed, Options{})
		if got.Motion != want.Motion || got.Covariance != want.Covariance || got.Quality != want.Quality {
			t.Errorf("%d workers: other digits: %+v, %+v", par.Workers, got.Motion, want.Motion)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if got, err := Register(ctx, moving, fixed, Options{}); !errors.Is(err, context.Canceled) || got.Stop != Unfinished {
		t.Errorf("cancelled: %v, %v", got.Stop, err)
	}
}

// The errors of the motion are as large as its covariance says: over n
// registrations of noisy copies from a near start the mean of the squared
// error in units of the covariance is 6, the mean of chi-square of six degrees
// of freedom, within four standard errors sqrt(12/n). The noise of the fixed
// surface is the same each time, so that one is exact here.
func TestCovarianceIsTheScatter(t *testing.T) {
	const n = 40
	r := reliefOf(13)
	fixed, clean := bvh.New(r.scan(0.25, 1, nil)), r.scan(0.25, 2, missing)
	start := geom.Still()
	sum := 0.0
	for k := range uint64(n) {
		got, err := RegisterTo(context.Background(), noisy(clean, 100+k), fixed, Options{Start: &start, Reach: 0.3})
		if err != nil {
			t.Fatal(err)
		}
		sum += mahalanobis(t, got)
	}
	if mean := sum / n; math.Abs(mean-6) > 4*math.Sqrt(12.0/n) {
		t.Errorf("mean squared error is %.2f in units of the covariance, want 6", mean)
	}
}

// mahalanobis is the squared deviation of the motion from none, in units of
// its covariance.
func mahalanobis(t *testing.T, r Result) float64 {
	t.Helper()
	g, c := r.Motion, r.Condition.Center
	d := g.Apply(c).Sub(c)
	x := vec6{(g.R[2][1] - g.R[1][2]) / 2, (g.R[0][2] - g.R[2][0]) / 2, (g.R[1][0] - g.R[0][1]) / 2, d.X, d.Y, d.Z}
	e := normalEq{w: 1, b: x}
	for i := range 6 {
		for k := i; k < 6; k++ {
			e.a[i][k] = r.Covariance[i][k]
		}
	}
	var all []vec6
	for i := range 6 {
		var u vec6
		u[i] = 1
		all = append(all, u)
	}
	y, ok := e.solve(all)
	if !ok {
		t.Fatal("the covariance is singular")
	}
	return -x.dot(&y)
}
