package measure

import (
	"context"
	"math"
	"strings"
	"testing"

	"crownassay/internal/shape"
	"crownassay/reading"
)

// sharp is a die with a rim of 0.05 mm radius and a crown with an even space of
// 0.07 mm over it.
var sharp = func() shape.Crown {
	d := die
	d.Rim = 0.05
	return shape.Crown{Prep: d, Cement: 0.07, Gap: 0.06, Emergence: 15, Length: 2.2, Top: 1}
}()

// toolLeft measures a turned crown over its die with a tool.
func toolLeft(t *testing.T, p posed, b shape.Crown, radius float64) reading.Reading {
	t.Helper()
	s := p.site(t, shape.Lathe(shape.Round(b.Prep.Path()), 0.1, 3))
	c, err := NewCrown(context.Background(), s, shape.Lathe(shape.Round(b.Path()), 0.1, 4).Move(p.move))
	if err != nil {
		t.Fatal(err)
	}
	c.Settings.ToolRadius = radius
	rs, err := c.Tool(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return rs[0]
}

// Wall and roof of the cavity meet at 90 degrees and the taper of 6, rounded
// with radius 0.05 + 0.07: left is (r - 0.12)(1/sin 48 - 1). The rim of the
// preparation lies 0.07 mm farther in, where the ball's arc is the same: it
// stands in what is left by that less 0.07 (geometry). To 10 um.
func TestToolLeft(t *testing.T) {
	k := 1/math.Sin(48*math.Pi/180) - 1
	for i, w := range []struct {
		radius float64
		seats  bool
		says   string
	}{
		{0.3, true, "a tool of 0.3 mm radius; the space between crown and preparation takes it up"},
		{0.5, false, "the crown would not seat"},
		{1, false, "the crown would not seat"},
	} {
		r := toolLeft(t, anywhere(uint64(40+i)), sharp, w.radius)
		left := (w.radius - 0.12) * k
		into := left - 0.07
		if !near(r.Value, left, 0.01) || len(r.Subs) != 1 || !near(r.Subs[0].Value, into, 0.01) {
			t.Errorf("tool %g: %.4f left, %+v into the preparation, want %.4f and %.4f", w.radius, r.Value, r.Subs, left, into)
			continue
		}
		if r.OwnLimit == nil || r.OwnLimit.Max == nil || (r.Value <= *r.OwnLimit.Max) != w.seats || !strings.Contains(r.Note, w.says) {
			t.Errorf("tool %g: limit %+v, note %q", w.radius, r.OwnLimit, r.Note)
		}
	}
}

// A rounder rim than the tool leaves nothing; no tool wider than the cavity
// enters it.
func TestToolReachesAll(t *testing.T) {
	b := sharp
	b.Rim = 0.4
	if r := toolLeft(t, anywhere(45), b, 0.3); r.Value > 0.003 || !strings.Contains(r.Note, "reaches the whole cavity") {
		t.Errorf("%+v", r)
	}
	if r := toolLeft(t, anywhere(46), b, 6); r.Measured() && r.Value < 1 {
		t.Errorf("a ball of 6 mm in a cavity of 3.9: %+v", r)
	}
}
