package measure

import (
	"context"
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
)

// settle lets a crown settle that was moved, in the frame of its die, before it
// is split from its cavity.
func settle(t *testing.T, p posed, under, crown shape.Path, off geom.Rigid) Settled {
	t.Helper()
	s := p.site(t, shape.Lathe(shape.Round(under), 0.1, 3))
	c, err := NewCrown(context.Background(), s, shape.Lathe(shape.Round(crown), 0.1, 4).Move(off).Move(p.move))
	if err != nil {
		t.Fatal(err)
	}
	out, ok, err := c.Settle(context.Background())
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	return out
}

// cone is a die and a crown that touch on their tapered walls alone: the
// cavity is wider by space, square to the wall, and its roof and margin lie
// far above.
func cone(taper, space float64) (under, crown shape.Path, gap float64) {
	d := die
	d.Taper, d.Rim, gap = taper, 0.2, 0.4
	b := shape.Crown{Prep: d, Cement: space}
	roof := d.Height + 0.6
	crown = shape.Path{{R: 0, Z: roof + 1}, {R: 4.9, Z: roof + 1}, {R: 5.1, Z: 2.5}, {R: d.Radius, Z: gap}, {R: b.CavityAt(gap), Z: gap}, {R: b.CavityAt(roof), Z: roof}, {R: 0, Z: roof}}
	return d.Path(), crown, gap
}

// A crown with a space g between tapered walls, square to them, goes down by
// g / sin(taper), from where it hangs straight or askew; the space and the
// crown's shift cost or give as much along the axis (geometry). To 10 um.
func TestSettleOnCone(t *testing.T) {
	for i, w := range []struct{ taper, space float64 }{{8, 0.02}, {12, 0.04}, {15, 0.02}, {10, -0.01}} {
		under, crown, gap := cone(w.taper, w.space)
		p := anywhere(uint64(70 + i))
		down := w.space / math.Sin(w.taper*math.Pi/180)
		got := settle(t, p, under, crown, geom.Still())
		if !near(got.Down, down, 0.01) || !near(got.Gap, gap-down, 0.01) || got.Tip > 0.05 {
			t.Errorf("taper %g, space %g: %+v, want %.4f down", w.taper, w.space, got, down)
		}
		off := geom.Rigid{R: geom.RotationAbout(geom.V(0.6, 0.8, 0), 0.3*math.Pi/180), T: geom.V(0.012, -0.01, 0.1)}
		got = settle(t, p, under, crown, off)
		if !near(got.Gap, gap-down, 0.01) || !near(got.Tip, 0.3, 0.06) {
			t.Errorf("taper %g, space %g, askew: %+v, want a gap of %.4f and 0.3 degrees back", w.taper, w.space, got, gap-down)
		}
	}
}

// A crown with an even space stands on its margin, or on its roof where the
// space is less than the gap.
func TestSettleOnMarginAndRoof(t *testing.T) {
	for i, w := range []struct{ cement, gap float64 }{{0.1, 0.06}, {0.05, 0.09}} {
		b := shape.Crown{Prep: die, Cement: w.cement, Gap: w.gap, Emergence: 15, Length: 2.2, Top: 1}
		down := math.Min(w.cement, w.gap)
		got := settle(t, anywhere(uint64(80+i)), die.Path(), b.Path(), geom.Still())
		if !near(got.Down, down, 0.01) || !near(got.Gap, w.gap-down, 0.01) {
			t.Errorf("space %g, gap %g: %+v, want %.3f down", w.cement, w.gap, got, down)
		}
	}
}
