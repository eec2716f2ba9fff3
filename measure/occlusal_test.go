package measure

import (
	"context"
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/reading"
)

// flatTop is a preparation with a level top 4 mm above the finish line.
var flatTop = shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: 6, Rim: 0.3, Root: 10, Deep: 2}

// facing makes a site of flatTop with an opposing surface.
func facing(t testing.TB, opposing *mesh.Mesh) *Site {
	a := anywhere(14)
	a.exact = true
	s := a.site(t, shape.Lathe(shape.Round(flatTop.Path()), 0.1, 1))
	s.Opposing = NewSurface(opposing.Move(a.move))
	return s
}

func occlusal(t testing.TB, s *Site) []reading.Reading {
	t.Helper()
	rs, err := s.Occlusal(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return rs
}

// TestClearanceToPlate: parallel planes are as far apart everywhere as their
// heights; room is what cement and material leave. Within a micrometre: facets
// beside the rounded rim are lifted like curved ones.
func TestClearanceToPlate(t *testing.T) {
	s := facing(t, shape.Inverted(shape.Plate(5.3, 7, 0.5)))
	rs := occlusal(t, s)
	r := take(t, rs, "preparation.clearance.occlusal")
	if !near(r.Value, 1.3, 1e-3) {
		t.Errorf("clearance = %.9f, want 1.3", r.Value)
	}
	if len(r.Subs) != 3 {
		t.Fatalf("%d zones, want 3", len(r.Subs))
	}
	for _, z := range r.Subs {
		if !near(z.Value, 1.3, 1e-3) {
			t.Errorf("%s = %.9f, want 1.3", z.Name, z.Value)
		}
	}
	if got := take(t, rs, "preparation.room").Value; !near(got, 1.3-0.08-1, 1e-3) {
		t.Errorf("room = %.9f, want 0.22", got)
	}
}

// TestClearanceToBall: over a level top the gap to a sphere at x from its
// middle is hypot(x, h) - r; 0.05 mm^2 goes below its value at the circle of
// that area. 0.02 mm is what a clearance may be off.
func TestClearanceToBall(t *testing.T) {
	const radius, gap, x, y = 2.0, 0.8, 1.5, -0.5
	s := facing(t, shape.Ball(geom.V(x, y, 4+gap+radius), radius, 0.08))
	r, err := s.clearance(context.Background(), first(s.spots()))
	if err != nil {
		t.Fatal(err)
	}
	rim := math.Sqrt(leastArea / math.Pi)
	want := math.Hypot(rim, gap+radius) - radius
	got := take(t, r, "preparation.clearance.occlusal")
	if !near(got.Value, want, 0.003) {
		t.Errorf("clearance = %.4f, want %.4f", got.Value, want)
	}
	at := s.Frame.Local(got.At.Point)
	if d := math.Hypot(at.X-x, at.Y-y); d > rim+spotEdge {
		t.Errorf("found %.3f mm beside the nearest place", d)
	}
}

func first(a, _ []spot) []spot { return a }

// TestPenetration: a ball 0.4 mm into the top leaves less than nothing.
func TestPenetration(t *testing.T) {
	s := facing(t, shape.Joined(shape.Ball(geom.V(0, 0, 4-0.4+2), 2, 0.08), shape.Inverted(shape.Plate(5.5, 7, 0.5))))
	got := take(t, occlusal(t, s), "preparation.clearance.occlusal").Value
	if want := math.Hypot(math.Sqrt(leastArea/math.Pi), 1.6) - 2; !near(got, want, 0.01) {
		t.Errorf("clearance = %.4f, want %.4f", got, want)
	}
}

// TestNotCovered: a reading is not made from a corner of the surface.
func TestNotCovered(t *testing.T) {
	far := shape.Plate(5.3, 0.5, 0.5).Move(geom.Rigid{R: geom.Identity(), T: geom.V(11.5, 0, 0)})
	for _, r := range occlusal(t, facing(t, shape.Inverted(far))) {
		if r.Measured() {
			t.Errorf("%s = %v without an opposing surface above it", r.ID, r.Value)
		}
	}
}

// TestReduction: before the preparation the tooth was a like body 2 mm outside
// of the wall and 1.95 mm above the top. Over the top the distance is 1.95 and
// from the rim more; from the wall, whose outline is parallel, it is 2 cos T.
// The ledge, which is nearer to the old surface, is no axial wall.
func TestReduction(t *testing.T) {
	s := facing(t, shape.Inverted(shape.Plate(5.3, 7, 0.5)))
	before := flatTop
	before.Radius, before.Height, before.Width, before.Rim = flatTop.Radius-flatTop.Width+2, 5.95, 0, 0
	s.Before = NewSurface(shape.Lathe(shape.Round(before.Path()), 0.1, 2).Move(anywhere(14).move))
	ring := shape.Lathe(func(float64) shape.Path { return shape.Path{{R: 8, Z: 3}, {R: 12, Z: 3}} }, 0.5, 1).Move(anywhere(14).move)
	s.Before = NewSurface(shape.Joined(s.Before.Mesh, ring))
	s.Prepared = NewSurface(shape.Joined(s.Prepared.Mesh, ring))
	rs := occlusal(t, s)
	if got := take(t, rs, "preparation.reduction.occlusal").Value; !near(got, 1.95, 0.02) {
		t.Errorf("occlusal reduction = %.4f, want 1.95", got)
	}
	want := 2 * math.Cos(6*math.Pi/180)
	if got := take(t, rs, "preparation.reduction.axial").Value; !near(got, want, 0.02) {
		t.Errorf("axial reduction = %.4f, want %.4f", got, want)
	}
}

// TestHalve: the longest edge is named first, the order of corners is kept.
func TestHalve(t *testing.T) {
	a, b, c := geom.V(0, 0, 0), geom.V(1, 0, 0), geom.V(0, 2, 0)
	for _, in := range [][3]geom.Vec{{a, b, c}, {b, c, a}, {c, a, b}} {
		x, y, z, mid, long := halve(in[0], in[1], in[2])
		if x != b || y != c || z != a || mid != geom.V(0.5, 1, 0) || !long {
			t.Errorf("halve(%v) = %v %v %v %v %v", in, x, y, z, mid, long)
		}
	}
}

// TestZones: functional cusps are buccal (azimuth 0 to 180) in the lower jaw
// and lingual in the upper one (common practice), the fossa within 0.45 of the
// line angle's reach.
func TestZones(t *testing.T) {
	for _, c := range []struct {
		upper   bool
		azimuth float64
		share   float64
		want    string
	}{
		{false, 90, 0.8, reading.FunctionalCusps}, {false, 270, 0.8, reading.OtherCusps},
		{true, 90, 0.8, reading.OtherCusps}, {true, 270, 0.8, reading.FunctionalCusps},
		{false, 90, 0.44, reading.Fossa}, {true, 270, 0.46, reading.FunctionalCusps},
	} {
		s := Site{Posterior: true, Mesial: true, FunctionalLingual: c.upper}
		z := s.zoned(c.azimuth, 4*c.share, 4)
		for _, zone := range reading.Zones {
			if z.in(zone, 0) != (zone == c.want) {
				t.Errorf("azimuth %v, share %v, upper %v: in %s is %v", c.azimuth, c.share, c.upper, zone, z.in(zone, 0))
			}
		}
	}
}
