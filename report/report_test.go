package report

import (
	"bytes"
	"context"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"crownassay/assay"
	"crownassay/geom"
	"crownassay/internal/phantom"
	"crownassay/pdf"
	"crownassay/reading"
	"crownassay/record"
)

func value(x float64) *float64 { return &x }

// TestChoose: what fails comes first, then what is undecided; the design and
// the crown as made count once, and usual readings fill up.
func TestChoose(t *testing.T) {
	at := &record.DocPlace{}
	r := func(id reading.ID, v reading.Verdict) record.DocReading {
		return record.DocReading{ID: id, Verdict: v, Value: value(1), At: at}
	}
	none := r("preparation.undercut.depth", reading.Fails)
	none.At = nil // it cannot be shown
	whole := r("preparation.convergence.mean", reading.Fails)
	whole.At, whole.Profile = nil, []record.DocSample{{Azimuth: 0, Value: value(1)}, {Azimuth: 1, Value: value(1)}}
	for name, c := range map[string]struct {
		in   []record.DocReading
		want []reading.ID
	}{
		"worst first": {[]record.DocReading{r("preparation.line_angle.radius", reading.Undecided), none, r("crown.thickness.occlusal", reading.Fails),
			r("finished.thickness.occlusal", reading.Fails)}, []reading.ID{"crown.thickness.occlusal", "preparation.line_angle.radius"}},
		"of the whole tooth": {[]record.DocReading{whole, r("crown.contact.mesial", reading.Fails)}, []reading.ID{"preparation.convergence.mean", "crown.contact.mesial"}},
		"all is well": {[]record.DocReading{r("preparation.height.min", reading.Conforms), r("preparation.clearance.occlusal", reading.Conforms), r("crown.fit.marginal_gap.max", reading.Conforms)},
			[]reading.ID{"preparation.clearance.occlusal", "crown.fit.marginal_gap.max"}},
		"too many": {[]record.DocReading{r("crown.contact.mesial", reading.Fails), r("crown.contact.distal", reading.Fails), r("crown.contact.occlusal", reading.Fails),
			r("crown.strength.radial", reading.Fails), r("crown.seating.clearance", reading.Fails)},
			[]reading.ID{"crown.contact.mesial", "crown.contact.distal", "crown.contact.occlusal", "crown.strength.radial"}},
	} {
		var got []reading.ID
		for _, q := range choose(&record.Document{Readings: c.in}) {
			got = append(got, q.ID)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}

// ring is a circle of a radius as a line of a section.
func ring(role assay.Role, r float64) assay.SliceLine {
	l := assay.SliceLine{Role: role, Closed: true}
	for i := range 720 {
		sin, cos := math.Sincos(float64(i) * math.Pi / 360)
		l.Points = append(l.Points, [2]float64{r * cos, r * sin})
	}
	return l
}

// TestAcross: between circles of radius 3 and 4 about one middle the dimension
// is 1 long, along the radius; through the wall of one shell too.
func TestAcross(t *testing.T) {
	c := &assay.Slice{Lines: []assay.SliceLine{ring(assay.Prepared, 3), ring(assay.Crown, 4)}}
	p := [2]float64{0, 4}
	got := across(c, assay.Prepared, p, 1, false)
	if got == nil || math.Hypot(got[0], got[1]-3) > 0.02 {
		t.Errorf("across to the other circle: %v, want 0, 3", got)
	}
	if got := across(c, assay.Opposing, p, 1, false); got != nil {
		t.Errorf("across to a surface that is not there: %v", got)
	}
	if got := across(c, assay.Prepared, p, 2, false); got != nil {
		t.Errorf("the other end lies at %v, a millimetre nearer than the value says", got)
	}
	c.Lines[0].Role = assay.Crown // the shell's inside
	got = across(c, assay.Crown, p, 1, true)
	if got == nil || math.Hypot(got[0], got[1]-3) > 0.02 {
		t.Errorf("through the wall: %v, want 0, 3", got)
	}
}

// made is a small invented case with a crown, measured.
func made(t *testing.T) *assay.Measured {
	t.Helper()
	ctx := context.Background()
	c, err := phantom.Build(ctx, phantom.Spec{Tooth: "26", Seed: 5, Triangles: 8000, RandomPose: true, Crown: &phantom.Crown{Triangles: 8000}})
	if err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(t.TempDir(), "case")
	if err := c.Write(dir); err != nil {
		t.Fatal(err)
	}
	loaded, err := assay.LoadCase(dir)
	if err != nil {
		t.Fatal(err)
	}
	m, err := assay.Measure(ctx, loaded, assay.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return m
}

// TestOfAMeasuredCase holds what is drawn to what was measured.
func TestOfAMeasuredCase(t *testing.T) {
	ctx, m := context.Background(), made(t)
	_, d, err := begin(m, Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Run("the finish line bounds what is cut away", func(t *testing.T) {
		away := d.before(d.out(0), besideLine, 0)
		for i, p := range m.Record.FinishLine {
			if away(p) {
				t.Fatalf("point %d of the finish line is cut away", i)
			}
		}
		if out := d.f.o.Add(d.out(0).Mul(9)); !away(out) || away(d.f.o.Sub(d.out(0).Mul(9))) {
			t.Error("what stands 9 mm before the tooth stays, or what stands behind it goes")
		}
	})
	t.Run("the mark lies in the section at the place that was measured", func(t *testing.T) {
		q := d.doc.Reading("crown.thickness.occlusal")
		s, err := d.section(ctx, q, azimuthOf(&d.f, q.At.Point))
		if err != nil {
			t.Fatal(err)
		}
		a := azimuthOf(&d.f, q.At.Point)
		if back := d.f.o.Add(d.out(a).Mul(s.Mark[0])).Add(d.f.z.Mul(s.Mark[1])); back.Sub(vec(q.At.Point)).Norm() > 1e-5 { // the document has six decimals
			t.Errorf("the mark is %v, which is %v in space, not %v", *s.Mark, back, q.At.Point)
		}
		if q.At.Azimuth != nil && math.Abs(math.Remainder(a-*q.At.Azimuth, 360)) > 0.1 { // the record gives places to a tenth of a degree
			t.Errorf("azimuth %.3f, the record says %.3f", a, *q.At.Azimuth)
		}
		if s.Other == nil || math.Abs(math.Hypot(s.Other[0]-s.Mark[0], s.Other[1]-s.Mark[1])-*q.Value) > farthest {
			t.Errorf("the dimension from %v to %v is not %.3f", *s.Mark, s.Other, *q.Value)
		}
	})
	t.Run("colours follow the values", func(t *testing.T) {
		c, err := Colored(ctx, m, "crown.thickness.occlusal")
		if err != nil {
			t.Fatal(err)
		}
		luma := func(i int) int { return 2*int(c.Colors[i].R) + 7*int(c.Colors[i].G) + int(c.Colors[i].B) }
		least, most := -1, -1
		for i, v := range c.Values {
			if math.IsNaN(v) {
				if c.Colors[i] != toothColor {
					t.Fatalf("vertex %d has no value and the colour %v", i, c.Colors[i])
				}
				continue
			}
			if least < 0 || v < c.Values[least] {
				least = i
			}
			if most < 0 || v > c.Values[most] {
				most = i
			}
		}
		if least < 0 || luma(least) >= luma(most) {
			t.Errorf("the least value has the colour %v, the most %v", c.Colors[least], c.Colors[most])
		}
		if up := c.Up.Dot(geom.Vec(d.f.z)); math.Abs(up-1) > 1e-6 {
			t.Errorf("up is %v", c.Up)
		}
		if _, err := Colored(ctx, m, "preparation.height.min"); err == nil || !strings.Contains(err.Error(), "it has them of preparation.") {
			t.Errorf("a reading without a map: %v", err)
		}
	})
	t.Run("the same bytes again", func(t *testing.T) {
		for name, write := range map[string]func(*bytes.Buffer) error{
			"report":  func(b *bytes.Buffer) error { return Write(ctx, b, m, Options{Paper: pdf.A4}) },
			"patient": func(b *bytes.Buffer) error { return WritePatient(ctx, b, m, Options{Paper: pdf.Letter}) },
		} {
			var first []byte
			for range 2 {
				var b bytes.Buffer
				if err := write(&b); err != nil {
					t.Fatal(err)
				}
				if first == nil {
					first = b.Bytes()
				} else if !bytes.Equal(first, b.Bytes()) {
					t.Fatalf("%s: written again it differs", name)
				}
			}
		}
	})
}
