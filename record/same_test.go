package record

import (
	"math"
	"os"
	"testing"
)

func TestSameCase(t *testing.T) {
	read := func() *Document {
		b, err := os.ReadFile("testdata/known.json")
		if err != nil {
			t.Fatal(err)
		}
		d, err := ReadDocument(b)
		if err != nil {
			t.Fatal(err)
		}
		d.FinishLine = nil
		for i := range 90 {
			sin, cos := math.Sincos(float64(i) * math.Pi / 45)
			d.FinishLine = append(d.FinishLine, [3]float64{4 * cos, 4 * sin, 0})
		}
		return d
	}
	for name, c := range map[string]struct {
		change func(d *Document)
		want   bool
	}{
		"the same":                  {func(*Document) {}, true},
		"another value":             {func(d *Document) { *d.Readings[0].Value += 0.001 }, true},
		"another version":           {func(d *Document) { d.Version = "9" }, true},
		"other points on the line":  {func(d *Document) { d.FinishLine = append(d.FinishLine[:40], d.FinishLine[41:]...) }, true},
		"a point moved a little":    {func(d *Document) { d.FinishLine[3][2] += 0.02 }, true},
		"a point moved":             {func(d *Document) { d.FinishLine[3][2] += 0.2 }, false},
		"a part of the line gone":   {func(d *Document) { d.FinishLine = d.FinishLine[:60] }, false},
		"another file":              {func(d *Document) { d.Surfaces[0].SHA256 = Beginning }, false},
		"a file less":               {func(d *Document) { d.Surfaces = d.Surfaces[:0] }, false},
		"another material":          {func(d *Document) { d.Material = "x" }, false},
		"another cement space":      {func(d *Document) { d.Settings.CementSpace += 0.01 }, false},
		"another limit":             {func(d *Document) { *d.Readings[0].Limit.Min += 0.1 }, false},
		"a reading that is no more": {func(d *Document) { d.Readings = d.Readings[1:] }, true},
	} {
		a, b := read(), read()
		c.change(b)
		if got := SameCase(a, b); got != c.want || SameCase(b, a) != c.want {
			t.Errorf("%s: same %t, want %t", name, got, c.want)
		}
	}
}
