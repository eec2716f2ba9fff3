package measure

import (
	"context"
	"math"
	"math/rand/v2"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
	"crownassay/reading"
)

// under puts opposing over a turned crown, both in a pose, and returns the
// occlusal contact.
func under(t testing.TB, p posed, opposing *mesh.Mesh) reading.Reading {
	t.Helper()
	c := mustCrown(t, p, shape.Lathe(turnedPath, 0.1, 5))
	c.Opposing = NewSurface(opposing.Move(p.move))
	r, err := c.occlusalContact(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// The distance from the crown's level top to a ball is that of its lowest
// point, to 10 um; with 10 um of noise on the ball to 20 um.
func TestOcclusalContactOfBall(t *testing.T) {
	top := turned(0).Height + turned(0).Cement + turned(0).Top
	for i, gap := range []float64{0.2, 0.03, 0, -0.04} {
		p := anywhere(uint64(20 + i))
		ball := shape.Ball(geom.V(1.2, 0.7, top+3+gap), 3, 0.13)
		if r := under(t, p, ball); !near(r.Value, gap, 0.01) {
			t.Errorf("gap %g read as %.4f", gap, r.Value)
		}
		rough := shape.Noisy(ball, 0.01, rand.New(rand.NewPCG(uint64(i), 3)))
		if r := under(t, p, rough); !near(r.Value, gap, 0.02) {
			t.Errorf("gap %g read as %.4f under noise", gap, r.Value)
		}
	}
}

// Two balls make two contacts; the area that a ball pressed h deep has is
// that of its cut, 2 pi R h nearly, seen on the level top: pi (2 R h - h^2).
func TestSeparateContacts(t *testing.T) {
	top := turned(0).Height + turned(0).Cement + turned(0).Top
	const h, R = 0.1, 2.0
	two := shape.Joined(shape.Ball(geom.V(2, 0, top+R-h+contactGap), R, 0.1), shape.Ball(geom.V(-2, 0.3, top+R-h+contactGap), R, 0.1))
	r := under(t, anywhere(31), two)
	if len(r.Subs) != 3 || r.Subs[0].Value != 2 {
		t.Fatalf("contacts %+v", r.Subs)
	}
	// within contactGap of a ball: where the level top lies in the ball of radius R + contactGap
	big := R + contactGap
	want := math.Pi * (big*big - (R-h+contactGap)*(R-h+contactGap))
	for _, s := range r.Subs[1:] {
		if !near(s.Value, want, 0.1*want) {
			t.Errorf("%s: %.3f mm2, want %.3f", s.Name, s.Value, want)
		}
	}
}

// Over a crown far from the opposing teeth nothing is said.
func TestNoContact(t *testing.T) {
	p := anywhere(5)
	if r := under(t, p, shape.Inverted(shape.Plate(14, 7, 0.4))); r.Measured() {
		t.Errorf("measured %+v", r)
	}
}
