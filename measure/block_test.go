package measure

import (
	"context"
	"math"
	"strings"
	"testing"

	"crownassay/finishline"
	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/mesh"
)

// brick is a box of 10 by 8 by 6 mm in a pose, turned about the axis.
func brick(p posed, turn float64) *Crown {
	m := &mesh.Mesh{F: [][3]int32{{0, 1, 2}, {5, 6, 7}, {3, 4, 0}}}
	spin := geom.RotationAbout(geom.V(0, 0, 1), turn*math.Pi/180)
	for i := range 8 {
		at := func(bit int, size float64) float64 { return size * (float64(i>>bit&1) - 0.5) }
		m.V = append(m.V, p.move.Apply(spin.Apply(geom.V(at(0, 10), at(1, 8), at(2, 6)))))
	}
	return &Crown{Site: &Site{Found: &finishline.Found{Frame: p.frame()}}, Shell: &Surface{Mesh: m}}
}

// A box needs its own edges and no less, whatever its turn: the widths of a
// box turned by t are a cos t + b sin t, smallest where it is square to the
// block (geometry). Enlarged for 20 % shrinkage it needs 1.25 times as much
// (Materials 2025, 18:3217, read).
func TestBoxInBlock(t *testing.T) {
	b := Block{"b", 14, 9, 8, 2}
	for turn := range 90 {
		p := anywhere(uint64(turn))
		c := brick(p, float64(turn))
		size := c.sizes()
		if f := size.in(b, nil); !near(f.spare, 1, 0.01) || !near(f.length, 10, 0.01) || !near(f.width, 8, 0.01) || !near(size.height, 6, 1e-9) {
			t.Fatalf("turned by %d: %+v", turn, f)
		}
		c.Settings.Shrinkage = 0.2
		size = c.sizes()
		if f := size.in(b, nil); !near(f.spare, 9-10, 0.02) || !near(size.height, 7.5, 1e-9) {
			t.Fatalf("enlarged, turned by %d: %+v", turn, f)
		}
	}
}

// With the sprue held at azimuths of 40 degrees and more the box stands
// askew: 10 cos 40 + 8 sin 40 = 12.80 long, 10 sin 40 + 8 cos 40 = 12.56 wide.
func TestSprueHoldsTheTurn(t *testing.T) {
	c := brick(posed{move: geom.Still(), hand: 1}, 0)
	size := c.sizes()
	f := size.in(Block{"b", 20, 15, 8, 2}, func(k int) bool { return k >= 40 && k <= 50 })
	w := func(t float64) float64 { return 10*math.Sin(t*math.Pi/180) + 8*math.Cos(t*math.Pi/180) }
	if want := 15 - w(40); !near(f.spare, min(want, 2), 0.01) || !near(f.width, w(f.azimuth), 0.01) {
		t.Errorf("%+v, want %g to spare", f, want)
	}
}

// The turned crown reaches from its lowest margin to its level top, which
// leaves it least to spare in the height of the medium block; the small block
// is too narrow.
func TestBlank(t *testing.T) {
	c := mustCrown(t, anywhere(2), shape.Lathe(turnedPath, 0.15, 1))
	c.Settings.Blocks = []Block{{"small", 11, 11, 7, 2}, {"medium", 16, 12, 7, 2}, {"large", 18, 14, 12, 2}}
	rs, err := c.Blank(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	top, low := turned(0).Height+turned(0).Cement+turned(0).Top, turned(-90).Gap
	want := 7 - (top - low)
	r := rs[0]
	if !near(r.Value, want, 0.01) || !strings.HasPrefix(r.Note, "medium, 16 long, 12 wide and 7 high") || len(r.Subs) != 1 {
		t.Errorf("%+v, want %.3f to spare in the medium block", r, want)
	}
	c.Settings.Blocks = c.Settings.Blocks[:1]
	if rs, err = c.Blank(context.Background()); err != nil || rs[0].Value >= 0 {
		t.Errorf("in the small block: %+v, %v", rs, err)
	}
}

// A tooth that touches the crown's slope at azimuth 90 keeps the sprue away
// by 1.5 mm and the patch within 0.1 mm, sqrt(2 r 0.1) wide for two surfaces
// of relative radius r; opposite to it the sprue may sit.
func TestSpruePlaces(t *testing.T) {
	p := posed{move: anywhere(8).move, hand: 1}
	c := mustCrown(t, p, shape.Lathe(turnedPath, 0.12, 1))
	b := turned(90)
	touch := b.Contour().To(shape.Point{R: b.Contour().R - 0.3, Z: b.Height + b.Cement + b.Top}, 0.4)
	const radius = 3.0
	c.Opposing = NewSurface(shape.Ball(geom.V(0, touch.R+radius, touch.Z), radius, 0.2).Move(p.move))
	room, err := c.sprueSpan(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	reach := 1.5 / touch.R * 180 / math.Pi
	patch := math.Sqrt(2*0.1/(1/radius+1/touch.R)) / touch.R * 180 / math.Pi
	for k := range finishline.Sections {
		off := math.Abs(float64(k) - 90)
		if !room.may(k) && math.Min(off, 360-off) > reach+patch+6 {
			t.Errorf("no sprue at %d", k)
		}
		if room.may(k) && (room.low[k] < room.edge[k]+1.5 || room.high[k] > 4.4) {
			t.Errorf("sprue at %d from %.2f to %.2f", k, room.low[k], room.high[k])
		}
		if q := c.Frame.At(float64(k), room.r[k], room.middle(k)); room.may(k) && q.Dist(p.move.Apply(geom.V(0, touch.R, touch.Z))) < 1.45 {
			t.Errorf("sprue at %d in the contact", k)
		}
	}
	if w := room.words(true); !strings.HasPrefix(w, "The sprue may sit at azimuth ") {
		t.Error(w)
	}
}
