package phantom

import (
	"context"
	"math"
	"testing"
)

func build(t *testing.T, spec Spec) *Case {
	t.Helper()
	c, err := Build(context.Background(), spec)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Every defect shows in the truth as what it was asked to be.
func TestDefectsAreWhatWasAsked(t *testing.T) {
	spec := func(tooth string, d ...Defect) Spec {
		return Spec{Tooth: tooth, Triangles: 30000, Seed: 4, Defects: d}
	}
	c := build(t, spec("46", Defect{Kind: ShortClearance, Azimuth: 230, Amount: 0.62}))
	within(t, "short clearance", c.Truth.Readings["preparation.clearance.occlusal"], 0.62, 0.003)
	within(t, "and its zone", c.Truth.Zones["other cusps"], 0.62, 0.003)
	c = build(t, spec("16", Defect{Kind: NarrowFinish, Azimuth: 90, Amount: 0.3}))
	within(t, "narrow finish line", c.Truth.Readings["finish_line.width.min"], 0.3, 0.02)
	c = build(t, spec("24", Defect{Kind: SharpLineAngle}))
	within(t, "sharp line angle", c.Truth.Readings["preparation.line_angle.radius"], 0.05, 0.015)
	c = build(t, spec("36", Defect{Kind: WideTaper, Amount: 30}))
	within(t, "wide taper", c.Truth.Readings["preparation.convergence.mean"], 30, 0.3)
	c = build(t, spec("36", Defect{Kind: UndercutDent, Azimuth: 10, Amount: 0.5}, Defect{Kind: UndercutDent, Azimuth: 190, Amount: 0.5}))
	if d := c.Truth.Readings["preparation.undercut.depth"]; d < 0.05 || d > 0.5 {
		t.Errorf("undercut depth %g, want something between 0.05 and the dent's 0.5", d)
	}
	c = build(t, spec("46", Defect{Kind: MissingFinish, Azimuth: 200}, Defect{Kind: Hole, Azimuth: 90}))
	if len(c.Truth.Holes) != 2 || c.Truth.Holes[1].Area < 0.3 || c.Truth.Holes[1].Area > 1.6 {
		t.Errorf("holes %+v, want two, the second of about 0.8 mm^2", c.Truth.Holes)
	}
	if b, want := loops(c), 3; b != want {
		t.Errorf("border loops = %d, want %d: the scan's edge and two holes", b, want)
	}
}

// loops counts the border loops of the prepared surface.
func loops(c *Case) int {
	e := edges(c.Prepared)
	next := map[int32]int32{}
	for k := range e {
		if e[[2]int32{k[1], k[0]}] == 0 {
			next[k[0]] = k[1]
		}
	}
	n := 0
	for len(next) > 0 {
		for k := range next {
			for at, ok := k, true; ok; {
				to, more := next[at]
				delete(next, at)
				at, ok = to, more
			}
			break
		}
		n++
	}
	return n
}

// A hollow of depth D, bump cos^2 over 0.6 of a wall of length L and
// inclination T, is undercut by what is left of it after the taper: the
// largest rise of r over a fall of z on the closed-form profile.
func TestUndercutDepthOfDent(t *testing.T) {
	p := round(4*degree, 1, 4)
	p.dents = []dent{{0, 1, 0.5}}
	s := surveyOf(t, p)
	q := p.section(0)
	lo, hi := q.end[segFillet], q.end[segWall]
	top, want := math.Inf(-1), 0.0
	for i := range 100001 {
		v := float64(i) / 100000
		c := math.Cos(math.Pi / 2 * math.Min(1, math.Abs(v-0.5)/0.3))
		r := hi.r + v*(lo.r-hi.r) - 0.5*c*c
		top = math.Max(top, r)
		want = math.Max(want, top-r)
	}
	// The placement axis leans to free what it can, so the depth about the
	// construction axis is the check here.
	s.axis.X, s.axis.Y, s.axis.Z = 0, 0, 1
	s.m.X, s.m.Y, s.m.Z = 1, 0, 0
	s.b = s.axis.Cross(s.m)
	c := s.cut(0)
	within(t, "undercut depth", c.undercut, want, 1e-3)
}

// Opposing teeth touch the neighbours and go no deeper than 0.03 mm; over the
// preparation nothing touches.
func TestBite(t *testing.T) {
	for _, tooth := range []string{"46", "16", "11", "24"} {
		c := build(t, Spec{Tooth: tooth, Triangles: 40000, Seed: 2})
		deepest, touching := 0.0, 0
		for _, th := range c.model.opposing.teeth {
			n := th.sheet.(*natural)
			for i, at := range th.at {
				if at.q > n.crownQ {
					continue
				}
				p := c.Opposing.V[th.first+i]
				v := math.Inf(1)
				for _, low := range c.model.prepared.teeth {
					if low != c.model.target {
						v = math.Min(v, low.crown.level(low.frame.toTooth(p)))
					}
				}
				deepest = math.Min(deepest, v)
				if v < 0.02 {
					touching++
				}
			}
		}
		t.Logf("%s: deepest %.4f, %d vertices touch", tooth, deepest, touching)
		if deepest < -0.03 {
			t.Errorf("%s: opposing arch goes %g deep", tooth, -deepest)
		}
		if touching < 20 && tooth != "11" {
			t.Errorf("%s: %d opposing vertices touch, want some contact", tooth, touching)
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, s := range []Spec{{Tooth: "18"}, {Tooth: "55"}, {Tooth: "x"}, {Defects: []Defect{{Kind: "nothing"}}}} {
		if _, err := Build(context.Background(), s); err == nil {
			t.Errorf("Build(%+v) gave no error", s)
		}
	}
}
