package foreign

import (
	"fmt"
	"testing"
)

// usual is a molar's preparation.
func usual() Prep {
	return Prep{A: 4.6, B: 4.2, Width: 0.9, Height: 4, Taper: 6, Rim: 0.3, Fillet: 0.25, Root: 8, Deep: 4}
}

func with(change func(p *Prep)) Prep {
	p := usual()
	change(&p)
	return p
}

// shapes are preparations of many forms.
var shapes = []struct {
	name string
	p    Prep
	near near
}{
	{"usual", usual(), near{}},
	{"round", with(func(p *Prep) { p.A, p.B = 4, 4 }), near{}},
	{"root cylinder", with(func(p *Prep) { p.Root = 0 }), near{}},
	{"oval", with(func(p *Prep) { p.A, p.B = 3.2, 4.6 }), near{}},
	{"boxy", with(func(p *Prep) { p.N = 5 }), near{}},
	{"wide shoulder", with(func(p *Prep) { p.Width = 1.5 }), near{}},
	{"narrow chamfer", with(func(p *Prep) { p.Width, p.Slope, p.Fillet = 0.35, 25, 0.15 }), near{}},
	{"chamfer", with(func(p *Prep) { p.Slope, p.Fillet = 20, 0.5 }), near{}},
	{"feather edge", with(func(p *Prep) { p.Width, p.Root = 0, 22 }), near{}},
	{"TOC 4", with(func(p *Prep) { p.Taper = 2 }), near{}},
	{"TOC 24", with(func(p *Prep) { p.Taper = 12 }), near{}},
	{"TOC 40", with(func(p *Prep) { p.Taper = 20 }), near{}},
	{"height 2", with(func(p *Prep) { p.Height = 2 }), near{}},
	{"height 7", with(func(p *Prep) { p.Height = 7; p.A, p.B = 3.6, 3.3 }), near{}},
	{"roof", with(func(p *Prep) { p.Roof = 20 }), near{}},
	{"valley", with(func(p *Prep) { p.Roof = -15 }), near{}},
	{"sharp rim", with(func(p *Prep) { p.Rim = 0 }), near{covered: true}}, // facets across the edge can only lower it
	{"small incisor", with(func(p *Prep) { p.A, p.B, p.Width, p.Height = 2.3, 2.6, 0.5, 5 }), near{}},
}

// TestTurnedDies measures single dies as a lathe gives them: open and closed
// below, with a hundred to 720 columns.
func TestTurnedDies(t *testing.T) {
	for i, s := range shapes {
		for k, n := range []int{128, 360} {
			if !swept(i+2*k, 4) {
				continue
			}
			t.Run(fmt.Sprintf("%s/%d", s.name, n), func(t *testing.T) {
				t.Parallel()
				check(t, s.p, given{prepared: s.p.Turned(n, 0.2), mesial: true}, s.near, uint64(i))
			})
		}
	}
}

// TestMarchedDies measures the same as marching tetrahedra give them.
func TestMarchedDies(t *testing.T) {
	for i, s := range shapes {
		if !swept(i, 4) {
			continue
		}
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			m := March(s.p.Field(4), box(-8, 8, -8, 8, -3.5, 9), 0.12)
			check(t, s.p, given{prepared: m, mesial: true}, s.near, uint64(i))
		})
	}
}

// check runs a case and reports what is off.
func check(t *testing.T, p Prep, g given, n near, seed uint64) {
	t.Helper()
	r, back, took, err := run(t, g, seed)
	if err != nil {
		t.Fatalf("%d facets, %v: %v", len(g.prepared.F), took, err)
	}
	truth := p.Truth()
	for _, f := range faults(r, back, p.Line, truth, n) {
		t.Errorf("%s", f)
	}
	for _, x := range r.Notes {
		t.Log(x)
	}
}
