package measure

import (
	"context"
	"math"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/internal/shape"
	"crownassay/reading"
)

// seating makes the reading of a crown.
func seating(t *testing.T, c *Crown) reading.Reading {
	t.Helper()
	rs, err := c.Seating(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return rs[0]
}

// over puts a turned crown over a turned die.
func over(t *testing.T, p posed, under, crown shape.Path) *Crown {
	t.Helper()
	s := p.site(t, shape.Lathe(shape.Round(under), 0.1, 3))
	c, err := NewCrown(context.Background(), s, shape.Lathe(shape.Round(crown), 0.1, 4).Move(p.move))
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// A cavity at an even distance from a tapered wall is nearest at its seat, and
// by that distance.
func TestSeatingFree(t *testing.T) {
	for i, cement := range []float64{0.07, 0.03, -0.02} {
		b := sharp
		b.Cement = cement
		r := seating(t, over(t, anywhere(uint64(50+i)), b.Prep.Path(), b.Path()))
		if !near(r.Value, cement, 0.01) || len(r.Subs) < 2 || r.Subs[1].Value != 0 {
			t.Errorf("space %g read as %.4f, %+v", cement, r.Value, r.Subs)
		}
		// walls, roof and margin: the crown rests on its margin, 0.06 mm down, or on what is nearer
		if down := r.Subs[len(r.Subs)-2]; down.Name != "settles by" || cement > 0 && !near(down.Value, math.Min(cement, sharp.Gap), 0.01) || !strings.Contains(r.Note, "let free") {
			t.Errorf("space %g: %+v, %q", cement, down, r.Note)
		}
		if (r.OwnLimit != nil) != (cement < 0) {
			t.Errorf("space %g: limit %+v", cement, r.OwnLimit)
		}
	}
}

// ridge is how deep a point lies that is d inside the crest of a ridge, at any
// height: the slopes lean by l below the crest and by u above it (radians),
// and where both are equally far it is deepest, d cos u - s sin u with
// s = d (cos u - cos l) / (sin u + sin l) above the crest (geometry).
func ridge(d, l, u float64) float64 {
	s := d * (math.Cos(u) - math.Cos(l)) / (math.Sin(u) + math.Sin(l))
	return d*math.Cos(u) - s*math.Sin(u)
}

// A barrel-shaped die, widest at height 2.5, and a cavity that follows it 0.07
// mm away: the crown's inner edge has to pass the widest place, d wider than
// itself, between slopes that lean by atan(0.1/2.5) and atan(0.7/1.9).
func TestSeatingBinds(t *testing.T) {
	const gap, cement, mid = 0.06, 0.07, 2.5
	bulge := 0.1
	under := shape.Path{{R: 0, Z: 4.4}, {R: 3.2, Z: 4.4}, {R: 3.8 + bulge, Z: mid}, {R: 3.8, Z: 0}, {R: 4.6, Z: 0}, {R: 4.4, Z: -2}}
	lean := math.Atan(bulge / mid)
	inner := func(z float64) float64 { return 3.8 + bulge*z/mid + cement/math.Cos(lean) }
	crown := shape.Path{{R: 0, Z: 5.6}, {R: 4.9, Z: 5.6}, {R: 5.2, Z: 2}, {R: 4.6, Z: gap}, {R: inner(gap), Z: gap}, {R: inner(mid), Z: mid}, {R: 3.2 + 0.12, Z: 4.47}, {R: 0, Z: 4.47}}
	p := anywhere(61)
	p.exact = true
	r := seating(t, over(t, p, under, crown))
	d := 3.8 + bulge - inner(gap)
	deep := ridge(d, lean, math.Atan((0.6+bulge)/(4.4-mid)))
	if d <= 0 || !near(r.Value, -deep, 0.01) || !near(r.Subs[1].Value, mid-gap, 0.05) || !strings.Contains(r.Note, "binds on the walls of the preparation") {
		t.Errorf("%.4f at %.3f above the seat, %q, want %.4f at %.3f", r.Value, r.Subs[1].Value, r.Note, -deep, mid-gap)
	}
}

// The widest ring of a crown passes a ball whose middle lies higher: nearest
// where both are level, by the distance of the ball's middle from the ring's
// cylinder less its radius, negative when the ring enters the ball.
func TestSeatingPassesNeighbour(t *testing.T) {
	p := posed{move: anywhere(62).move, hand: 1}
	c := over(t, p, sharp.Prep.Path(), sharp.Path())
	wide := sharp.Contour()
	for _, d := range []float64{-0.15, -0.05, 0, 0.03} {
		const radius, level = 4.0, 3.6
		ball := shape.Ball(geom.V(wide.R+radius+d, 0, level), radius, 0.12).Move(p.move)
		o := c.toothObstacle(context.Background(), "neighbour", 0, NewSurface(ball))
		got, ok, err := c.passes(context.Background(), &o)
		if err != nil || !ok || !near(got.dist, d, 0.01) || !near(got.above, level-wide.Z, 0.3) {
			t.Errorf("%+v, %v, want %.4f at %.2f", got, err, d, level-wide.Z)
		}
		if !(got.dist < got.seated) {
			t.Errorf("%g: no nearer on the way, %.4f, than at the seat, %.4f", d, got.dist, got.seated)
		}
	}
}
