package spc

import (
	"math"
	"slices"
	"testing"
)

// TestQuantileHandbook is the worked example of the NIST/SEMATECH e-Handbook,
// 7.2.6.2 (from memory, and by hand): twelve gauge readings, 90th percentile 95.1981.
func TestQuantileHandbook(t *testing.T) {
	x := []float64{95.1772, 95.1567, 95.1937, 95.1959, 95.1442, 95.0610, 95.1591, 95.1195, 95.1065, 95.0925, 95.1990, 95.1682}
	slices.Sort(x)
	if q, ok := Quantile(x, 0.9); !ok || math.Abs(q-95.1981) > 6e-5 {
		t.Errorf("Quantile(0.9) = %.5f, %v, want 95.1981", q, ok)
	}
	if q, ok := Quantile(x, 0.5); !ok || math.Abs(q-(95.1567+95.1591)/2) > 1e-9 {
		t.Errorf("the median is %.5f, %v, want the middle of the two in the middle", q, ok)
	}
	if q, ok := Quantile(x, 0.05); ok {
		t.Errorf("of twelve values 5 %% lie below %g, want none", q)
	}
}

func TestQuantileAtTheEnds(t *testing.T) {
	x := make([]float64, 19)
	for i := range x {
		x[i] = float64(i)
	}
	for _, c := range []struct{ p, want float64 }{{0.05, 0}, {0.95, 18}, {0.5, 9}} {
		if q, ok := Quantile(x, c.p); !ok || math.Abs(q-c.want) > 1e-6 {
			t.Errorf("Quantile(0 to 18, %g) = %g, %v, want %g", c.p, q, ok, c.want)
		}
	}
	if _, ok := Quantile(nil, 0.5); ok {
		t.Error("of nothing there is a median")
	}
}
