package measure

import (
	"context"
	"math"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/reading"
)

// A ball of radius 3 presses h deep into a level top that is 1 mm thick: h is
// to come off, over the disc that the ball cuts out of the plane, of radius
// sqrt(2 r h - h^2) (closed form), and 1 - h is left.
func TestTakeOff(t *testing.T) {
	b := turned(0)
	top := b.Height + b.Cement + b.Top
	for i, h := range []float64{0.04, 0.1, -0.03} {
		p := anywhere(uint64(40 + i))
		c := mustCrown(t, p, shape.Lathe(turnedPath, 0.1, 5))
		c.Settings.Made = true
		c.Opposing = NewSurface(shape.Ball(geom.V(1.2, 0.7, top+3-h), 3, 0.1).Move(p.move))
		r, err := c.occlusalContact(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		off, heavy := r.Sub(reading.TakeOff)
		if heavy != (h > 0) {
			t.Errorf("pressing %g: to take off %v", h, heavy)
		}
		if !heavy {
			continue
		}
		left, _ := r.Sub(reading.ThicknessLeft)
		area, _ := r.Sub("area to take off")
		if !near(off.Value, h, 0.01) || !near(left.Value, b.Top-h, 0.02) {
			t.Errorf("pressing %g: take off %.4f, left %.4f, want %.4f and %.4f", h, off.Value, left.Value, h, b.Top-h)
		}
		if want := math.Pi * (6*h - h*h); !near(area.Value, want, 0.1*want) { // facets of 0.1 mm against a disc of 0.5 to 0.8 mm
			t.Errorf("pressing %g: area %.3f, want %.3f", h, area.Value, want)
		}
		c.Settings.Made = false
		if r, err := c.occlusalContact(context.Background()); err != nil {
			t.Fatal(err)
		} else if _, said := r.Sub(reading.TakeOff); said {
			t.Error("a design is told to be ground")
		}
	}
}
