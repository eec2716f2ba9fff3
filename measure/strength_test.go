package measure

import (
	"context"
	"math"
	"strings"
	"testing"

	"crownassay/internal/shape"
	"crownassay/reading"
)

// Loads of the formula with Es 18 GPa: zirconia (210 GPa, 1200 MPa) and
// lithium disilicate (95 GPa, 480 MPa) 0.5, 1.0 and 1.5 mm thick, computed
// outside this program from the published form; glass-infiltrated alumina
// (274, 548) of 0.155 mm on 2.35 GPa: 12.7 N by the formula, where 15.1 N were
// measured (Lawn, Deng, Lloyd et al. 2002, J Dent Res 81:433, read).
func TestRadialLoad(t *testing.T) {
	for _, c := range []struct{ t, s, ec, es, want, tol float64 }{
		{0.5, 1200, 210, 18, 562, 0.5}, {1, 1200, 210, 18, 2249, 0.5}, {1.5, 1200, 210, 18, 5061, 0.5},
		{0.5, 480, 95, 18, 332, 0.5}, {1, 480, 95, 18, 1329, 0.5}, {1.5, 480, 95, 18, 2990, 0.5},
		{0.155, 548, 274, 2.35, 12.7, 0.05},
	} {
		if p, ok := RadialLoad(c.t, c.s, c.ec, c.es); !ok || !near(p, c.want, c.tol) {
			t.Errorf("RadialLoad(%g, %g, %g, %g) = %.2f, %v, want %g", c.t, c.s, c.ec, c.es, p, ok, c.want)
		}
	}
	measured := 15.1
	if p, _ := RadialLoad(0.155, 548, 274, 2.35); math.Abs(p-measured) > crackSpread*measured {
		t.Errorf("%.1f N is farther from the measured %g N than the formula's uncertainty says", p, measured)
	}
	if p, ok := RadialLoad(1, 159, 30, 18); ok { // resin-infiltrated ceramic: Ec/Es 1.7
		t.Errorf("outside its range the formula gives %g N", p)
	}
}

// The turned crown is 1 mm thick over its level top.
func TestStrength(t *testing.T) {
	c := mustCrown(t, anywhere(2), shape.Lathe(turnedPath, 0.12, 1))
	for _, w := range []struct {
		s    CrownSettings
		load float64
		says string
	}{
		{CrownSettings{Material: "3Y zirconia", Modulus: 210, Strength: 1200}, 2249, "more than the bite of both sides together (738 +- 209 N)"},
		{CrownSettings{Material: "feldspathic ceramic", Modulus: 72, Strength: 122}, 405, "even women (425 N) bite harder"},
		{CrownSettings{Modulus: 65, Strength: 160}, 574, "more than the bite of women (425 N), less than that of men (587 N)"},
		{CrownSettings{Material: "resin-infiltrated ceramic", Modulus: 30, Strength: 159}, 0, "resin-infiltrated ceramic is only 1.7 times as stiff as dentin; the formula holds from 3 times on"},
		{CrownSettings{Material: "cast metal"}, 0, "no modulus and strength for cast metal"},
	} {
		c.Settings = w.s
		rs, err := c.Strength(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		r := rs[0]
		// 20 um of 1 mm count twice in t^2: 4 %
		if !near(r.Value, w.load, 0.04*w.load) || !strings.Contains(r.Note+r.Reason, w.says) {
			t.Errorf("%+v: %.0f N, %q %q, want %.0f and %q", w.s, r.Value, r.Note, r.Reason, w.load, w.says)
		}
	}
}

// Loads of the table's order: what cracks first is the thinnest place.
func TestStrengthAtThinnest(t *testing.T) {
	path := func(a float64) shape.Path {
		b := turned(a)
		b.Top = 1.2 + 0.2*math.Cos(a*math.Pi/180)
		p := b.Path()
		p[0].Z = b.Height + b.Cement + 1.2
		return p
	}
	c := mustCrown(t, posed{move: anywhere(3).move, hand: 1}, shape.Lathe(path, 0.12, 1))
	c.Settings = CrownSettings{Modulus: 210, Strength: 800}
	rs, err := c.Strength(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	thick, err := c.Thickness(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	least := take(t, thick, "crown.thickness.occlusal")
	want, _ := RadialLoad(least.Value, 800, 210, 18)
	if r := rs[0]; r.At == nil || math.Abs(r.At.Azimuth-180) > 30 || !near(r.Value, want, 1e-9*want) || reading.Sector(r.At.Azimuth) != "D" {
		t.Errorf("%+v, want %g N at 180", r, want)
	}
}
