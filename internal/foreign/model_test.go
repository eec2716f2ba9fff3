package foreign

import (
	"math"
	"strings"
	"testing"

	"crownassay/geom"
	"crownassay/mesh"
	"crownassay/reading"
)

// moved is a preparation standing elsewhere.
func moved(p Prep, deep float64, to geom.Vec) Field {
	return Placed(p.Field(deep), geom.Rigid{R: geom.Identity(), T: to})
}

// closed keeps a field inside a box, so that its surface closes there.
func closed(f Field, b geom.Box) Field {
	mid := b.Center()
	return Meet(f, RoundedBox(mid, b.Max.Sub(mid), 0.5))
}

// TestModels measures plaster models with a base, dies on a base, and parts of
// a mouth with what may stand there: scans of the lab kind are closed bodies.
func TestModels(t *testing.T) {
	free := with(func(p *Prep) { p.Root = 5 })
	access := Meet(Tube(0, 0, 1.2), Below(geom.V(0, 0, 9), geom.V(0, 0, 1)), Below(geom.V(0, 0, 1.5), geom.V(0, 0, -1)))
	model := Union(free.Field(5), Beside{Gap: 1.2, Count: 2, Boxes: true, Base: -0.8}.Gingiva(8), row.Teeth(free.A))
	block := box(-20, 20, -9, 9, -9, 12)
	die := Union(Meet(free.Field(9), Below(geom.V(0, 0, -9), geom.V(0, 0, -1))), RoundedBox(geom.V(0, 0, -9), geom.V(9, 9, 3), 1))
	for i, c := range []struct {
		name string
		make func() *mesh.Mesh
		near near
		// of the neighbours
		gap float64
	}{
		{"plaster with base", func() *mesh.Mesh { return March(closed(model, block), box(-22, 22, -11, 11, -11, 14), 0.2) }, near{}, 1.2},
		{"plaster with base, coarse", func() *mesh.Mesh { return March(closed(model, block), box(-22, 22, -11, 11, -11, 14), 0.35) }, near{covered: true}, 1.2},
		{"die on a base", func() *mesh.Mesh { return March(die, box(-11, 11, -11, 11, -13, 9), 0.2) }, near{}, 0},
		{"endodontic access", func() *mesh.Mesh {
			return seen(March(Less(Union(free.Field(5), row.Gingiva(8)), access), box(-12, 12, -7.5, 7.5, -2.5, 9), 0.16), geom.V(0, 0, 1))
		}, near{}, 0},
		{"stub of a pin", func() *mesh.Mesh {
			return March(Union(Meet(free.Field(9), Below(geom.V(0, 0, -7), geom.V(0, 0, -1))), Meet(Tube(0, 0, 1.5), Below(geom.V(0, 0, -5), geom.V(0, 0, 1)), Below(geom.V(0, 0, -14), geom.V(0, 0, -1)))), box(-9, 9, -9, 9, -15, 9), 0.18)
		}, near{}, 0},
	} {
		if !swept(i, 2) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			m := c.make()
			r, back, took, err := run(t, given{prepared: m, mesial: true}, uint64(i))
			if err != nil {
				t.Fatalf("%d facets, %v: %v", len(m.F), took, err)
			}
			truth := free.Truth()
			if c.gap > 0 {
				for k, v := range neighbours(c.gap) {
					truth[k] = v
				}
			}
			for _, f := range faults(r, back, free.Line, truth, c.near) {
				t.Error(f)
			}
		})
	}
}

// TestTwoPreparations: of two preparations in one scan none is chosen by
// chance; a point on one of them chooses it.
func TestTwoPreparations(t *testing.T) {
	p := with(func(p *Prep) { p.Root = 5 })
	other := with(func(p *Prep) { p.Root, p.A, p.B = 5, 3.6, 4.4 })
	f := Union(p.Field(5), moved(other, 5, geom.V(p.A+other.A+1.5, 0, 0)), Beside{Base: -0.8}.Gingiva(8))
	m := seen(March(f, box(-8, 17, -7.5, 7.5, -2.5, 9), 0.17), geom.V(0, 0, 1))
	r, _, _, err := run(t, given{prepared: m, mesial: true}, 3)
	if err == nil {
		t.Errorf("measured without being told which, exit %d", r.ExitStatus())
	} else if !strings.Contains(err.Error(), "at") {
		t.Errorf("the message does not say how to choose: %v", err)
	}
	t.Log(err)
	at := geom.V(0.5, 0.5, p.Height)
	r, back, _, err := run(t, given{prepared: m, mesial: true, at: &at}, 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults(r, back, p.Line, p.Truth(), near{}) {
		t.Error(f)
	}
}

// TestCavities: a tooth with a cavity for an inlay is no preparation of a
// crown; it gives no numbers.
func TestCavities(t *testing.T) {
	tooth := Whole(geom.V(4.6, 4.6, 3.6), 0.85, 3)
	b := Beside{Gap: 0.1, Count: 1, Base: 0.6}
	occlusal := RoundedBox(geom.V(0, 0, 7), geom.V(2.4, 1.3, 2.5), 0.4)
	through := RoundedBox(geom.V(0, 0, 6.4), geom.V(9, 1.6, 2.5), 0.3)
	beside := Union(occlusal, RoundedBox(geom.V(4.5, 0, 5.5), geom.V(1.8, 2, 3.8), 0.3))
	onlay := Union(through, Below(geom.V(0, -2, 4.5), geom.V(0, -0.2, -1)))
	for i, c := range []struct {
		name string
		less Field
	}{{"occlusal", occlusal}, {"one side", beside}, {"both sides", through}, {"cusps covered", onlay}} {
		if !swept(i, 2) {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			f := Union(Blend(Less(tooth, c.less), b.Gingiva(9), 0.2), b.Teeth(4.6))
			m := seen(March(f, box(-14, 14, -9, 9, -2, 10), 0.2), geom.V(0, 0, 1))
			r, _, _, err := run(t, given{prepared: m, mesial: true}, uint64(i))
			if err == nil {
				t.Errorf("measured, exit %d", r.ExitStatus())
				show(t, r)
				return
			}
			t.Log(err)
		})
	}
}

// TestFormats: the same surface gives the same readings out of each format, to
// a tenth of what they may be off by: files keep single precision or decimals.
func TestFormats(t *testing.T) {
	p, m := standing(0.2)
	first := map[reading.ID]float64{}
	for _, ext := range []string{".stl", ".ply", ".obj"} {
		r, back, _, err := run(t, given{prepared: m, mesial: true, ext: ext}, 4)
		if err != nil {
			t.Fatal(ext, err)
		}
		for _, f := range faults(r, back, p.Line, p.Truth(), near{}) {
			t.Error(ext, f)
		}
		for _, q := range r.Readings {
			if want, ok := first[q.ID]; ok && math.Abs(q.Value-want) > 0.1*allowed[q.ID] {
				t.Errorf("%s: %s is %.4f, %.4f out of .stl", ext, q.ID, q.Value, want)
			} else if ext == ".stl" && q.Measured() && allowed[q.ID] > 0 {
				first[q.ID] = q.Value
			}
		}
	}
}
