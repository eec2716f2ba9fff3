package measure

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"crownassay/finishline"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/reading"
)

// die is the preparation under the turned crowns.
var die = shape.Prep{Radius: 4.6, Width: 0.8, Height: 4.4, Taper: 6, Rim: 0.4, Root: 6, Deep: 2}

// turned is a crown over the die with a gap and an overhang that change with
// azimuth.
func turned(azimuth float64) shape.Crown {
	s, c := math.Sincos(azimuth * math.Pi / 180)
	return shape.Crown{Prep: die, Cement: 0.07, Gap: 0.06 + 0.02*s, Overhang: 0.08 * c, Emergence: 15 + 10*s, Length: 2.2, Top: 1}
}

func turnedPath(a float64) shape.Path { return turned(a).Path() }

// crownOver puts die and crown in a pose.
func (p posed) crownOver(t testing.TB, body *mesh.Mesh) (*Crown, error) {
	t.Helper()
	s := p.site(t, shape.Lathe(shape.Round(die.Path()), 0.1, 3))
	return NewCrown(context.Background(), s, body.Move(p.move))
}

func mustCrown(t testing.TB, p posed, body *mesh.Mesh) *Crown {
	t.Helper()
	c, err := p.crownOver(t, body)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func crownReadings(t testing.TB, c *Crown) []reading.Reading {
	t.Helper()
	ctx := context.Background()
	rs, err := c.Thickness(ctx)
	if err != nil {
		t.Fatal(err)
	}
	fit, err := c.Fit(ctx)
	if err != nil {
		t.Fatal(err)
	}
	return append(append(rs, fit...), c.Contour()...)
}

// The crown is turned from straight lines, so every reading follows from its
// numbers. Gaps and overhang are asked to 10 um, thickness to 20 um, emergence
// to 1 degree.
func TestTurnedCrown(t *testing.T) {
	for _, seed := range []uint64{2, 5} {
		p := anywhere(seed)
		c := mustCrown(t, p, shape.Lathe(turnedPath, 0.1, seed))
		rs := crownReadings(t, c)
		var gap, disc float64
		for k := range 360 {
			b := turned(float64(k))
			g := math.Hypot(b.Gap, math.Min(0, b.Overhang))
			gap += g / 360
			disc = math.Max(disc, math.Hypot(b.Gap, b.Overhang))
		}
		for _, w := range []struct {
			id        reading.ID
			want, tol float64
		}{
			{"crown.thickness.occlusal", 1, 0.02},
			{"crown.fit.marginal_gap.mean", gap, 0.01},
			{"crown.fit.discrepancy.max", disc, 0.01},
			{"crown.fit.internal.mean", 0.07, 0.01},
			{"crown.fit.interference", 0, 0},
			{"crown.contour.overhang.max", 0.08, 0.01},
			{"crown.contour.overhang.min", -0.08, 0.01},
			{"crown.contour.emergence.max", 25, 1},
			{"crown.contour.bulge.max", 2.2 * math.Sin(25*math.Pi/180), 0.01},
		} {
			if got := take(t, rs, w.id); !near(got.Value, w.want, w.tol) {
				t.Errorf("seed %d: %s = %.4f, want %.4f", seed, w.id, got.Value, w.want)
			}
		}
		worst := 0.0
		for k := range finishline.Sections {
			b := turned(p.hand * float64(k))
			worst = math.Max(worst, math.Abs(c.EdgeR[k]-b.Margin().R))
			worst = math.Max(worst, math.Abs(c.EdgeZ[k]-b.Margin().Z))
		}
		if worst > 0.02 {
			t.Errorf("seed %d: margin edge off by %.4f", seed, worst)
		}
	}
}

// Nested cylinders: the thickness between them is the difference of radii.
func TestNestedCylinders(t *testing.T) {
	straight := die
	straight.Taper, straight.Width = 1e-9, 0.4
	body := shape.Crown{Prep: straight, Cement: 0.05, Gap: 0.05, Length: 4, Top: 1, Emergence: 1e-9}
	p := posed{move: anywhere(4).move, hand: 1, exact: true}
	s := p.site(t, shape.Lathe(shape.Round(straight.Path()), 0.1, 3))
	c, err := NewCrown(context.Background(), s, shape.Lathe(shape.Round(body.Path()), 0.1, 1).Move(p.move))
	if err != nil {
		t.Fatal(err)
	}
	got := take(t, crownReadings(t, c), "crown.thickness.axial")
	if want := body.Radius - body.CavityAt(2); !near(got.Value, want, 0.01) {
		t.Errorf("axial thickness %.4f, want %.4f", got.Value, want)
	}
}

// The labels part the shell by area as the numbers say, whatever its facets.
func TestSplitArea(t *testing.T) {
	c := mustCrown(t, anywhere(6), shape.Lathe(turnedPath, 0.15, 8))
	whole := c.Shell.Mesh.Area()
	if sum := c.Cameo.Mesh.Area() + c.Intaglio.Mesh.Area(); !near(sum, whole, 1e-9*whole) {
		t.Errorf("areas %g and %g", sum, whole)
	}
	// the rim and ledge, the cavity wall and roof, by Pappus' rule
	want, n := 0.0, 720
	for k := range n {
		p := turned(float64(k) / 2).Path()
		for i := 4; i < len(p); i++ {
			a, b := p[i-1], p[i]
			want += math.Pi / float64(n) * (a.R + b.R) * a.Dist(b)
		}
	}
	if got := c.Intaglio.Mesh.Area(); !near(got, want, 0.01*want) {
		t.Errorf("intaglio %g mm2, want %g", got, want)
	}
}

// What is no crown of this preparation is refused in words.
func TestNoCrown(t *testing.T) {
	p := anywhere(3)
	good := shape.Lathe(turnedPath, 0.15, 8)
	block := func(float64) shape.Path {
		return shape.Path{{R: 0, Z: 6}, {R: 5, Z: 6}, {R: 4.7, Z: 0}, {R: 0, Z: 0.1}}
	}
	flip := shape.Pose(rand.New(rand.NewPCG(1, 1)))
	flip.R, flip.T = [3][3]float64{{1, 0, 0}, {0, -1, 0}, {0, 0, -1}}, p.move.T.Sub(p.move.T)
	flip.T.Z = 5
	far := flip
	far.R = [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	far.T.X = 22
	beside := far
	beside.T.X, beside.T.Z = 9, 0
	for _, w := range []struct {
		name string
		body *mesh.Mesh
		want string
	}{
		{"block", shape.Lathe(block, 0.2, 1), "solid block"},
		{"upside down", good.Move(flip), "upside down"},
		{"elsewhere", good.Move(far), "another tooth"},
		{"beside", good.Move(beside), "another"},
	} {
		_, err := p.crownOver(t, w.body)
		var no *CrownError
		if !errors.As(err, &no) || !strings.Contains(err.Error(), w.want) {
			t.Errorf("%s: %v", w.name, err)
		}
	}
}

// An outer surface alone has contour, but no thickness and no fit.
func TestOuterSurfaceOnly(t *testing.T) {
	outer := func(a float64) shape.Path { return turned(a).Path()[:4] }
	c := mustCrown(t, anywhere(7), shape.Lathe(outer, 0.1, 2))
	if !c.Open {
		t.Fatal("taken for a closed shell")
	}
	rs := crownReadings(t, c)
	if got := take(t, rs, "crown.contour.overhang.max"); !near(got.Value, 0.08, 0.01) {
		t.Errorf("overhang %.4f", got.Value)
	}
	for _, r := range rs {
		if strings.HasPrefix(string(r.ID), "crown.fit") || strings.HasPrefix(string(r.ID), "crown.thickness") {
			if r.Measured() || !strings.Contains(r.Reason, outerOnly) {
				t.Errorf("%s: %+v", r.ID, r)
			}
		}
	}
}
