package measure

import (
	"math"
	"testing"
)

var nan = math.NaN()

// TestRobustMin: the value that 0.05 mm^2 goes below (definition).
func TestRobustMin(t *testing.T) {
	for _, c := range []struct {
		name string
		in   []sample
		want int
		ok   bool
	}{
		{"one bad vertex", []sample{{1, 0.04, 0}, {-9, 0.01, 1}, {2, 0.1, 2}}, 0, true},
		{"large enough by itself", []sample{{3, 0.06, 0}, {2, 0.06, 1}}, 1, true},
		{"ties go to the lowest index", []sample{{1, 0.06, 5}, {1, 0.06, 3}}, 3, true},
		{"too little surface", []sample{{1, 0.02, 0}, {2, 0.02, 1}}, 0, false},
		{"none", nil, 0, false},
	} {
		got, ok := robustMin(c.in)
		if ok != c.ok || ok && got.i != c.want {
			t.Errorf("%s: robustMin = %+v, %v, want %d, %v", c.name, got, ok, c.want, c.ok)
		}
	}
}

func TestMedianAround(t *testing.T) {
	for _, c := range []struct {
		v    []float64
		half int
		k    int
		want float64
	}{
		{[]float64{9, 1, 2, 3, 4}, 1, 0, 4},     // over the seam: 4, 9, 1
		{[]float64{9, nan, 2, 3, 4}, 1, 0, 6.5}, // two of three
		{[]float64{9, nan, 2, 3, nan}, 1, 0, nan},
		{[]float64{5, 1, 9, 2, 7}, 2, 2, 5},
	} {
		got := medianAround(c.v, c.half)[c.k]
		if got != c.want && !(math.IsNaN(got) && math.IsNaN(c.want)) {
			t.Errorf("medianAround(%v, %d)[%d] = %v, want %v", c.v, c.half, c.k, got, c.want)
		}
	}
}

func TestExtremesAndMean(t *testing.T) {
	v := []float64{nan, 3, 1, 1, 7, 7}
	if lowest(v) != 2 || highest(v) != 4 {
		t.Errorf("lowest, highest = %d, %d, want 2, 4", lowest(v), highest(v))
	}
	if lowest([]float64{nan}) != -1 || highest(nil) != -1 {
		t.Error("an extreme of nothing was found")
	}
	if m, n := mean(v); n != 5 || !near(m, 3.8, 1e-15) {
		t.Errorf("mean = %v of %d, want 3.8 of 5", m, n)
	}
	if p := profile(v); len(p) != 5 || p[0].Azimuth != 1 {
		t.Errorf("profile = %v", p)
	}
}

// TestBridged: a run without values is filled linearly, over the seam too.
func TestBridged(t *testing.T) {
	got := bridged([]float64{nan, 4, 5, nan, nan, 2})
	for k, want := range []float64{3, 4, 5, 4, 3, 2} {
		if !near(got[k], want, 1e-12) {
			t.Errorf("bridged[%d] = %v, want %v", k, got[k], want)
		}
	}
	if !math.IsNaN(bridged([]float64{nan, nan})[0]) {
		t.Error("nothing was bridged from nothing")
	}
}
