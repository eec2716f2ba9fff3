package finishline

import (
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// within reports closeness within an absolute tolerance.
func within(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// facingPatch is a patch of 0.1 mm^2, more than robustArea, whose outward
// normal lies at an azimuth and rises by a taper, degrees.
func facingPatch(azimuth, taper float64) Patch {
	s, c := math.Sincos(azimuth * math.Pi / 180)
	st, ct := math.Sincos(taper * math.Pi / 180)
	return Patch{Normal: geom.V(ct*c, ct*s, st), Area: 0.1}
}

// moved turns patches and the start of the search by a random motion.
func moved(p []Patch, rng *rand.Rand) ([]Patch, geom.Rigid) {
	g := shape.Pose(rng)
	out := make([]Patch, len(p))
	for i := range p {
		out[i] = p[i]
		out[i].Normal = g.Turn(p[i].Normal)
	}
	return out, g
}

// searchFrom is a direction some degrees off p, anywhere about it.
func searchFrom(p geom.Vec, degrees float64, rng *rand.Rand) geom.Vec {
	side := geom.RotationAbout(p, 2*math.Pi*rng.Float64()).Apply(p.Normal())
	return p.Add(side.Mul(math.Tan(degrees * math.Pi / 180)))
}

// TestAxisOfCone: the axis of a cone of taper T is its own and the window T.
// The search stops at 0.01 degrees; a tip by d costs d of the window at worst.
func TestAxisOfCone(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 1))
	for _, taper := range []float64{0.5, 3, 6, 20, 45} {
		var p []Patch
		for a := range 360 {
			p = append(p, facingPatch(float64(a), taper))
		}
		p, g := moved(p, rng)
		z := g.Turn(geom.V(0, 0, 1))
		got := PlacementAxis(p, searchFrom(z, 12, rng))
		if off := math.Acos(got.Direction.Dot(z)) * 180 / math.Pi; off > 0.02 || !within(got.Window, taper, 0.02) || got.Undercut != 0 {
			t.Errorf("T %v: axis %.4f degrees off, window %.4f, undercut %v", taper, off, got.Window, got.Undercut)
		}
	}
}

// TestAxisOfWedge: of two planes facing mesial and distal with tapers a and b
// the axis tips by (a-b)/2 away from the steeper one, where both have (a+b)/2:
// asin(n . p) of a plane is its taper plus the tip toward it. The planes facing
// buccal and lingual, 2 degrees wider, leave that alone and hold the axis
// within 2 degrees across, where the window is less by 1 - cos at most.
func TestAxisOfWedge(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	for _, c := range []struct{ a, b float64 }{{4, 4}, {10, 2}, {3, 11}, {8, -2}} {
		p := []Patch{facingPatch(0, c.a), facingPatch(180, c.b), facingPatch(90, (c.a+c.b)/2+2), facingPatch(270, (c.a+c.b)/2+2)}
		p, g := moved(p, rng)
		got := PlacementAxis(p, searchFrom(g.Turn(geom.V(0, 0, 1)), 3, rng))
		d := g.Inverse().Turn(got.Direction)
		tip := math.Atan2(-d.X, d.Z) * 180 / math.Pi
		if !within(tip, (c.a-c.b)/2, 0.02) || !within(got.Window, (c.a+c.b)/2, 0.02) {
			t.Errorf("tapers %v, %v: tip = %.3f, want %v; window = %.3f, want %v", c.a, c.b, tip, (c.a-c.b)/2, got.Window, (c.a+c.b)/2)
		}
	}
}

// TestAxisOfOval: where the wall is 4 degrees steep on two sides and wider
// between, falling off evenly, all tips but those along a narrow ridge lose. By
// symmetry the axis is that of the body. Half a degree is what inclinations may
// be off, a tenth of it what the window may lose.
func TestAxisOfOval(t *testing.T) {
	for seed := range uint64(20) {
		for _, wide := range []float64{5, 8} {
			rng := rand.New(rand.NewPCG(seed, 3))
			var p []Patch
			for a := range 360 {
				s := math.Sin(float64(a) * math.Pi / 180)
				p = append(p, facingPatch(float64(a), 4+(wide-4)*s*s))
			}
			p, g := moved(p, rng)
			z := g.Turn(geom.V(0, 0, 1))
			got := PlacementAxis(p, searchFrom(z, 6, rng))
			if off := math.Acos(got.Direction.Dot(z)) * 180 / math.Pi; off > 0.5 || !within(got.Window, 4, 0.05) {
				t.Errorf("seed %d, 4 to %v degrees: axis %.3f degrees off, window %.3f", seed, wide, off, got.Window)
			}
		}
	}
}

// TestAxisWithUndercutPatch: on a cylinder any tip puts about half of the wall
// under; an undercut patch is the smaller evil and the axis stays, with the
// patch as its undercut and its place. A patch smaller than robustArea does
// not move the window of a cone.
func TestAxisWithUndercutPatch(t *testing.T) {
	var p []Patch
	for a := range 360 {
		p = append(p, facingPatch(float64(a), 0))
		p[a].Normal.Z = 0
	}
	dent := facingPatch(40, -3)
	dent.Area = 0.5
	got := PlacementAxis(append(p, dent), geom.V(0, 0, 1))
	if off := math.Acos(got.Direction.Z) * 180 / math.Pi; off > 0.02 || got.Undercut != 0.5 || !within(got.Window, -3, 1e-9) || got.Worst != 360 {
		t.Errorf("cylinder with a dent: axis %.3f degrees off, %+v", off, got)
	}
	var cone []Patch
	for a := range 360 {
		cone = append(cone, facingPatch(float64(a), 5))
	}
	speck := facingPatch(40, -3)
	speck.Area = robustArea / 2
	if got := PlacementAxis(append(cone, speck), geom.V(0, 0, 1)); !within(got.Window, 5, 0.02) {
		t.Errorf("cone with a speck: window %.3f, want 5", got.Window)
	}
}
