package measure

import (
	"math"
	"testing"

	"crownassay/internal/shape"
)

// TestLineAngleRadius: a rim of known radius. Without a published accuracy for
// it, a tenth of the radius is asked and, for the sharp one, the half of the
// arc that the turning is fitted over (edgeHalf) puts a floor of 0.03 mm.
func TestLineAngleRadius(t *testing.T) {
	for _, rim := range []float64{0.2, 0.5, 1.0} {
		p := shape.Prep{Radius: 5, Width: 1, Height: 4.5, Taper: 6, Rim: rim, Root: 10, Deep: 2}
		a := anywhere(11)
		a.exact = true
		s := a.site(t, shape.Lathe(shape.Round(p.Path()), 0.08, 1))
		r := s.lineAngle()
		if !near(r.Value, rim, max(0.03, 0.1*rim)) {
			t.Errorf("rim %.1f: radius = %.3f", rim, r.Value)
		}
		_, x, z := a.frame().Cylinder(r.At.Point)
		if c := p.Center(); !near(math.Hypot(x-c.R, z-c.Z), rim, 0.03) {
			t.Errorf("rim %.1f: found at (%.3f, %.3f), which is not on the rim about %v", rim, x, z, c)
		}
	}
}

// TestSharpRim: an edge without radius is read as small as the facets allow,
// and the note says so.
func TestSharpRim(t *testing.T) {
	p := shape.Prep{Radius: 5, Width: 1, Height: 4, Taper: 6, Root: 10, Deep: 2}
	a := anywhere(12)
	a.exact = true
	r := a.site(t, shape.Lathe(shape.Round(p.Path()), 0.08, 1)).lineAngle()
	if r.Value > 0.12 || r.Note == "" {
		t.Errorf("sharp rim: radius = %.3f, note %q", r.Value, r.Note)
	}
}
