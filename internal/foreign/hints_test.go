package foreign

import (
	"math"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/record"
)

// traced is the finish line as an operator gives it.
func traced(p Prep, n int, start float64, turn float64, off geom.Vec) []geom.Vec {
	var out []geom.Vec
	for i := range n {
		out = append(out, p.Line(start+turn*360*float64(i)/float64(n)).Add(off))
	}
	return out
}

// TestAt: a point on the preparation, on its parts, near to it and elsewhere.
func TestAt(t *testing.T) {
	p := gum(nil)
	m := seen(March(Union(p.Field(5), Beside{Gap: 1.5, Count: 1, Boxes: true}.Teeth(p.A)), box(-13, 13, -7.5, 7.5, -2.5, 9), 0.18), geom.V(0, 0, 1))
	for i, c := range []struct {
		name string
		at   geom.Vec
		ok   bool
	}{
		{"top", geom.V(1, 1, p.Height), true},
		{"wall", geom.V(0, p.B-p.Width-0.2, 2), true},
		{"ledge", geom.V(0, p.B-0.3, 0), true},
		{"above", geom.V(0.5, 0, p.Height+1), true},
		{"5 mm off", geom.V(0, p.B+5, 0), false},
		{"neighbour", geom.V(p.A+1.5+4, 0, 5.9), false},
	} {
		if !swept(i, 2) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, back, took, err := run(t, given{prepared: m, mesial: true, at: &c.at}, uint64(i))
			if !c.ok {
				if err == nil {
					mean, _ := lineError(r, back, p.Line)
					t.Errorf("measured all the same, line off by %.2f", mean)
				} else {
					t.Log(took, err)
				}
				return
			}
			if err != nil {
				t.Fatal(took, err)
			}
			for _, f := range faults(r, back, p.Line, p.Truth(), near{}) {
				t.Error(f)
			}
		})
	}
}

// TestLineGiven: the finish line as the operator has traced it.
func TestLineGiven(t *testing.T) {
	p, m := standing(0.15)
	up := geom.V(0, 0, 0.3)
	for i, c := range []struct {
		name string
		line []geom.Vec
		near near
	}{
		{"exact", traced(p, 180, 0, 1, geom.Vec{}), near{}},
		{"reversed from 77", traced(p, 180, 77, -1, geom.Vec{}), near{}},
		{"24 points", traced(p, 24, 10, 1, geom.Vec{}), near{scale: 2}},
		{"0.3 above", traced(p, 180, 0, 1, up), near{scale: 6}},
		{"1440 points", traced(p, 1440, 0, 1, geom.Vec{}), near{}},
		{"twice each", doubled(traced(p, 180, 0, 1, geom.Vec{})), near{}},
	} {
		if !swept(i, 2) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			check(t, p, given{prepared: m, mesial: true, line: c.line}, c.near, uint64(i))
		})
	}
	for i, c := range []struct {
		name string
		line []geom.Vec
	}{
		{"of another tooth", traced(p, 100, 0, 1, geom.V(20, 0, 0))},
		{"half around", traced(p, 100, 0, 0.5, geom.Vec{})},
		{"twice around", traced(p, 200, 0, 2, geom.Vec{})},
		{"on the gingiva beside", traced(with(func(p *Prep) { p.A, p.B = 1.5, 1.5 }), 60, 0, 1, geom.V(0, 7, 0.35))},
		{"three points on the top", []geom.Vec{{X: 1, Z: 4}, {Y: 1, Z: 4}, {X: -1, Y: -1, Z: 4}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, _, _, err := run(t, given{prepared: m, mesial: true, line: c.line}, uint64(i))
			if err == nil {
				t.Errorf("measured, exit %d", r.ExitStatus())
				show(t, r)
			} else {
				t.Log(err)
			}
		})
	}
}

func doubled(l []geom.Vec) (out []geom.Vec) {
	for _, p := range l {
		out = append(out, p, p)
	}
	return out
}

func show(t *testing.T, r *record.Record) {
	for _, q := range r.Readings {
		if q.Measured() {
			t.Logf("%s %.3f", q.ID, q.Value)
		}
	}
}

// TestWrongFiles: a wrong unit and swapped surfaces.
func TestWrongFiles(t *testing.T) {
	_, m := standing(0.2)
	half := geom.V(4.4, 4.8, 3.4)
	var fs []Field
	for i := -1; i <= 1; i++ {
		fs = append(fs, Placed(Whole(half, 0.85, 3), Beside{}.place(9*float64(i))))
	}
	against := seen(March(Union(append(fs, Below(geom.V(0, 0, 0.6), geom.V(0, 0, 1)))...), box(-13, 13, -9, 9, -2, 9), 0.2), geom.V(0, 0, 1))
	against = against.Move(geom.Rigid{R: geom.RotationAbout(geom.V(1, 0, 0), math.Pi), T: geom.V(0, 0, 12)})
	_, again := standing(0.25)
	scaled := func(k float64) *mesh.Mesh {
		out := &mesh.Mesh{V: append([]geom.Vec(nil), m.V...), F: m.F}
		for i := range out.V {
			out.V[i] = out.V[i].Mul(k)
		}
		return out
	}
	for i, c := range []struct {
		name string
		g    given
		say  string
	}{
		{"metres read as mm", given{prepared: scaled(0.001)}, "units: m"},
		{"mm read as inches", given{prepared: m, units: "in"}, "units: mm"},
		{"um read as mm", given{prepared: scaled(1000)}, "units: um"},
		{"mm read as cm", given{prepared: m, units: "cm"}, "mm"},
		{"cm read as mm", given{prepared: scaled(0.1)}, "cm"},
		{"inches read as mm", given{prepared: scaled(1 / 25.4)}, "in"},
		{"swapped", given{prepared: against, opposing: m}, "swapped"},
		{"opposing arch alone", given{prepared: against}, "no preparation"},
		{"both the same", given{prepared: m, opposing: m}, "same content"},
		{"the same meshed again", given{prepared: m, opposing: again}, "same surface"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r, _, _, err := run(t, c.g, uint64(i))
			if err == nil {
				t.Errorf("measured, exit %d", r.ExitStatus())
				show(t, r)
			} else if !strings.Contains(err.Error(), c.say) {
				t.Errorf("says %q, not %q", err, c.say)
			} else {
				t.Log(err)
			}
		})
	}
}
